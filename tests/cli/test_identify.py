# SPDX-FileCopyrightText: 2026 The Pennybridge authors
# SPDX-License-Identifier: Apache-2.0
"""identify: captures of closed forms, the fields of the contract, a brief that keeps its comments, bad captures."""

import math
import pathlib
import random
import tempfile

from cli import ROOT, done, expect, one_object, run

work = pathlib.Path(tempfile.mkdtemp())
V, R, L, K, TEETH = 12.0, 30.0, 20e-3, 0.25, 12
dice = random.Random(7)


def step(path, rows=1500, change=lambda i: i, head="Some instrument\nZeit (ms);CH1 (V);CH2 (mA)\n"):
    """i = V/R (1 - exp(-t R/L)), with noise, as an instrument with a decimal comma writes it."""
    lines = []
    for k in range(rows):
        t = k * 5e-6 - 1e-3
        i = change(V / R * (1 - math.exp(-t * R / L)) if t > 0 else 0.0) + dice.gauss(0, 2e-3)
        lines.append(f"{t * 1e3:.4f};{V if t > 0 else 0:.2f};{i * 1e3:.3f}".replace(".", ","))
    path.write_text(head + "\n".join(lines) + "\n")
    return path


def expect_motor(answer, result, **truth):
    for name, value in truth.items():
        found = answer.get("parameters", {}).get(name, {})
        expect(found and found["low"] <= value <= found["high"], f"the interval holds {name}", result)
        expect(found and found["high"] - found["low"] < 0.1 * value, f"the interval of {name} is narrow", result)
        expect(found and found["low"] < found["value"] < found["high"] and found["unit"], f"fields of {name}", result)


capture = step(work / "step.csv")
brief = work / "brief.toml"
source = next((ROOT / "examples").rglob("brief.toml")).read_text()
brief.write_text(source + "# the last word\n")
result = run("identify", capture, "--json", "--brief", brief, "--out", work / "out")
expect(result.returncode == 0, "a step: exit 0", result)
answer = one_object(result, "identify")
expect_motor(answer, result, winding_resistance=R, winding_inductance=L)
for name in ("residual.svg", "fit.svg", "identified.json", "manifest.json"):
    expect((work / "out" / name).is_file(), f"--out has {name}")
before, after = (source + "# the last word\n").splitlines(), brief.read_text().splitlines()
changed = [(a, b) for a, b in zip(before, after) if a != b]
expect(len(before) == len(after) and len(changed) == 2, f"two lines of the brief changed: {changed}")
expect(all("winding_" in a and a.split("=")[0] == b.split("=")[0] for a, b in changed), f"those of the winding: {changed}")

# The same with the columns by name and the voltage given.
named = run("identify", capture, "--column", "current_A=CH2", "--voltage", "12 V", "--json")
expect_motor(one_object(named, "named"), named, winding_resistance=R, winding_inductance=L)

spin = work / "spin.csv"
spin.write_text("time (s),CH1 (V)\n" + "".join(
    f"{k * 1e-4:.5f},{K * 20 * math.exp(-k * 1e-4 / 0.4) * math.sin(TEETH * 8 * (1 - math.exp(-k * 1e-4 / 0.4))) + dice.gauss(0, 0.03):.4f}\n"
    for k in range(4000)))
spun = run("identify", spin, "--steps-per-turn", 4 * TEETH, "--json")
expect_motor(one_object(spun, "spin"), spun, back_emf_constant=K)

people = run("identify", capture)
expect(people.returncode == 0 and "winding_resistance" in people.stdout and "Ohm" not in people.stdout, "for people", people)

untouched = brief.read_bytes()


def refused(what, path, part, *more):
    result = run("identify", path, "--brief", brief, "--out", work / "none", *more, "--json")
    expect(result.returncode == 2, f"{what}: exit 2", result)
    expect(part in result.stderr and one_object(result, what)["problems"], f"{what}: says {part}", result)
    expect(brief.read_bytes() == untouched and not (work / "none").exists(), f"{what}: nothing is written")


refused("no motion", step(work / "still.csv", change=lambda i: 0.0), "does not move")
lines = capture.read_text().splitlines()
(work / "back.csv").write_text("\n".join(lines[:900] + lines[500:]) + "\n")
refused("time runs backwards", work / "back.csv", "back.csv:901:1")
(work / "dead.csv").write_text("\n".join(lines[:2] + [l.rsplit(";", 1)[0] + ";0" for l in lines[2:]]))
refused("a dead channel", work / "dead.csv", "does not move")
cut = ["t (ms),v (V),i (mA)"] + [f"{k * 5e-3:.3f},12,{min(400 * (1 - math.exp(-k * 5e-6 * R / L)), 250):.1f}" for k in range(1500)]
(work / "cut.csv").write_text("\n".join(cut))
refused("clipped", work / "cut.csv", "cut off")
(work / "nonsense.bin").write_bytes(dice.randbytes(1 << 20))
refused("nonsense", work / "nonsense.bin", "lines of numbers")
refused("no file", work / "nowhere.csv", "nowhere.csv")
refused("a column that is not there", capture, "CH1 (V), CH2 (mA)", "--column", "current_A=CH7")
refused("a voltage that is none", capture, "--voltage", "--voltage", "12 A")
helped = run("identify", "--help")
expect(helped.returncode == 0 and "Example" in helped.stdout, "--help has an example", helped)
done()
