# SPDX-FileCopyrightText: 2026 The Pennybridge authors
# SPDX-License-Identifier: Apache-2.0
"""handoff: what it writes is read back by readers that share nothing with the program; the drive code
is compiled from the folder by the host's compiler and two bare-metal ones, run, and held against the
proof's pin changes tick for tick; time zone, locale, umask, day and place change no byte.

The only file that names the bare-metal compilers' commands, besides the list of packages."""

import csv
import hashlib
import json
import math
import os
import pathlib
import re
import shutil
import subprocess
import tempfile
import tomllib
import xml.etree.ElementTree
import zipfile

from cli import PROGRAM, ROOT, designs, done, expect, one_object, run

STRICT = ["-std=c99", "-ffreestanding", "-Wall", "-Wextra", "-Wpedantic", "-Wconversion", "-Werror"]
CROSS = {
    "8-bit": (["avr-gcc", "-mmcu=avr5"], "avr-size"),
    "32-bit": (["arm-none-eabi-gcc", "-mcpu=cortex-m0", "-mthumb"], "arm-none-eabi-size"),
}
# What the firmware's author writes: two functions and a clock.
HARNESS = r"""
#include <stdio.h>
#include <stdlib.h>
#include "pb_table.h"
static long long now;
static uint32_t timer;
static void write_pin(void *context, uint8_t pin, uint8_t level) {
  (void)context;
  printf("%lld,%d,%c\n", now, pin, "01z"[level]);
}
static void set_timer(void *context, uint32_t ticks) { (void)context; timer = ticks; }
static void set_reference(void *context, uint8_t winding, uint16_t level) {
  (void)context; (void)winding; (void)level;
}
int main(int argc, char **argv) {
  static pb_drive motor;
  const pb_port port = {write_pin, set_timer, 0, set_reference};
  if (argc != 3) return 2;
  const long long last = atoll(argv[2]); /* a chopped hold goes on for ever */
  now = -(long long)pb_design.wake_ticks;
  pb_drive_init(&motor, &pb_design, &port);
  if (!pb_drive_move(&motor, atoi(argv[1]))) return 1;
  while (timer != 0 && now + timer <= last) {
    now += timer;
    timer = 0;
    pb_drive_timer(&motor);
  }
  return 0;
}
"""


def contents(folder):
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}


def foreign_locale(folder):
    """A locale with decimal commas of our own making: the machine need not have one installed."""
    made = subprocess.run(["localedef", "-i", "de_DE", "-f", "UTF-8", folder / "de_DE.UTF-8"], capture_output=True, text=True)
    env = {"LC_ALL": "de_DE.UTF-8", "LANG": "de_DE.UTF-8", "LOCPATH": str(folder)}
    asked = subprocess.run(["locale", "decimal_point"], capture_output=True, text=True, env=dict(os.environ, **env))
    expect(asked.stdout.strip() == ",", "a locale with a decimal comma", made)
    return env


def elsewhere(design, place):
    """The same handoff under everything that must not matter."""
    env = dict(os.environ, TZ="Pacific/Kiritimati", HOME=str(place.parent), **foreign_locale(place.parent))
    command = [PROGRAM, "handoff", str(design), "--alternatives", "1", "--out", str(place)]
    if shutil.which("faketime"):
        command = ["faketime", "-f", "+411d", *command]
    else:
        expect(False, "faketime is not installed")
    old = os.umask(0o077)
    try:
        return subprocess.run(command, capture_output=True, text=True, env=env, cwd=place.parent, timeout=300)
    finally:
        os.umask(old)


def check_manifest(files, what):
    manifest = json.loads(files["manifest.json"])
    listed = {f["name"]: f["sha256"] for f in manifest["files"]}
    expect(set(listed) == set(files) - {"manifest.json"}, f"{what}: the manifest lists every file")
    for name, sha in listed.items():
        expect(hashlib.sha256(files[name]).hexdigest() == sha, f"{what}: hash of {name}")
    expect(manifest["version"], f"{what}: version")


def check_zip(files):
    with tempfile.TemporaryDirectory() as name:
        path = pathlib.Path(name) / "handoff.zip"
        path.write_bytes(files["handoff.zip"])
        with zipfile.ZipFile(path) as archive:
            expect(archive.testzip() is None, "the ZIP file is sound")
            inside = {i.filename: archive.read(i) for i in archive.infolist()}
            expect({i.date_time for i in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}, "no date in the ZIP file")
    check_manifest(inside, "ZIP file")
    for name, data in inside.items():
        if name != "manifest.json":
            expect(files[name] == data, f"{name} in the ZIP file is that of the folder")
    expect(set(inside) == set(files) - {"handoff.zip"}, "the ZIP file has everything")


def expressions(text):
    """An S-expression as nested lists; strings keep their quotes."""
    stack = [[]]
    for token in re.findall(r'\(|\)|"[^"]*"|[^\s()"]+', text):
        if token == "(":
            stack.append([])
        elif token == ")":
            inner = stack.pop()
            stack[-1].append(inner)
        else:
            stack[-1].append(token)
    expect(len(stack) == 1 and len(stack[0]) == 1, "EDIF: parentheses balance")
    return stack[0][0]


def children(node, keyword):
    return [n for n in node if isinstance(n, list) and n and n[0].lower() == keyword.lower()]


def decoded(text):
    return re.sub(r"%(\d+)%", lambda m: chr(int(m.group(1))), text.strip('"'))


def name_of(node):
    """(identifier, name as it was) of a definition."""
    name = node[1]
    return (name, name) if isinstance(name, str) else (name[1], decoded(name[2]))


def wanted_nets(design):
    """net -> set of (ref, terminal) from the design file itself."""
    nets = {}
    for place in design["wiring"]["place"]:
        if place["role"] in design["part"]:
            for terminal, net in place["nodes"].items():
                nets.setdefault(net, set()).add((place["ref"], terminal))
    return nets


def check_netlists(files, design):
    want = wanted_nets(design)
    table = {}
    outside = {}
    for row in csv.DictReader(files["netlist.csv"].decode().splitlines()):
        (table if row["ref"] else outside).setdefault(row["net"], set()).add((row["ref"], row["terminal"]))
    expect(table == want, "netlist.csv has the nets of the design")
    pins = {("", f"pin {p['name']}") for p in design["wiring"]["pin"]}
    expect(pins <= set().union(*outside.values()), "netlist.csv names the controller's pins")

    edif = expressions(files["netlist.edif"].decode("ascii"))
    expect(edif[0] == "edif" and children(edif, "edifVersion")[0][1:] == ["2", "0", "0"], "EDIF 2 0 0")
    expect(children(edif, "edifLevel") == [["edifLevel", "0"]], "EDIF level 0")
    cells = {name_of(c)[0]: c for c in children(children(edif, "library")[0], "cell")}
    ports = {}
    for name, cell in cells.items():
        view = children(cell, "view")[0]
        expect(children(view, "viewType") == [["viewType", "NETLIST"]], f"EDIF: view type of {name}")
        ports[name] = {name_of(p)[0] for p in children(children(view, "interface")[0], "port")}
    contents_of = children(children(cells["board"], "view")[0], "contents")[0]
    refs = {}
    for instance in children(contents_of, "instance"):
        refs[name_of(instance)[0]] = (name_of(instance)[1], children(children(instance, "viewRef")[0], "cellRef")[0][1])
    got = {}
    for net in children(contents_of, "net"):
        ends = got.setdefault(name_of(net)[1], set())
        for port in children(children(net, "joined")[0], "portRef"):
            inst = children(port, "instanceRef")
            expect(port[1] in ports[refs[inst[0][1]][1] if inst else "board"], f"EDIF: port {port[1]} exists")
            if inst:
                ends.add((refs[inst[0][1]][0], port[1]))
    expect(got == want, "netlist.edif has the nets of the design")
    expect(children(edif, "design")[0][1:] == ["board", ["cellRef", "board", ["libraryRef", "parts"]]], "EDIF: design")


def check_words(folder):
    """Every word where the reader's own fonts put it: none over another, all on the page."""
    read = subprocess.run(["pdftotext", "-bbox", folder / "schematic.pdf", "-"], capture_output=True, text=True, check=True)
    page = re.search(r'<page width="([\d.]+)" height="([\d.]+)"', read.stdout)
    words = [(w[4], *map(float, w[:4])) for w in re.findall(r'<word xMin="([\d.-]+)" yMin="([\d.-]+)" xMax="([\d.-]+)" yMax="([\d.-]+)">(.*)</word>', read.stdout)]
    expect(len(words) > 30, f"words of schematic.pdf: {len(words)}")
    for i, (text, left, top, right, bottom) in enumerate(words):
        expect(0 <= left and right <= float(page[1]) and 0 <= top and bottom <= float(page[2]), f"{text} is on the page")
        for other, l, t, r, b in words[:i]:
            # A line's box reaches into its neighbour's by the font's own leading.
            slack = 0.25 * min(bottom - top, b - t)
            expect(not (left < r - 0.5 and l < right - 0.5 and top < b - slack and t < bottom - slack), f"{text} over {other}")


def check_drawings(files, design, folder):
    refs = [p["ref"] for p in design["wiring"]["place"] if p["role"] in design["part"]]
    svg = xml.etree.ElementTree.fromstring(files["schematic.svg"])
    expect(svg.tag == "{http://www.w3.org/2000/svg}svg", "schematic.svg stands alone")
    drawn = [t.text for t in svg.iter("{http://www.w3.org/2000/svg}text")]
    expect(all(drawn.count(r) == 1 for r in refs), "every part once in schematic.svg")
    read = subprocess.run(["pdftotext", "-layout", folder / "schematic.pdf", "-"], capture_output=True, text=True)
    expect(read.returncode == 0 and not read.stderr, "schematic.pdf is read without a complaint", read)
    words = re.findall(r"[A-Z]+\d+", read.stdout)
    missing = [r for r in refs if r not in words]
    expect(not missing, f"every part in schematic.pdf; missing {missing}")
    check_words(folder)
    expect(b"CreationDate" not in files["schematic.pdf"], "no date in schematic.pdf")


def check_bom(files, design):
    placed = sorted(p["ref"] for p in design["wiring"]["place"] if p["role"] in design["part"])
    listed = sorted(r for row in csv.DictReader(files["bom.csv"].decode().splitlines()) for r in row["refs"].split())
    expect(placed == listed, "bom.csv has every part")


def rows_of(files, name):
    return list(csv.DictReader(files[name].decode().splitlines()))


def check_copper(files, design):
    """Widths by the formula anew, wires by the gauge's own, the sketch without overlap."""
    foil, rise = 35e-6, 10.0  # the brief's defaults
    nets = rows_of(files, "copper.csv")
    placed = {n for p in design["wiring"]["place"] if p["role"] in design["part"] for n in p["nodes"].values()}
    expect({r["net"] for r in nets} >= placed, "copper.csv has every net")
    for r in nets:
        mil2 = (float(r["rms_A"]) / (0.048 * rise**0.44)) ** (1 / 0.725)
        width = mil2 * 0.0254**2 / (foil * 1e3)
        expect(abs(width - float(r["outer_width_mm"])) <= 1e-3 * width + 1e-6, f"IPC-2221 width of {r['net']}: {width}")
        expect(float(r["draw_mm"]) >= max(width, 0.2) * 0.999, f"width to draw of {r['net']}")
    for r in rows_of(files, "copper_leads.csv"):
        d = 0.127 * 92 ** ((36 - int(r["awg"])) / 39)
        cold = 1 / 58 / (math.pi / 4 * d * d)
        expect(cold <= float(r["ohm_per_m"]) <= 1.5 * cold, f"resistance of {r['lead']}: {cold}")
        expect(float(r["rms_A"]) <= float(r["may_carry_A"]), f"{r['lead']} may carry it")
    svg = xml.etree.ElementTree.fromstring(files["placement.svg"])
    boxes = [tuple(float(b.get(k)) for k in ("x", "y", "width", "height")) for b in svg.iter("{http://www.w3.org/2000/svg}rect")][1:]
    parts = sum(p["role"] in design["part"] for p in design["wiring"]["place"])
    expect(len(boxes) == parts + 3, f"every part and three connectors in placement.svg: {len(boxes)}")
    for i, (x, y, w, h) in enumerate(boxes):
        for u, v, s, t in boxes[:i]:
            expect(not (x < u + s and u < x + w and y < v + t and v < y + h), "two courtyards overlap")
    # What it shows is named in the sketch once.
    names = [t.text for t in svg.iter("{http://www.w3.org/2000/svg}text")]
    expect(len(names) == len(set(names)) == parts + 3, "every box has its name")


def check_bench(files, answer):
    plan = rows_of(files, "bench_plan.csv")
    expect(len({r["step"] for r in plan}) >= 8, "the steps of the bench plan")
    for r in plan:
        low, expected, high = float(r["low"]), float(r["expected"]), float(r["high"])
        expect(low <= expected <= high and float(r["range"]) >= abs(high) * 0.999, f"band and range: {r}")
    limits = rows_of(files, "production_test.csv")
    for r in limits:
        expect(float(r["limit_low"]) <= float(r["good_low"]) <= float(r["good_high"]) <= float(r["limit_high"]), f"guard band: {r}")
    faults = rows_of(files, "production_faults.csv")
    seen = [f for f in faults if f["detected_by"] not in ("latent", "no answer")]
    expect(len(faults) > 50 and len(seen) == answer["production"]["detected"] > len(faults) / 3, f"faults are detected: {len(seen)} of {len(faults)}")
    for f in seen:
        value = float(f["value"])
        expect(value < float(f["limit_low"]) or value > float(f["limit_high"]), f"beyond its limit: {f}")
    for page in ("bench_plan.html", "production_test.html", "copper.html", "assembly.html"):
        expect(files[page].decode().rstrip().endswith("</html>"), f"{page} is whole")
    tried = [r for r in rows_of(files, "bom_alternatives.csv") if r["replaces"]]
    expect(len(tried) == answer["alternatives"]["tried"] == 1, "one second source was tried")
    named = " ".join(r["alternatives"] for r in rows_of(files, "bom.csv")).split()
    for r in tried:
        expect((r["passes"] == "yes") == (r["number"].lstrip("'") in named), f"alternatives of bom.csv: {r}")


def check_size(drive, work, what, compiler, size):
    """Code, and the memory of one motor, are no more than docs/drive.md says."""
    said = re.search(rf"^\| {what} \| (\d+) \| (\d+) \|", (ROOT / "docs/drive.md").read_text(encoding="utf-8"), re.M)
    (work / "motor.c").write_text('#include "pb_drive.h"\nchar motor[sizeof(pb_drive)] = {1};\n', encoding="utf-8")
    code = memory = 0
    for source in (*sorted(drive.glob("*.c")), work / "motor.c"):
        out = work / "sized.o"
        subprocess.run([*compiler, *STRICT, "-Os", "-I", drive, "-c", source, "-o", out], check=True)
        text, data = map(int, subprocess.run([size, out], capture_output=True, text=True, check=True).stdout.splitlines()[1].split()[:2])
        code, memory = code + text, memory + data
    print(f"{what}: {code} bytes of code and constants, {memory} of memory for one motor")
    expect(0.8 * int(said[1]) <= code <= int(said[1]), f"docs/drive.md on the code for {what}: {code}")
    expect(0.9 * int(said[2]) <= memory <= int(said[2]), f"docs/drive.md on the memory for {what}: {memory}")


def check_drive(folder, states):
    drive = folder / "drive"
    with tempfile.TemporaryDirectory() as name:
        work = pathlib.Path(name)
        objects = []
        for source in sorted(drive.glob("*.c")):
            objects.append(work / (source.stem + ".o"))
            built = subprocess.run(["cc", *STRICT, "-O2", "-c", source, "-o", objects[-1]], capture_output=True, text=True)
            expect(built.returncode == 0 and not built.stderr, f"{source.name}: the host's compiler has no complaint", built)
        (work / "main.c").write_text(HARNESS, encoding="utf-8")
        subprocess.run(["cc", "-std=c99", "-I", drive, work / "main.c", *objects, "-o", work / "main"], check=True)
        proof = [(r["tick"], r["pin"], r["level"]) for r in csv.DictReader((drive / "pin_writes.csv").open(newline=""))]
        ran = subprocess.run([work / "main", str(states), proof[-1][0]], capture_output=True, text=True, timeout=60)
        expect(ran.returncode == 0, "the firmware runs", ran)
        got = [tuple(line.split(",")) for line in ran.stdout.splitlines()]
        expect(len(proof) > states and got == proof, "the compiled drive code writes what the proof ran, tick for tick")
        for what, (compiler, size) in CROSS.items():
            expect(shutil.which(compiler[0]), f"the {what} compiler is installed")
            check_size(drive, work, what, compiler, size)
            for source in sorted(drive.glob("*.c")):
                out = work / f"{what}-{source.stem}.o"
                built = subprocess.run([*compiler, *STRICT, "-Os", "-c", source, "-o", out], capture_output=True, text=True)
                expect(built.returncode == 0 and not built.stderr, f"{source.name}: no complaint from the {what} compiler", built)
                sizes = subprocess.run([size, out], capture_output=True, text=True, check=True).stdout.splitlines()[1].split()
                print(f"{what} {source.name}: {sizes[0]} bytes of code and constants, {sizes[1]} of data, {sizes[2]} of zeros")
                expect(int(sizes[1]) + int(sizes[2]) <= 200, f"{source.name}: next to no RAM on {what}")
                used = subprocess.run([size.replace("size", "nm"), "-u", out], capture_output=True, text=True, check=True).stdout
                library = [s for s in used.split() if re.search(r"alloc|free$|float|[sd]f[0-9]?$|double", s)]
                expect(not library, f"{source.name} on {what}: no heap, no floating point: {library}")


with tempfile.TemporaryDirectory() as name:
    place = pathlib.Path(name)
    made = run("design", ROOT / "examples/dosing-pump/brief.toml", "--top", "1", "--out", place / "found", timeout=300)
    expect(made.returncode == 0, "there is a design that passes", made)
    design_file = place / "found/design-1.toml"
    first = run("handoff", design_file, "--alternatives", "1", "--out", place / "out", "--json", timeout=300)
    expect(first.returncode == 0, "exit 0", first)
    answer = one_object(first, "handoff")
    files = contents(place / "out")
    expect(answer.get("passes") is True and {f["name"] for f in answer["files"]} == set(files) - {"manifest.json"}, "JSON: the files")
    expect({"report.html", "verdict.json", "design.toml", "bom.csv", "drive/pb_drive.c", "drive/pb_table.c"} <= set(files), "the files")
    design = tomllib.loads(files["design.toml"].decode())
    check_manifest(files, "folder")
    check_zip(files)
    check_netlists(files, design)
    check_drawings(files, design, place / "out")
    check_bom(files, design)
    check_copper(files, design)
    check_bench(files, answer)
    check_drive(place / "out", answer["drive"]["states"])
    expect(json.loads(files["verdict.json"])["passes"] is True, "verdict.json")

    other = place / "other place"
    other.mkdir()
    second = elsewhere(design_file, other / "x")
    expect(second.returncode == 0, "exit 0 elsewhere", second)
    again = contents(other / "x")
    differ = [n for n in files if files[n] != again.get(n)]
    expect(set(files) == set(again) and not differ, f"the same bytes elsewhere; different: {differ}")

    refused = run("handoff", designs()[0], "--out", place / "trap", "--json", timeout=300)
    trap = one_object(refused, "a design that does not pass")
    expect(refused.returncode == 1 and trap.get("passes") is False, "a design that does not pass: exit 1", refused)
    expect(not (place / "trap").exists(), "nothing is written of a design that does not pass")
    (place / "taken").mkdir()
    (place / "taken/mine.txt").write_text("mine")
    taken = run("handoff", design_file, "--out", place / "taken")
    expect(taken.returncode == 2 and (place / "taken/mine.txt").read_text() == "mine", "a taken place: exit 2", taken)
    expect(not [p for p in place.iterdir() if p.name.startswith(".")], "nothing is left lying about")
done()
