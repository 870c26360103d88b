# SPDX-FileCopyrightText: 2026 The Pennybridge authors
# SPDX-License-Identifier: Apache-2.0
"""Designs as somebody would write them down: a brief of the examples, a wiring by name, rows of the starter catalogue."""

import csv
import pathlib
import re

from cli import ROOT, one_object, run

ROWS = list(csv.DictReader((ROOT / "parts/starter.csv").open(newline="")))
FIXED = {"number", "class", "package", "stock", "lifecycle", "currency", "minimum", "multiple", "price_breaks", "source"}
UNIT = re.compile(r"(.+?)_(V|mohm|kohm|ohm|uA|mA|A|pF|uF|MHz|W|mJ|ppm_per_K|degC|K_per_W)$")


def first(part_class, **least):
    """The first row of a class whose figures reach what is asked."""
    for row in ROWS:
        if row["class"] == part_class and all(float(row[k] or 0) >= v for k, v in least.items()):
            return row
    raise LookupError(part_class)


def row_of(number):
    return next(row for row in ROWS if row["number"] == number)


def figures(row):
    for column, value in row.items():
        if column not in FIXED and value:
            match = UNIT.match(column)
            name, unit = match.groups() if match else (column, "")
            yield f'{name} = "' + f'{value} {unit.replace("_per_", "/")}'.strip() + '"'


def design(brief, wiring, parts, sequence="two-phase", values=None):
    """The brief's own text one level down, a template by name, catalogue rows in its roles."""
    text = (ROOT / "examples" / brief / "brief.toml").read_text()
    text = re.sub(r"^format = 1\n", "", text, flags=re.M)
    text = re.sub(r"^\[(\w+)\]", r"[brief.\1]", text, flags=re.M)
    text = f'format = 1\nwiring = "{wiring}"\n' + re.sub(r"^title", "[brief]\ntitle", text, flags=re.M)
    for role, row in parts.items():
        text += f'\n[part.{role}]\nnumber = "{row["number"]}"\nclass = "{row["class"]}"\n' \
                f'package = "{row["package"]}"\nprice_breaks = "{row["price_breaks"]}"\n[part.{role}.figures]\n'
        text += "\n".join(figures(row)) + "\n"
    text += f'\n[settings]\nsequence = "{sequence}"\nstop = "brake"\n'
    if values:
        text += "[settings.value]\n" + "".join(f'{role} = "{value}"\n' for role, value in values.items())
    return text


def judged(text, where, *options):
    path = pathlib.Path(where) / "design.toml"
    path.write_text(text)
    result = run("check", path, "--json", *options)
    return result, one_object(result, "check")
