# SPDX-FileCopyrightText: 2026 The Pennybridge authors
# SPDX-License-Identifier: Apache-2.0
"""The shipped captures: they are what their generator makes, identify finds the truth it was given, compare names the
planted cause, and a brief and a design take the figures and are proven again."""

import pathlib
import re
import shutil
import sys
import tempfile

from cli import ROOT, done, expect, one_object, run

sys.dont_write_bytecode = True
sys.path.insert(0, str(ROOT / "benchmarks"))
import make_captures  # noqa: E402

BENCH = ROOT / "examples/vent-flap/bench"
work = pathlib.Path(tempfile.mkdtemp())


def numbers(path):
    """Rows of a capture, below its head."""
    rows = []
    for line in path.read_text(encoding="utf-8").splitlines():
        if re.match(r"^-?\d", line):
            comma = ";" in line
            rows.append([float(x.replace(",", ".")) for x in line.split(";" if comma else ",")])
    return rows


make_captures.step(work / "step.csv")
make_captures.spin(work / "spin.csv")
for name in ("step", "spin"):
    made, shipped = numbers(work / f"{name}.csv"), numbers(BENCH / f"{name}.csv")
    # Another machine's libm may round the last bit of a converter the other way, now and then.
    off = sum(a != b for a, b in zip(made, shipped))
    expect(len(made) == len(shipped) and off <= 2, f"{name}.csv is what the generator makes: {off} rows differ")

checked = run("check", BENCH / "board.toml", "--json")
expect(checked.returncode == 0 and one_object(checked, "check").get("passes") is True, "the board of the captures passes", checked)

truth = make_captures.TRUTH
step = run("identify", BENCH / "step.csv", "--json")
spin = run("identify", BENCH / "spin.csv", "--steps-per-turn", 4 * make_captures.TEETH, "--json")
found = {**one_object(step, "step").get("parameters", {}), **one_object(spin, "spin").get("parameters", {})}
expect(set(found) == set(truth), f"every figure is found: {set(found)}")
for name, p in found.items():
    # The interval itself is held to its confidence over hundreds of seeds elsewhere; one draw may lie outside.
    half = 0.5 * (p["high"] - p["low"])
    expect(abs(p["value"] - truth[name]) < 2 * half, f"{name}: {p} against {truth[name]}")
    expect(half < 0.01 * truth[name], f"{name}: narrow: {p}")

COLUMNS = ("--column", "winding_a_A=CH1", "--column", "winding_b_A=CH2", "--column", "rail_V=CH3")
good = run("compare", BENCH / "board.toml", BENCH / "move.csv", *COLUMNS, "--units", "12", "--json", timeout=300)
answer = one_object(good, "move")
expect(good.returncode == 0 and answer.get("inside_band") is True, "the board as designed is inside the band", good)
expect(abs(answer.get("aligned_s", 0) + 31.7e-3) < 5e-4, f"lined up: {answer.get('aligned_s')}")
sag = run("compare", BENCH / "board.toml", BENCH / "sagging.csv", *COLUMNS, "--units", "12", "--json", timeout=300)
answer = one_object(sag, "sagging")
first = (answer.get("causes") or [{}])[0]
expect(sag.returncode == 1 and first.get("key") == "supply.resistance" and abs(first["fitted"] - 4) < 0.5, f"the sag comes first: {first}", sag)

# A winding of a fifth more resistance than the brief says, made by the same generator.
make_captures.move(work / "resistive.csv", winding_ohm=36.0)
other = run("compare", BENCH / "board.toml", work / "resistive.csv", *COLUMNS, "--units", "12", "--json", timeout=300)
first = (one_object(other, "resistive").get("causes") or [{}])[0]
expect(first.get("key") == "motor.winding_resistance" and abs(first["fitted"] - 36) < 1.5, f"the winding's resistance comes first: {first}", other)

# A recorder's unit of time, decimal commas and a gap change nothing of that.
text = (work / "resistive.csv").read_text().splitlines()
rows = [line.split(",") for line in text[2:]]
del rows[300:320]
(work / "other.csv").write_text("\n".join(["Recorder", "", "Zeit;A;B;U", "us;A;A;mV"] + [
    ";".join(f"{x:.4f}" for x in (1e3 * float(t), 1e-3 * float(a), 1e-3 * float(b), 1e3 * float(v))).replace(".", ",")
    for t, a, b, v in rows]) + "\n")
same = run("compare", BENCH / "board.toml", work / "other.csv", "--column", "winding_a_A=A", "--column", "winding_b_A=B",
           "--column", "rail_V=U", "--units", "12", "--json", timeout=300)
again = (one_object(same, "other units").get("causes") or [{}])[0]
expect(again.get("key") == first.get("key") and abs(again["fitted"] - first["fitted"]) < 0.2, f"the same in other units: {again}", same)

# A fiftieth of a second of it fits in many places, the end of the run among them: an answer, whatever it is.
(work / "short.csv").write_text("\n".join(text[:100]) + "\n")
short = run("compare", BENCH / "board.toml", work / "short.csv", *COLUMNS, "--json", timeout=60)
said = one_object(short, "a short capture")
expect(short.returncode in (0, 1, 2) and (short.returncode == 2) == bool(said.get("problems")), "a short capture has an answer", short)
expect(short.returncode == 2 or said["inside_band"] == (said["outside"] <= 0.01), "what is outside decides", short)

# A gigabyte of nonsense, alone and behind what looks well: refused, and nothing is written.
for name, head in (("nothing.csv", ""), ("behind.csv", "\n".join(text[:100]) + "\n")):
    with open(work / name, "w", encoding="utf-8") as file:
        file.write(head)
        file.flush()
        file.truncate(1 << 30)  # zeros that take no room on the disk
    for what in (("compare", BENCH / "board.toml", work / name, *COLUMNS), ("identify", work / name, "--column", "current_A=CH1")):
        answer = run(*what, "--json", "--out", work / "none", timeout=120)
        problems = one_object(answer, f"{what[0]} {name}").get("problems")
        expect(answer.returncode == 2 and problems and not (work / "none").exists(), f"{what[0]} of {name} is refused", answer)
    (work / name).unlink()

brief = work / "brief.toml"
shutil.copy(ROOT / "examples/vent-flap/brief.toml", brief)
shutil.copy(BENCH / "board.toml", work / "design-1.toml")
again = run("identify", BENCH / "step.csv", "--brief", brief, "--json", timeout=300)
answer = one_object(again, "identify --brief")
proved = answer.get("proved", [])
expect(again.returncode in (0, 1) and len(proved) == 1, "the design beside the brief is proven again", again)
expect(proved and proved[0]["tightest_margin"]["id"] and proved[0]["passes"] == (again.returncode == 0), f"what it says: {proved}")
check = run("check", work / "design-1.toml", "--json", timeout=300)
expect(check.returncode == again.returncode, "check says the same of the changed design", check)
value = answer["parameters"]["winding_resistance"]["value"]
for file in (brief, work / "design-1.toml"):
    written = re.search(r'^winding_resistance = "([0-9.]+) ohm"', file.read_text(), re.M)
    expect(written and abs(float(written[1]) - value) < 0.01 * value, f"{file.name} has the resistance: {written and written[0]}")
expect("# bolted to the plate" in brief.read_text(), "comments of the brief are kept")
broken = run("identify", BENCH / "step.csv", "--brief", brief, "--design", work / "none.toml")
expect(broken.returncode == 2 and "none.toml" in broken.stderr, "a design that is not there: exit 2", broken)
done()
