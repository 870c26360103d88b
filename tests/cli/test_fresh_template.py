# SPDX-FileCopyrightText: 2026 The Pennybridge authors
# SPDX-License-Identifier: Apache-2.0
"""A wiring nobody shipped is a file and nothing else: it loads, is drawn, judged, and found by design where it is the
cheapest; a slip of the pen in it is shown with its place."""

import os
import pathlib
import tempfile

from cli import ROOT, done, expect, one_object, run, starter_rows, write_rows
from handmade import design, judged, row_of

OUTPUTS = ("left", "right", "middle")


def fresh():
    """Three legs of complementary emitter followers, one end of each winding at the one in the middle. Outputs follow
    their pins, so the idle winding lies between two outputs at the same level."""
    text = 'format = 1\nid = "bench-idea"\ntitle = "Three follower legs"\nwins_when = "nobody knows yet"\n'
    for role, part_class in (("top", "npn"), ("bottom", "pnp"), ("series", "resistor"), ("store", "electrolytic"),
                             ("near", "ceramic"), ("catch", "diode")):
        text += f'\n[role.{role}]\nclass = "{part_class}"\n'
        text += 'values = ["220R"]\n' if part_class == "resistor" else ""
    places = []
    for k, out in enumerate(OUTPUTS):
        x = 20 + 36 * k
        follows = f'base = "base_{out}", emitter = "{out}"'
        places += [(f"Q{2 * k + 1}", "top", f'collector = "rail", {follows}', x, 12, "0"),
                   (f"Q{2 * k + 2}", "bottom", f'collector = "gnd", {follows}', x, 36, "m180"),
                   (f"R{k + 1}", "series", f'one = "pin_{out}", two = "base_{out}"', x - 8, 24, "270"),
                   (f"D{2 * k + 1}", "catch", f'anode = "{out}", cathode = "rail"', x + 8, 12, "180"),
                   (f"D{2 * k + 2}", "catch", f'anode = "gnd", cathode = "{out}"', x + 8, 36, "180")]
    across = 'one = "rail", two = "gnd"'
    places += [("C1", "store", across, 124, 24, "0"), ("C2", "near", across, 132, 24, "0")]
    for ref, role, nodes, x, y, turn in places:
        text += f'\n[[place]]\nref = "{ref}"\nrole = "{role}"\nnodes = {{{nodes}}}\nat = [{x}, {y}]\nturn = "{turn}"\n'
    for out in OUTPUTS:
        text += f'\n[[pin]]\nname = "{out}_in"\nnode = "pin_{out}"\noff = "-"\n'
    text += '\n[winding]\na = ["left", "middle"]\nb = ["right", "middle"]\n'
    text += '\n[[drive]]\nwindings = "ab"\npins = ["left_in", "right_in", "middle_in"]\n'
    for flow, levels in (("+0", "100"), ("0+", "010"), ("-0", "011"), ("0-", "101"), ("bb", "000")):
        on = ", ".join(f'"Q{2 * k + (1 if level == "1" else 2)}"' for k, level in enumerate(levels))
        text += f'\n[[drive.state]]\nflow = "{flow}"\nlevels = "{levels}"\non = [{on}]\n'
    for k, out in enumerate(OUTPUTS):
        text += f'\n[[leg]]\noutput = "{out}"\nhigh = ["Q{2 * k + 1}"]\nlow = ["Q{2 * k + 2}"]\n'
    return text


PARTS = {"top": "NPN-20V-1A-SOT23-a", "bottom": "PNP-20V-1A-SOT23-a", "series": "RES-100mW-1pc-0603-a",
         "store": "ECAP-100uF-25V-CAN6.3-a", "near": "CER-100nF-50V-0603-a", "catch": "SCHOTTKY-40V-0.5A-SOD123-a"}
LOWER = ("--set", "supply.voltage=4.5 V")

with tempfile.TemporaryDirectory() as folder:
    base = pathlib.Path(folder)
    template = base / "bench-idea.toml"
    template.write_text(fresh())
    text = design("dosing-pump", "bench-idea", {role: row_of(number) for role, number in PARTS.items()}, "one-phase",
                  {"series": "220R"})

    # Beside a design: a verdict of its own, and a drawing.
    result, answer = judged(text, base, *LOWER)
    expect(result.returncode == 0 and answer["passes"] is True, "the fresh wiring passes", result)
    rows = {(c["id"], c["subject"]): c for c in answer["checks"]}
    for ref in ("Q1", "Q2", "Q5", "Q6"):
        expect(("base_drive_on", ref) in rows and ("switch_junction", ref) in rows, f"{ref} is judged")
    # The output is a junction of 0.6 to 0.8 V below the pin's 5 V, less up to 0.1 V that base current and pin take.
    lost_V = rows["base_drive_on", "Q1"]["nominal"]
    expect(4.5 - 5 + 0.6 < lost_V < 4.5 - 5 + 0.8 + 0.1, f"a follower stays a junction below its pin: {lost_V} V lost")
    result = run("check", base / "design.toml", *LOWER, "--out", base / "out")
    expect(result.returncode == 0, "written", result)
    page = (base / "out" / "report.html").read_text()
    expect("Schematic: Three follower legs" in page, "drawn under its title")
    expect(all(f">{ref}<" in page for ref in ("Q1", "Q6", "R3", "D6", "C2")), "with its parts")

    # More voltage than the pins have: the same file, judged again, fails by what followers fail by.
    result, answer = judged(text, base, "--set", "supply.voltage=9 V")
    failing = {c["id"] for c in answer["checks"] if not c["passes"]}
    expect(result.returncode == 1 and "base_drive_on" in failing, f"followers burn the difference: {failing}", result)

    # A slip of the pen.
    template.write_text(fresh().replace('emitter = "right"', 'emitter = "rihgt"', 1))
    result, answer = judged(text, base)
    expect(result.returncode == 2 and answer["problems"], "refused", result)
    expect(any(p["file"].endswith("bench-idea.toml") and p["line"] > 0 and "floats" in p["found"]
               for p in answer["problems"]), f"with file and reason: {answer['problems']}")

    # Among the templates: design finds it.
    data = base / "data"
    (data / "templates").mkdir(parents=True)
    (data / "parts").mkdir()
    (data / "templates" / "bench-idea.toml").write_text(fresh())
    write_rows(data / "parts" / "parts.csv", starter_rows(lambda row: row["number"] in PARTS.values()))
    brief = base / "brief.toml"
    brief.write_text((ROOT / "examples/dosing-pump/brief.toml").read_text().replace('"5 V"', '"4.5 V"', 1))
    result = run("design", brief, "--json", env={**os.environ, "PENNYBRIDGE_DATA": str(data)})
    answer = one_object(result, "design")
    expect(result.returncode == 0, "design finds a driver", result)
    expect([d["template"] for d in answer["designs"]] == ["bench-idea"], "made with the fresh wiring")
    expect(answer["nothing_cheaper"] is True, f"and says so: {answer['undecided']}")
done()
