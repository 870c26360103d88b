# SPDX-FileCopyrightText: 2026 The Pennybridge authors
# SPDX-License-Identifier: Apache-2.0
"""yield: the fields of the contract, the same units for the same seed, one unit opened again, usage."""

from cli import designs, done, expect, one_object, run

design = designs()[0]
UNITS = 6
result = run("yield", design, "--units", UNITS, "--seed", 3, "--json", timeout=300)
expect(result.returncode in (0, 1), "exit 0 or 1", result)
answer = one_object(result, "yield")
for field in ("input_sha256", "assumed", "units", "seed", "failed", "failed_units", "yield", "interval", "by_check"):
    expect(field in answer, f"field {field}", result)
expect(answer["units"] == UNITS and answer["seed"] == 3, "units and seed are those asked")
expect(answer["failed"] == len(answer["failed_units"]), "every failed unit is named")
expect(result.returncode == (1 if answer["failed"] else 0), "1 exactly if a unit fails", result)
expect(abs(answer["yield"] - (1 - answer["failed"] / UNITS)) < 1e-12, "yield is the share that passes")
interval = answer["interval"]
expect(0 <= interval["low"] <= answer["yield"] <= interval["high"] <= 1 and interval["confidence"] == 0.95, "interval")
expect(all(0 < n <= answer["failed"] for n in answer["by_check"].values()), "by_check counts failed units")
expect(answer["undecided"] == [], "every unit has an answer", result)
expect(answer["checks"] and all(c["drivers"] for c in answer["checks"]), "what drives it")

again = run("yield", design, "--units", UNITS, "--seed", 3, "--json", timeout=300)
expect(again.stdout == result.stdout, "the same seed, the same bytes", again)

# The tightest check's worst unit, opened alone.
tightest = answer["checks"][0]
number = tightest["worst"]["unit_number"]
one = run("yield", design, "--seed", 3, "--unit", number, "--json")
unit = one_object(one, "--unit")
expect(one.returncode == (0 if unit["passes"] else 1), "--unit: exit by its verdict", one)
expect(unit["passes"] == (number not in answer["failed_units"]), "--unit: the batch's verdict", one)
same = [c for c in unit["checks"] if (c["id"], c["subject"]) == (tightest["id"], tightest["subject"])]
expect(len(same) == 1 and same[0]["value"] == tightest["worst"]["value"], "--unit: the batch's value", one)
expect(len(unit["figures"]) > 8, "--unit: what it is made of", one)
other = one_object(run("yield", design, "--seed", 4, "--unit", number, "--json"), "another seed")
expect(other["figures"] != unit["figures"], "another seed, another unit")

for wrong in (("--units", 0), ("--units", "many"), ("--lot", 2), ("--shape", "square"), ("--unit", -1)):
    refused = run("yield", design, *wrong)
    expect(refused.returncode == 2, f"{wrong}: exit 2", refused)
missing = run("yield", "no-such-file.toml", "--json")
expect(missing.returncode == 2 and one_object(missing, "no file")["problems"], "no file: exit 2", missing)
helped = run("yield", "--help")
expect(helped.returncode == 0 and "Example" in helped.stdout, "--help has an example", helped)
done()
