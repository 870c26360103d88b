# SPDX-FileCopyrightText: 2026 The Pennybridge authors
# SPDX-License-Identifier: Apache-2.0
"""N-channel high sides driven by logic at the supply's own voltage run as followers: check says so,
one row a high side, with the volts the winding loses. Enough logic voltage cures that check."""

from cli import designs, done, expect, one_object, run

trap = next(d for d in designs() if "follower" in d.parent.name)
result = run("check", trap, "--json")
expect(result.returncode == 1, "exit 1", result)
answer = one_object(result, "check")
expect(answer["passes"] is False, "does not pass")
failed = [c for c in answer["checks"] if c["id"] == "gate_drive_on" and not c["passes"]]
expect(len(failed) == 4, f"one row for each of the four high sides: {[c['subject'] for c in failed]}")
for c in failed:
    typical, worst = c["facts"]["winding_loss_typ_V"], c["facts"]["winding_loss_worst_V"]
    # A follower loses a threshold and the overdrive; thresholds of the part are 1.5 V and 2 V.
    expect(1.5 < typical < worst < 5.0 and worst > 2.0, f"{c['subject']}: {typical} V, {worst} V lost")
for c in answer["checks"]:
    room = c["limit"] - c["value"] if c["sense"] == "max" else c["value"] - c["limit"]
    expect(c["passes"] == (c["margin"] >= 0), f"{c['id']} {c['subject']}: passes exactly at margin >= 0")
    expect(abs(c["margin"] - room / abs(c["limit"])) < 1e-9 * max(1, abs(c["margin"])), f"{c['id']}: margin")

# Both pins of a leg high is a short that no program here writes: shown, and judged only on request.
patterns = [c for c in answer["checks"] if c["id"] == "shoot_through_fault"]
expect(len(patterns) == 4 and all(c["passes"] for c in patterns), "no pattern passed through shorts a leg")
for c in patterns:
    expect(c["facts"]["patterns_that_conduct_through_1"] == 1, f"{c['subject']}: one pattern of four shorts it")
    expect(c["facts"]["worst_of_all_patterns_A"] > 5, f"{c['subject']}: with amperes")
expect("4 legs short the supply" in run("check", trap).stdout, "people are told")
asked = one_object(run("check", trap, "--json", "--set", "rules.wrong_pins=survive"), "survive")
expect(sum(c["id"] == "shoot_through_fault" and not c["passes"] for c in asked["checks"]) == 4, "judged on request")

cured = one_object(run("check", trap, "--json", "--set", "controller.logic_voltage=12 V"), "cured")
rows = [c for c in cured["checks"] if c["id"] == "gate_drive_on"]
expect(rows and all(c["passes"] for c in rows), "enough logic voltage: gate_drive_on passes")
done()
