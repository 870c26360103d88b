# SPDX-FileCopyrightText: 2026 The Pennybridge authors
# SPDX-License-Identifier: Apache-2.0
"""The main job on a small catalogue, and every way of giving it something it cannot use."""

import json
import os
import pathlib
import re
import subprocess
import tempfile

from cli import (PARTS, PROGRAM, ROOT, copy_world, done, expect, interrupted, on_full_disk, one_object, run,
                 small_world, starter_rows, write_rows)


def by_supply():
    """The examples, lowest supply first."""
    found = {float(m[1]): path for path in sorted((ROOT / "examples").rglob("brief.toml"))
             if (m := re.search(r'^voltage = "([\d.]+) V"', path.read_text(), re.M))}
    return [found[volts] for volts in sorted(found)]


BRIEF, *_, SLOW_BRIEF = by_supply()
TEXT = BRIEF.read_text()


def passing(folder):
    out = folder / "out"
    result = run("design", BRIEF, "--out", out, "--json")
    expect(result.returncode == 0, "a design passes", result)
    answer = one_object(result, "design")
    best = answer.get("designs", [{}])[0]
    expect(best.get("rank") == 1 and best["landed_cost"] >= best["floor_cost"] > 0, "costs of the winner", result)
    expect({"format", "version", "input_sha256", "assumed", "nothing_cheaper", "claim", "undecided", "chips",
            "chip_wins", "rejected", "space"} <= set(answer), "keys of the answer", result)
    expect(all({"key", "value", "unit"} == set(a) and (a["unit"] or isinstance(a["value"], str))
               for a in answer["assumed"]), "every assumed number has a unit", result)
    for space in answer["space"].values():
        n = {key: int(value) for key, value in space.items()}
        total = n.pop("total")
        expect(total == sum(n.values()), f"the space adds up: {space}")
    expect({"report.html", "bom.csv", "design.json", "manifest.json"} <= {p.name for p in out.iterdir()},
           "the folder is whole")
    again = run("check", best["design_file"], "--json")
    expect(again.returncode == 0 and one_object(again, "check")["passes"] is True,
           "the design passes a check of its own", again)
    checked = folder / "checked"
    report = run("check", best["design_file"], "--out", checked)
    expect(report.returncode == 0 and {p.name for p in checked.iterdir()} ==
           {"report.html", "verdict.json", "manifest.json"}, "check writes its report", report)
    expect(json.loads((checked / "verdict.json").read_text())["passes"] is True, "the verdict as JSON")
    return best["design_file"]


def impatient(folder):
    """A search that ends in time says so, and counts what nobody looked at as undecided."""
    result = run("design", SLOW_BRIEF, "--patience", "1", "--out", folder / "soon", "--json")
    answer = one_object(result, "design")
    expect(not answer["nothing_cheaper"] and answer["undecided"], "left undecided", result)
    if any("not visited" in why for why in answer["undecided"]):
        expect(sum(int(n["undecided"]) for n in answer["space"].values()) > 0, "counted as undecided", result)
    for n in answer["space"].values():
        expect(int(n["total"]) == sum(int(v) for k, v in n.items() if k != "total"), f"adds up: {n}")
    for refused in ("0", "soon", "1e9"):
        expect(run("design", BRIEF, "--patience", refused).returncode == 2, f"--patience {refused} is refused")


def bad_briefs(folder):
    (folder / "dangling").symlink_to(folder / "nothing")
    changes = {
        "unit": ('voltage = "5 V"', 'voltage = "5 A"'), "nan": ('voltage = "5 V"', 'voltage = "nan V"'),
        "inf": ('voltage = "5 V"', "voltage = inf"), "negative": ('voltage = "5 V"', 'voltage = "-5 V"'),
        "key": ("winding_resistance", "winding_resistence"),
        "steps": (re.search(r'steps_per_turn = ".*"', TEXT)[0], 'steps_per_turn = "0 step"'),
    }
    for name, (old, new) in changes.items():
        expect(old in TEXT, f"the brief has {old}")
        (folder / name).write_text(TEXT.replace(old, new, 1))
    (folder / "empty").write_text("")
    (folder / "prose").write_text("turn the motor\n")
    cases = {
        "missing": "no such file", ".": "a folder", "dangling": "not there", "prose": "not TOML",
        "unit": "expected a voltage", "nan": "supply.voltage", "inf": "supply.voltage", "negative": "supply.voltage",
        "key": "did you mean motor.winding_resistance?", "steps": "motor.steps_per_turn",
    }
    for file, message in cases.items():
        result = run("design", folder / file, "--json")
        expect(result.returncode == 2 and message in result.stderr, f"{file}: exit 2 and {message!r}", result)
        problems = one_object(result, file).get("problems", [])
        expect(problems and all({"file", "line", "column", "key", "expected", "found", "message"} == set(p)
                                for p in problems), f"{file}: problems in the JSON", result)
    result = run("design", folder / "empty")
    required = re.findall(r"^\| `(\w+)` \| \*\*required\*\*", (ROOT / "docs" / "formats.md").read_text(), re.M)
    expect(len(required) > 5, "the page of formats names required keys")
    expect(result.returncode == 2 and all(key in result.stderr for key in required),
           f"an empty brief is told of {required}", result)


def catalogues(folder):
    head = starter_rows(lambda row: False)
    empty = write_rows(folder / "empty.csv", head)
    result = run("design", BRIEF, "--parts", empty)
    expect(result.returncode == 2 and "catalogue is empty" in result.stderr, "an empty catalogue", result)
    # Fewer templates, no error.
    without = write_rows(folder / "without.csv", starter_rows(
        lambda row: row["number"] in PARTS and row["class"] != "p-mosfet"))
    result = run("design", BRIEF, "--parts", without, "--json")
    expect(result.returncode == 1 and result.stderr == "", "no P-channel part: nothing found", result)
    answer = one_object(result, "no P-channel part")
    expect(answer["designs"] == [] and "problems" not in answer, "no P-channel part: no error", result)
    # The same parts in two files are the parts of one.
    parts = folder / "half-a.csv", folder / "half-b.csv"
    write_rows(parts[0], starter_rows(lambda row: row["number"] in PARTS[:3]))
    write_rows(parts[1], starter_rows(lambda row: row["number"] in PARTS[2:]))
    result = run("design", BRIEF, "--parts", parts[0], "--parts", parts[1])
    expect(result.returncode == 0, "several catalogues", result)


def templates(folder, world, template):
    text = template.read_text()
    winding = re.search(r'^a = \["(\w+)"', text, re.M)[1]
    for name, broken, message in (
        ("floating", text.replace(f'"{winding}"', '"nowhere"', 1), "it floats"),
        ("class", text.replace('class = "n-mosfet"', 'class = "x-mosfet"'), "n-mosfet"),
    ):
        environment = copy_world(world, folder / name, broken)
        result = run("design", BRIEF, env=environment)
        expect(result.returncode == 2 and message in result.stderr and "bridge.toml:" in result.stderr,
               f"template {name}: exit 2 and {message!r}", result)
    # A role that must be filled, and the catalogue has no part of its class.
    environment = copy_world(world, folder / "unfit")
    write_rows(folder / "unfit" / "parts" / "parts.csv", starter_rows(
        lambda row: row["number"] in PARTS and row["class"] != "electrolytic"))
    result = run("design", BRIEF, env=environment)
    expect(result.returncode == 1 and result.stderr == "", "a role no part fits: nothing found", result)


def impossible(folder):
    (folder / "fast").write_text(re.sub(r'^rate = .*', 'rate = "40000 step/s"', TEXT, flags=re.M))
    result = run("design", folder / "fast", "--json")
    expect(result.returncode == 1, "an impossible brief: exit 1", result)
    found = one_object(result, "impossible").get("impossible", {})
    expect(found.get("key") and found.get("why"), "an impossible brief names the key and says why", result)


def outputs(folder, design):
    (folder / "mine").mkdir()
    (folder / "mine" / "letter").write_text("do not lose this")
    (folder / "file").write_text("")
    for verb, file in (("design", BRIEF), ("check", design)):
        for place, message in (("mine", "not made by this program"), ("file", "not a folder")):
            result = run(verb, file, "--out", folder / place)
            expect(result.returncode == 2 and message in result.stderr, f"{verb} --out {place}", result)
        expect(os.listdir(folder / "mine") == ["letter"], "what is not ours is left alone")
        before = sorted(os.listdir(folder))
        full = on_full_disk(verb, file, "--out", folder / "full")
        expect(full.returncode == 3 and "full" in full.stderr, f"{verb} on a full disk: exit 3", full)
        nowhere = run(verb, file, "--out", "/proc/nowhere/out")  # no user can write there, root included
        expect(nowhere.returncode == 3, f"{verb} where nothing can be written: exit 3", nowhere)
        expect(sorted(os.listdir(folder)) == before, f"{verb}: nothing is left behind")
        with open("/dev/full", "w") as device:
            status = subprocess.run([PROGRAM, verb, str(file)], stdout=device, stderr=subprocess.DEVNULL).returncode
        expect(status == 3, f"{verb}, full standard output: exit 3, not {status}")


def stopped(folder, design):
    for verb, file in (("design", BRIEF), ("check", design)):
        place = folder / "stopped"
        result, waited = interrupted(verb, file, "--out", place, "--json", delay=0.1)
        expect(result.returncode == 130, f"{verb}: exit 130", result)
        expect(waited < 5, f"{verb} obeys soon: {waited:.1f} s")
        one_object(result, f"{verb} interrupted")
        expect(list(folder.iterdir()) == [], f"{verb}: nothing is left behind")


def has_terminals():
    try:
        for end in os.openpty():
            os.close(end)
    except OSError as e:
        print(f"no terminal can be opened here ({e.strerror}; is /dev/pts mounted?): progress is not looked at")
        return False
    return True


def progress(design):
    """On a terminal, and only there, standard error says how far the work is."""
    for verb, file, sign in (("design", BRIEF, "circuits one by one"), ("check", design, "%")):
        ours, theirs = os.openpty()
        work = subprocess.Popen([PROGRAM, verb, str(file)], stdout=subprocess.DEVNULL, stderr=theirs)
        os.close(theirs)
        seen = b""
        try:
            while piece := os.read(ours, 4096):
                seen += piece
        except OSError:  # the other end is closed
            pass
        os.close(ours)
        expect(work.wait() == 0 and b"\r" in seen and sign in seen.decode(), f"{verb} shows its progress: {seen[:200]}")


with tempfile.TemporaryDirectory() as name:
    base = pathlib.Path(name)
    impatient(base)  # with all templates and parts
    bridge = small_world(base / "world")
    for part in ("pass", "briefs", "catalogues", "templates", "impossible", "outputs", "stopped"):
        (base / part).mkdir()
    made = passing(base / "pass")
    bad_briefs(base / "briefs")
    catalogues(base / "catalogues")
    templates(base / "templates", base / "world", bridge)
    impossible(base / "impossible")
    outputs(base / "outputs", made)
    stopped(base / "stopped", made)
    if has_terminals():
        progress(made)
done()
