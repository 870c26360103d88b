# SPDX-FileCopyrightText: 2026 The Pennybridge authors
# SPDX-License-Identifier: Apache-2.0
"""check on designs somebody wrote down with a driver chip: sound ones pass, inputs the controller cannot lift fail."""

import re
import tempfile

from cli import ROOT, done, expect
from handmade import design, first, judged


def templates():
    """Of this tree, those with a chip in a role: name, that role, its class."""
    for path in sorted((ROOT / "templates").glob("*.toml")):
        role = re.search(r'\[role\.(\w+)\]\nclass = "((?:dual-)?bridge-chip)"', path.read_text())
        if role:
            yield path.stem, *role.groups()


with tempfile.TemporaryDirectory() as folder:
    kinds = list(templates())
    expect(len(kinds) >= 2, "a template for each kind of chip")
    for brief, supply_V in (("vent-flap", 15), ("dosing-pump", 7)):
        for wiring, role, part_class in kinds:
            parts = {role: first(part_class, supply_max_V=supply_V),
                     # Worn and cold it still damps what the cable rings with when it is plugged in.
                     "bulk": first("electrolytic", capacitance_uF=220, voltage_max_V=25),
                     "ceramic": first("ceramic", capacitance_uF=1, voltage_max_V=25)}
            text = design(brief, wiring, parts)
            result, answer = judged(text, folder)
            expect(result.returncode == 0, f"{brief}, {wiring}: passes", result)
            rows = {(c["id"], c["subject"]): c for c in answer["checks"]}
            expect(answer["energy_residual"] <= 1e-3, "the books close")
            expect(("gate_drive_on", "U1.in1") in rows and ("switch_junction", "U1") in rows, "the chip is judged")

            # Logic that stays below the level a guaranteed high takes (VIH of the data sheet).
            high_V = float(parts[role]["input_high_min_V"])
            weak = re.sub(r'logic_voltage = ".*"', f'logic_voltage = "{0.95 * high_V} V"', text)
            result, answer = judged(weak, folder)
            failing = {c["subject"] for c in answer["checks"] if c["id"] == "gate_drive_on" and not c["passes"]}
            expect(result.returncode == 1 and "U1.in1" in failing, f"{brief}, {wiring}: inputs fail", result)
done()
