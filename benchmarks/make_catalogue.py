# SPDX-FileCopyrightText: 2026 The Pennybridge authors
# SPDX-License-Identifier: Apache-2.0
"""Writes a catalogue of a distributor's size: python3 make_catalogue.py ROWS [SEED] > parts.csv

Every row is a row of the starter catalogue with its resistances, its capacitances, its prices and
its stock each scaled by a factor of their own, so that figures which hang together still do. The
parts are invented, like those they are made from. The same arguments give the same bytes."""

import csv
import pathlib
import random
import sys

STARTER = pathlib.Path(__file__).resolve().parents[1] / "parts" / "starter.csv"
# Columns that scale together.
GROUPS = (("rds_typ_mohm", "rds_max_mohm", "rds_high_max_mohm"), ("ciss_pF", "coss_pF", "crss_pF"))


def scaled(text, factor):
    return f"{float(text) * factor:.4g}" if text else ""


def breaks(text, factor):
    pairs = (pair.split(":") for pair in text.split(";"))
    return ";".join(f"{quantity}:{float(price) * factor:.4g}" for quantity, price in pairs)


def row(base, index, rng):
    out = dict(base)
    out["number"] = f"{base['number'].lstrip(chr(39))}-{index:06d}"
    out["source"] = "invented, generated"
    out["stock"] = str(rng.randrange(0, 500_000))
    out["price_breaks"] = breaks(base["price_breaks"], rng.uniform(0.7, 1.6))
    for group in GROUPS:
        factor = rng.uniform(0.9, 1.1)
        for column in group:
            out[column] = scaled(base[column], factor)
    return out


def catalogue(rows, seed, to):
    with STARTER.open(newline="", encoding="utf-8") as file:
        reader = csv.DictReader(file)
        starter, columns = list(reader), reader.fieldnames
    rng = random.Random(seed)
    writer = csv.DictWriter(to, columns, lineterminator="\n")
    writer.writeheader()
    for index in range(rows):
        writer.writerow(row(rng.choice(starter), index, rng))


if __name__ == "__main__":
    catalogue(int(sys.argv[1]), int(sys.argv[2]) if len(sys.argv) > 2 else 1, sys.stdout)
