# SPDX-FileCopyrightText: 2026 The Pennybridge authors
# SPDX-License-Identifier: Apache-2.0
"""check: legs with their gates on one pin. What they let through lasts some 20 ns of an edge, and is seen; at
its worst corner it is twice what it is at typical values."""

import pathlib

from cli import done, expect, one_object, run

result = run("check", pathlib.Path(__file__).parent / "tied_gates.toml", "--json")
answer = one_object(result, "check of tied gates")
expect(result.returncode == 1 and not answer["passes"], "does not pass", result)
rows = [c for c in answer["checks"] if c["id"] == "shoot_through_edge"]
expect(len(rows) == 3, "a row a leg", result)
for row in rows:
    # By hand: the least the loop can hold, 5.5 V over the least on-resistances that the parts may have, is some 6 A.
    expect(4.5 < row["value"] < 6, f"{row['subject']}: near what supply and on-resistances allow, not {row['value']:.2f} A")
    # Typical values by hand: quasi-static, two channels with the data sheet's resistances in series, 3.0 A at the most.
    expect(2.2 < row["nominal"] < 3.1, f"{row['subject']}: {row['nominal']:.2f} A at typical values")
    expect(row["value"] > 1.5 * row["nominal"] > row["limit"], f"{row['subject']}: half as much again at its corner")
done()
