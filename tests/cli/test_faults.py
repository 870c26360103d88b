# SPDX-FileCopyrightText: 2026 The Pennybridge authors
# SPDX-License-Identifier: Apache-2.0
"""faults: the fields of the contract, exit statuses, the fuse, Ctrl-C, usage."""

from cli import designs, done, expect, interrupted, one_object, run

CLASSES = {"works on", "stops safely", "destroyed but contained", "hazard"}
FIELDS = ("part", "fault", "class", "peak_A", "peak_degC", "fuse_s", "available_W", "detected_by", "contain")

design = designs()[0]
result = run("faults", design, "--json", timeout=300)
answer = one_object(result, "faults")
for field in ("input_sha256", "assumed", "by_class", "cases", "undecided"):
    expect(field in answer, f"field {field}", result)
cases = answer["cases"]
expect(len(cases) > 50, "every part, pin and wire has its faults")
for case in cases:
    expect(all(field in case for field in FIELDS), f"fields of {case.get('part')} {case.get('fault')}")
    expect(case["class"] in CLASSES, f"class of {case['part']} {case['fault']}")
    expect(case["fuse_s"] is None, "no fuse, no time")
    expect(case["peak_degC"] <= 526.85 + 1e-6, "no temperature beyond the laws of semiconductors")
    expect(case["melts"] == (case["peak_degC"] > 526.84), f"what melts: {case['part']} {case['fault']}")
expect(any(case["melts"] for case in cases), "some fault on a supply without a fuse melts a part")
expect(">527" in run("faults", design, timeout=300).stdout, "and people are told that it is hotter than that")
expect(answer["undecided"] == [], "every fault has a class", result)
expect(len({(c["part"], c["fault"]) for c in cases}) == len(cases), "each fault once")
counted = {name: sum(c["class"] == name for c in cases) for name in CLASSES}
expect(counted == answer["by_class"], "by_class counts the cases")
expect(counted["hazard"] > 0 and result.returncode == 1, "1 if there is a hazard", result)

worst = next(c["part"] for c in cases if c["class"] == "hazard")
own = [c for c in cases if c["part"] == worst]
one = run("faults", design, "--part", worst, "--json")
expect(one_object(one, "one part")["cases"] == own, "one part alone, the same cases", one)
people = run("faults", design, "--part", worst)
expect(people.returncode == 1 and "hazard: " in people.stdout and "contained by" in people.stdout, "a table by class", people)
unknown = run("faults", design, "--part", "no such part")
expect(unknown.returncode == 2 and "--part" in unknown.stderr, "2 for a part that is not there", unknown)

fused = run("faults", design, "--part", worst, "--set", "supply.current_limit=0.5 A", "--json")
with_fuse = one_object(fused, "faults with a fuse")
expect(with_fuse["by_class"]["hazard"] < sum(c["class"] == "hazard" for c in own), "a fuse changes classes")
expect(any(c["fuse_s"] is not None for c in with_fuse["cases"]), "and has a time")
expect(fused.returncode == (1 if with_fuse["by_class"]["hazard"] else 0), "0 without hazards", fused)

stopped, took = interrupted("faults", design, delay=0.2)
expect(stopped.returncode == 130 and took < 2, "Ctrl-C stops it", stopped)

none = run("faults", "/nowhere.toml", "--json")
expect(none.returncode == 2 and one_object(none, "no file").get("problems"), "2 without a design", none)

done()
