# SPDX-FileCopyrightText: 2026 The Pennybridge authors
# SPDX-License-Identifier: Apache-2.0
"""Ctrl-C in the middle of the work: exit 130 soon, one JSON object, nothing left behind."""

import pathlib
import signal
import subprocess
import tempfile
import time

from cli import PROGRAM, designs, done, expect, one_object

design = designs()[0]
with tempfile.TemporaryDirectory() as name:
    out = pathlib.Path(name) / "run"
    # A thousand steps at ten a second: minutes of motor time.
    work = subprocess.Popen([PROGRAM, "simulate", str(design), "--set", "motion.rate=10 step/s", "--set",
                             "motion.move=1000 step", "--out", str(out), "--json"],
                            stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    time.sleep(0.3)
    running = work.poll() is None
    asked = time.monotonic()
    work.send_signal(signal.SIGINT)
    stdout, stderr = work.communicate(timeout=30)
    waited = time.monotonic() - asked
    result = subprocess.CompletedProcess([], work.returncode, stdout, stderr)
    expect(running, "the work was still going on", result)
    expect(work.returncode == 130, "exit 130", result)
    expect(waited < 2, f"soon: {waited:.1f} s")
    one_object(result, "interrupted")
    expect(list(pathlib.Path(name).iterdir()) == [], "nothing is left behind")
done()
