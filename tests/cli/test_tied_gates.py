# SPDX-FileCopyrightText: 2026 The Pennybridge authors
# SPDX-License-Identifier: Apache-2.0
"""check: a leg with its gates on one pin, harmless at typical values, lets through several times its rating at the
corner. Two thirds of that corner no slope at typical values tells: it is found turn by turn."""

import pathlib

from cli import done, expect, one_object, run

result = run("check", pathlib.Path(__file__).parent / "tied_gates.toml", "--json")
answer = one_object(result, "check of tied gates")
expect(result.returncode == 1 and not answer["passes"], "does not pass", result)
rows = [c for c in answer["checks"] if c["id"] == "shoot_through_edge"]
expect(len(rows) == 3, "a row a leg", result)
for row in rows:
    # The least the loop can hold: supply over the two on-resistances, 5.25 V / (0.65 ohm + 0.35 ohm), 5.3 A.
    expect(row["nominal"] < 0.5 * row["limit"], f"{row['subject']}: harmless at typical values")
    expect(4.5 < row["value"] < 5.6, f"{row['subject']}: near what supply and on-resistances allow, not {row['value']:.2f} A")
done()
