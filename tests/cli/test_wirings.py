# SPDX-FileCopyrightText: 2026 The Pennybridge authors
# SPDX-License-Identifier: Apache-2.0
"""Every wiring of the tree that is made of transistors turns some motor, built by hand from starter parts; and what it
says of itself about reset is what check finds."""

import tempfile
import tomllib

from cli import ROOT, done, expect
from handmade import design, judged, row_of

COMMON = {"diode": "SCHOTTKY-40V-1A-SMA-a", "resistor": "RES-250mW-1pc-1206-a",
          "electrolytic": "ECAP-100uF-25V-CAN6.3-a", "ceramic": "CER-100nF-50V-0603-a", "npn": "NPN-20V-1A-SOT23-a",
          "pnp": "PNP-20V-1A-SOT23-a", "buffers": "BUFFERS-5V-65R-TSSOP20-a"}
STRONG = COMMON | {"n-mosfet": "NFET-20V-40mR-SOT23-a", "p-mosfet": "PFET-20V-60mR-SOT23-a"}
# Thresholds above 1 V and some ohms: what both switches of a tied leg pass at an edge stays small.
WEAK = COMMON | {"n-mosfet": "NFET-60V-3R-SOT23-a", "p-mosfet": "PFET-60V-5R-SOT23-a"}
HIGHER = COMMON | {"n-mosfet": "NFET-30V-40mR-SOT23-a", "p-mosfet": "PFET-30V-50mR-SOT23-a", "npn": "BC847"}

# Work that may suit a wiring: a brief, what is changed in it, one part a class, how far down the list of values each
# resistor is. High sides that follow their pin need a logic voltage above the supply, MOSFETs well above it.
BJT_FOLLOWS = [("dosing-pump", {"supply.voltage": "4.5 V"}, STRONG, 0.75)]
MOSFET_FOLLOWS = [("dosing-pump", {"controller.logic_voltage": "10 V"}, STRONG, 0.75)]
# A motor so small that half the supply terminal of a package of logic gates bears its current.
TINY = [("dosing-pump", {"motor.winding_resistance": "320 ohm", "motor.winding_inductance": "120 mH",
                         "motor.rated_current": "20 mA", "motor.holding_torque": "4 mN m",
                         "motor.detent_torque": "0.4 mN m", "load.torque": "0.4 mN m",
                         "supply.current_limit": "0.5 A"}, STRONG, 0.5)]
# A pump lifts less than the logic voltage, which has to drive the N parts.
PUMPED = [("vent-flap", {"supply.voltage": "9 V", "controller.logic_voltage": "5 V", "controller.pins": "12"},
           HIGHER | {"ceramic": "CER-1uF-25V-0603-a"}, 0.75)]
OTHERS = [("dosing-pump", {}, WEAK, 0.5), ("vent-flap", {}, HIGHER, 0.5),
          ("vent-flap", {"supply.voltage": "11 V"}, HIGHER, 0.5)]


def work_for(wiring):
    at_rail = {terminal for place in wiring["place"] for terminal, node in place["nodes"].items() if node == "rail"}
    if any(role["class"] == "buffers" for role in wiring["role"].values()):
        return TINY
    if any("clock" in pin for pin in wiring["pin"]):
        return PUMPED
    return BJT_FOLLOWS if "collector" in at_rail else MOSFET_FOLLOWS if "drain" in at_rail else OTHERS


def sets(changes):
    return [word for key, value in changes.items() for word in ("--set", f"{key}={value}")]


def handmade(wiring, brief, kit, share):
    """Optional roles left out."""
    roles = {name: role for name, role in wiring["role"].items() if not role.get("optional")}
    parts = {name: row_of(kit[role["class"]]) for name, role in roles.items()}
    values = {name: role["values"][round(share * (len(role["values"]) - 1))]
              for name, role in roles.items() if "values" in role}
    flows = {state["flow"] for group in wiring["drive"] for state in group["state"]}
    both = flows >= {"+", "-"} or "++" in flows
    return design(brief, wiring["id"], parts, "two-phase" if both else "one-phase", values)


seen = {"safe in reset": 0, "shorts in reset": 0}
with tempfile.TemporaryDirectory() as folder:
    for path in sorted((ROOT / "templates").glob("*.toml")):
        wiring = tomllib.loads(path.read_text())
        if any("chip" in role["class"] for role in wiring["role"].values()):
            continue  # test_chip.py
        if "measure" in wiring:
            continue  # tests/slow/measured_run.cpp
        name = wiring["title"]
        failed = []
        for brief, changes, kit, share in work_for(wiring):
            text = handmade(wiring, brief, kit, share)
            result, answer = judged(text, folder, *sets(changes))
            if result.returncode == 0:
                break
            failed.append({c["id"] for c in answer.get("checks", []) if not c["passes"]})
        expect(result.returncode == 0, f"{name}: sound for some work; failed by {failed}", result)
        expect(answer["energy_residual"] <= 1e-3, f"{name}: the books close")
        expect(not answer["undecided"], f"{name}: decided")

        # Pins lifted by pull-ups of 20 kohm while the controller is in reset.
        says = wiring["wins_when"]
        safe, shorts = "reset with pull-ups included" in says, "Not where reset pulls the pins up" in says
        if safe or shorts:
            pulled = {"controller.reset": "pull-up", "controller.reset_pull_resistance": "20 kohm"}
            result, answer = judged(text, folder, *sets(changes | pulled))
            failing = {c["id"] for c in answer["checks"] if not c["passes"]}
            expect(("shoot_through_reset" in failing) == shorts, f"{name}: in reset {failing}", result)
            seen["shorts in reset" if shorts else "safe in reset"] += 1
expect(all(seen.values()), f"both kinds were met: {seen}")
done()
