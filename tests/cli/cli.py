# SPDX-FileCopyrightText: 2026 The Pennybridge authors
# SPDX-License-Identifier: Apache-2.0
"""Runs the built program and looks at what a user's script would see."""

import csv
import json
import os
import pathlib
import re
import resource
import shutil
import signal
import subprocess
import sys
import time

PROGRAM = os.environ["PENNYBRIDGE"]
ROOT = pathlib.Path(os.environ.get("PB_SOURCE_DIR", pathlib.Path(__file__).resolve().parents[2]))

# No store of whoever runs the tests.
os.environ["XDG_DATA_HOME"] = "/nowhere"

failures = []


def run(*args, **options):
    options.setdefault("timeout", 120)
    return subprocess.run([PROGRAM, *map(str, args)], capture_output=True, text=True, **options)


def expect(condition, what, result=None):
    if condition:
        return
    failures.append(what)
    print("FAILED", what)
    if result is not None:
        print("  exit", result.returncode, "\n  out", result.stdout[:500], "\n  err", result.stderr[:500])


def one_object(result, what):
    """Standard output as JSON: exactly one object, no NaN."""
    try:
        value = json.loads(result.stdout, parse_constant=lambda c: failures.append(f"{what}: {c}"))
    except json.JSONDecodeError as error:
        expect(False, f"{what}: not one JSON object: {error}", result)
        return {}
    expect(isinstance(value, dict) and value.get("format") == 1 and "version" in value, f"{what}: head", result)
    return value


def designs():
    """Every design among the examples."""
    found = sorted((ROOT / "examples").rglob("design.toml"))
    expect(found, "there is a design among the examples")
    return found


def interrupted(*args, delay):
    """Ctrl-C so long after the program listens for it. Returns the result, and how long it took to obey."""
    work = subprocess.Popen([PROGRAM, *map(str, args)], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    while work.poll() is None:
        status = pathlib.Path(f"/proc/{work.pid}/status").read_text()
        if int(re.search(r"^SigCgt:\s*(\w+)", status, re.M)[1], 16) & 1 << (signal.SIGINT - 1):
            break
        time.sleep(0.005)
    time.sleep(delay)
    expect(work.poll() is None, f"{args[0]} was still at work after {delay} s")
    asked = time.monotonic()
    work.send_signal(signal.SIGINT)
    stdout, stderr = work.communicate(timeout=60)
    result = subprocess.CompletedProcess(args, work.returncode, stdout, stderr)
    return result, time.monotonic() - asked


def on_full_disk(*args, room=2048):
    """As on a disk with `room` bytes left in any file."""

    def limit():
        resource.setrlimit(resource.RLIMIT_FSIZE, (room, room))

    # Python ignores the limit's signal, and so then does the program: writing fails, as on a disk.
    return run(*args, preexec_fn=limit, restore_signals=False)


# One part a class: enough for a driver of a few hundred milliamperes, and quickly searched.
PARTS = ("NFET-30V-55mR-SOT23-a", "PFET-30V-85mR-SOT23-a", "RES-100mW-1pc-0603-a",
         "CER-100nF-50V-0603-a", "ECAP-100uF-25V-CAN6.3-a")


def starter_rows(wanted):
    """The head line of the starter catalogue and the rows that `wanted` takes."""
    with (ROOT / "parts" / "starter.csv").open(newline="", encoding="utf-8") as file:
        head, *rows = csv.reader(file)
    return [head, *(row for row in rows if wanted(dict(zip(head, row))))]


def write_rows(path, rows):
    with path.open("w", newline="", encoding="utf-8") as file:
        csv.writer(file, lineterminator="\n").writerows(rows)
    return path


def small_world(folder):
    """Data for the program in `folder`: the template of most pins that needs both channels and no bipolar part,
    one value a resistor role, one part a class. Returns the template's path."""
    (folder / "templates").mkdir(parents=True)
    (folder / "parts").mkdir()
    write_rows(folder / "parts" / "parts.csv", starter_rows(lambda row: row["number"] in PARTS))

    def fits(text):
        classes = re.findall(r'^class = "(.*)"', text, re.M)
        return {"n-mosfet", "p-mosfet"} <= set(classes) and "npn" not in classes

    texts = [path.read_text() for path in sorted((ROOT / "templates").glob("*.toml"))]
    text = max(filter(fits, texts), key=lambda one: (one.count("[[pin]]"), len(one)))
    text = re.sub(r"^values = \[(.*)\]", lambda m: f"values = [{m[1].split(', ')[-1]}]", text, flags=re.M)
    template = folder / "templates" / "bridge.toml"
    template.write_text(text)
    os.environ["PENNYBRIDGE_DATA"] = str(folder)
    return template


def copy_world(world, folder, template=None):
    """A copy of it, and the environment of a program that works with the copy."""
    shutil.copytree(world, folder)
    if template is not None:
        (folder / "templates" / "bridge.toml").write_text(template)
    return {**os.environ, "PENNYBRIDGE_DATA": str(folder)}


def done():
    sys.exit(1 if failures else 0)
