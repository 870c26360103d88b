# SPDX-FileCopyrightText: 2026 The Pennybridge authors
# SPDX-License-Identifier: Apache-2.0
"""compare: captures made from simulated waveforms, the fields of the contract, exits, usage."""

import csv
import pathlib
import random
import tempfile

from cli import designs, done, expect, one_object, run

work = pathlib.Path(tempfile.mkdtemp())
design = designs()[0]
MOVE = ("--set", "motion.move=12 step")


def capture(name, *sets):
    """The waveforms of one run, as an instrument gives them: even in time, in ms and mA, noisy."""
    made = run("simulate", design, *MOVE, *sets, "--out", work / ("run-" + name))
    expect(made.returncode == 0, f"{name}: simulated", made)
    with open(work / ("run-" + name) / "waveforms.csv", newline="") as file:
        rows = list(csv.DictReader(file))
    times = [float(r["t_s"]) for r in rows]
    dice, out, k, t = random.Random(3), ["Some instrument", "t (ms);CH1 (mA);CH2 (mA);CH3 (V)"], 0, 0.002
    while t < times[-1]:
        while k + 2 < len(rows) and times[k + 1] <= t:
            k += 1
        share = (t - times[k]) / max(times[k + 1] - times[k], 1e-12)
        y = [(1 - share) * float(rows[k][c]) + share * float(rows[k + 1][c]) for c in ("winding_a_A", "winding_b_A", "rail_V")]
        cells = [1e3 * t - 7, 1e3 * y[0] + dice.gauss(0, 0.5), 1e3 * y[1] + dice.gauss(0, 0.5), y[2] + dice.gauss(0, 5e-3)]
        out.append(";".join(f"{x:.4f}" for x in cells).replace(".", ","))
        t += 1e-4
    path = work / (name + ".csv")
    path.write_text("\n".join(out) + "\n")
    return path


COLUMNS = ("--column", "winding_a_A=CH1", "--column", "winding_b_A=CH2", "--column", "rail_V=CH3")
clean = capture("clean")
result = run("compare", design, clean, *MOVE, *COLUMNS, "--json", "--out", work / "out")
answer = one_object(result, "clean")
expect(result.returncode == 0 and answer.get("inside_band") is True, "a clean capture is inside", result)
expect(abs(answer.get("aligned_s", 0) - 0.007) < 2e-4, "lined up", result)
for field in ("input_sha256", "assumed", "deviations", "causes", "capture", "band", "likeness"):
    expect(field in answer, f"field {field}", result)
for name in ("compare.json", "winding_a.svg", "winding_a.csv", "rail.svg", "manifest.json"):
    expect((work / "out" / name).is_file(), f"--out has {name}")
again = run("compare", design, clean, *MOVE, *COLUMNS, "--json")
expect({**one_object(again, "again"), "out": 0} == {**answer, "out": 0}, "the same again", again)

sagging = capture("sag", "--set", "supply.resistance=8 ohm")
sag = run("compare", design, sagging, *MOVE, *COLUMNS, "--json")
answer = one_object(sag, "sag")
expect(sag.returncode == 1 and not answer.get("inside_band", True), "a sagging supply is outside", sag)
expect(answer["deviations"], "it deviates somewhere", sag)
first = (answer["causes"] or [{}])[0]
expect(first.get("key") == "supply.resistance" and abs(first["fitted"] - 8) < 1 and first["explains"] > 0.8, f"the sag comes first: {first}")
people = run("compare", design, sagging, *MOVE, *COLUMNS)
expect("supply.resistance" in people.stdout and "NOT inside" in people.stdout, "for people", people)

lines = clean.read_text().splitlines()
(work / "back.csv").write_text("\n".join(lines[:90] + lines[50:]))
(work / "dead.csv").write_text("\n".join(lines[:2] + [";".join([*l.split(";")[:2], "0,1", l.split(";")[3]]) for l in lines[2:]]))
for name, part in (("back", "back.csv:91:1"), ("dead", "winding_b_A")):
    refused = run("compare", design, work / (name + ".csv"), *MOVE, *COLUMNS, "--json", "--out", work / "none")
    expect(refused.returncode == 2 and part in refused.stderr, f"{name}: exit 2 and {part}", refused)
    expect(one_object(refused, name)["problems"] and not (work / "none").exists(), f"{name}: nothing is written")
swapped = run("compare", design, clean, *MOVE, "--column", "winding_a_A=CH2", "--column", "winding_b_A=CH1", "--column", "rail_V=CH3")
expect(swapped.returncode == 2 and "exchanged" in swapped.stderr, "two columns exchanged", swapped)
unnamed = run("compare", design, clean, *MOVE)
expect(unnamed.returncode == 2 and "--column" in unnamed.stderr, "no column named", unnamed)
helped = run("compare", "--help")
expect(helped.returncode == 0 and "Example" in helped.stdout, "--help has an example", helped)
done()
