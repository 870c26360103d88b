# SPDX-FileCopyrightText: 2026 The Pennybridge authors
# SPDX-License-Identifier: Apache-2.0
"""Ctrl-C in the middle of the work: exit 130 soon, one JSON object, nothing left behind."""

import pathlib
import tempfile

from cli import designs, done, expect, interrupted, one_object

design = designs()[0]
with tempfile.TemporaryDirectory() as name:
    out = pathlib.Path(name) / "run"
    # A thousand steps at ten a second: minutes of motor time.
    result, waited = interrupted("simulate", design, "--set", "motion.rate=10 step/s", "--set", "motion.move=1000 step",
                                 "--out", out, "--json", delay=0.3)
    expect(result.returncode == 130, "exit 130", result)
    expect(waited < 2, f"soon: {waited:.1f} s")
    one_object(result, "interrupted")
    expect(list(pathlib.Path(name).iterdir()) == [], "nothing is left behind")
done()
