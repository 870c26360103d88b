# SPDX-FileCopyrightText: 2026 The Pennybridge authors
# SPDX-License-Identifier: Apache-2.0
"""An emitter follower saturates where its pin is above the supply: with the supply low and the logic high, as neither
does alone. What a proof calls the worst comes within a tenth of what a proof
that starts from there finds: the rest is other figures acting together."""

import tempfile
import tomllib

from cli import ROOT, done, expect
from handmade import design, judged, row_of

KIT = {"n-mosfet": "NFET-20V-40mR-SOT23-a", "p-mosfet": "PFET-20V-60mR-SOT23-a", "diode": "SCHOTTKY-40V-1A-SMA-a",
       "resistor": "RES-250mW-1pc-1206-a", "electrolytic": "ECAP-100uF-25V-CAN6.3-a",
       "ceramic": "CER-100nF-50V-0603-a", "npn": "NPN-30V-0.2A-SOT23-a", "pnp": "PNP-30V-0.2A-SOT23-a"}
SUPPLY_V, LOGIC_V, SHARE = 5.0, 5.0, 0.05


def followers():
    """Wirings with a collector at the rail."""
    for path in sorted((ROOT / "templates").glob("*.toml")):
        wiring = tomllib.loads(path.read_text())
        if any(place["nodes"].get("collector") == "rail" for place in wiring["place"]) and "measure" not in wiring:
            yield wiring


def checked(wiring, folder, supply_V, logic_V, share):
    roles = {name: role for name, role in wiring["role"].items() if not role.get("optional")}
    values = {name: role["values"][0] for name, role in roles.items() if "values" in role}
    text = design("dosing-pump", wiring["id"], {name: row_of(KIT[role["class"]]) for name, role in roles.items()},
                  "two-phase", values)
    changes = {"supply.voltage": f"{supply_V} V", "controller.logic_voltage": f"{logic_V} V",
               "supply.tolerance": f"{100 * share} %", "controller.tolerance": f"{100 * share} %"}
    _, answer = judged(text, folder, *[word for key, value in changes.items() for word in ("--set", f"{key}={value}")])
    return {(c["id"], c["subject"]): c for c in answer["checks"] if c["id"].startswith("pin_current")}


seen = 0
with tempfile.TemporaryDirectory() as folder:
    for wiring in followers():
        proven = checked(wiring, folder, SUPPLY_V, LOGIC_V, SHARE)
        apart = checked(wiring, folder, SUPPLY_V * (1 - SHARE), LOGIC_V * (1 + SHARE), 0.0)
        for key, there in apart.items():
            seen += 1
            expect(proven[key]["value"] >= 0.9 * there["value"],
                   f"{wiring['title']}: {key} {proven[key]['value']} A, {there['value']} A with the supplies apart")
expect(seen > 0, "a follower's pins were looked at")
done()
