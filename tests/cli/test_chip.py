# SPDX-FileCopyrightText: 2026 The Pennybridge authors
# SPDX-License-Identifier: Apache-2.0
"""check on designs somebody wrote down with a driver chip: sound ones pass, inputs the controller cannot lift fail."""

import csv
import pathlib
import re
import tempfile

from cli import ROOT, done, expect, one_object, run

ROWS = list(csv.DictReader((ROOT / "parts/starter.csv").open(newline="")))
FIXED = {"number", "class", "package", "stock", "lifecycle", "currency", "minimum", "multiple", "price_breaks", "source"}
UNIT = re.compile(r"(.+?)_(V|mohm|kohm|ohm|uA|mA|A|pF|uF|degC|K_per_W)$")


def first(part_class, **least):
    """The first row of a class whose figures reach what is asked."""
    for row in ROWS:
        if row["class"] == part_class and all(float(row[k] or 0) >= v for k, v in least.items()):
            return row
    raise LookupError(part_class)


def figures(row):
    for column, value in row.items():
        if column not in FIXED and value:
            match = UNIT.match(column)
            name, unit = match.groups() if match else (column, "")
            yield f'{name} = "{value} {unit.replace("_per_", "/")}"'.replace(' "', '"') if not unit else \
                f'{name} = "{value} {unit.replace("_per_", "/")}"'


def design(brief, wiring, parts):
    """The brief's own text one level down, a template by name, catalogue rows in its roles."""
    text = (ROOT / "examples" / brief / "brief.toml").read_text()
    text = re.sub(r"^format = 1\n", "", text, flags=re.M)
    text = re.sub(r"^\[(\w+)\]", r"[brief.\1]", text, flags=re.M)
    text = f'format = 1\nwiring = "{wiring}"\n' + re.sub(r"^title", "[brief]\ntitle", text, flags=re.M)
    for role, row in parts.items():
        text += f'\n[part.{role}]\nnumber = "{row["number"]}"\nclass = "{row["class"]}"\n' \
                f'package = "{row["package"]}"\nprice_breaks = "{row["price_breaks"]}"\n[part.{role}.figures]\n'
        text += "\n".join(figures(row)) + "\n"
    return text + '\n[settings]\nsequence = "two-phase"\nstop = "brake"\n'


def judged(text, where):
    path = pathlib.Path(where) / "design.toml"
    path.write_text(text)
    result = run("check", path, "--json")
    return result, one_object(result, "check")


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
                     "bulk": first("electrolytic", capacitance_uF=100, voltage_max_V=25),
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
