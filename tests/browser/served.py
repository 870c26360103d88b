# SPDX-FileCopyrightText: 2026 The Pennybridge authors
# SPDX-License-Identifier: Apache-2.0
"""A desk on a free port, in a folder of its own."""

import contextlib
import os
import re
import subprocess
import tempfile
import types

PROGRAM = os.environ["PENNYBRIDGE"]


@contextlib.contextmanager
def served(folder=None, port=0):
    with tempfile.TemporaryDirectory() as own:
        child = subprocess.Popen([PROGRAM, "serve", folder or own, "--port", str(port)], stderr=subprocess.PIPE, stdout=subprocess.DEVNULL, text=True)
        try:
            line = child.stderr.readline()
            found = re.search(r"http://127\.0\.0\.1:(\d+)", line)
            if not found:
                raise RuntimeError(f"serve said {line!r}")
            yield types.SimpleNamespace(url=found.group(0), port=int(found.group(1)), folder=folder or own, child=child)
        finally:
            child.terminate()
            child.wait(20)
