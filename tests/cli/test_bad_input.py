# SPDX-FileCopyrightText: 2026 The Pennybridge authors
# SPDX-License-Identifier: Apache-2.0
"""Every way of giving the program something it cannot use: the exit code of the contract, a clear
message on standard error, nothing on standard output but the one JSON object where asked for."""

import os
import pathlib
import subprocess
import tempfile

from cli import PROGRAM, designs, done, expect, one_object, run

DESIGN = designs()[0]
TEXT = DESIGN.read_text()

with tempfile.TemporaryDirectory() as name:
    folder = pathlib.Path(name)
    (folder / "dangling").symlink_to(folder / "nothing")
    os.mkfifo(folder / "pipe")
    (folder / "binary").write_bytes(bytes(range(256)))
    (folder / "heading").write_text("[ ~]\n")
    (folder / "letters").write_text("raµte = 1\n")
    (folder / "empty").write_text("")
    (folder / "deep").write_text("a = " + "[" * 5000)
    (folder / "unit").write_text(TEXT.replace('winding_resistance = "28 ohm"', 'winding_resistance = "28 V"'))
    (folder / "key").write_text(TEXT.replace("winding_resistance", "winding_resistence"))
    (folder / "floating").write_text(TEXT.replace('source = "a1"', 'source = "a9"', 1))
    (folder / "class").write_text(TEXT.replace('class = "n-mosfet"', 'class = "x-mosfet"', 1))
    (folder / "steps").write_text(TEXT.replace('steps_per_turn = "48 step"', 'steps_per_turn = "0 step"'))
    (folder / "sequence").write_text(TEXT.replace('sequence = "two-phase"', 'sequence = "quarter"'))
    (folder / "micro").write_text(TEXT.replace('sequence = "two-phase"', 'sequence = "micro"'))
    (folder / "wiring").write_text('format = 1\nwiring = "no-such-wiring"\n')
    before = sorted(p.name for p in folder.iterdir())
    cases = {
        "missing": "no such file", ".": "a folder", "dangling": "not there", "pipe": "not a regular file",
        "binary": "not TOML", "heading": "heading:1:1: not TOML", "letters": "letters:1", "empty": "wiring",
        "deep": "not TOML", "unit": "expected a resistance", "key": "did you mean brief.motor.winding_resistance",
        "floating": "it floats", "class": "n-mosfet", "steps": "steps_per_turn", "sequence": "one of", "micro": "regulation.kind",
        "wiring": "no-such-wiring",
    }
    for verb in ("simulate", "check"):
        for file, message in cases.items():
            what = f"{verb} {file}"
            plain = run(verb, folder / file)
            expect(plain.returncode == 2, f"{what}: exit 2", plain)
            expect(message in plain.stderr, f"{what}: says {message!r}", plain)
            expect(plain.stdout == "", f"{what}: silent on standard output", plain)
            asked = run(verb, folder / file, "--json")
            expect(asked.returncode == 2, f"{what} --json: exit 2", asked)
            problems = one_object(asked, what).get("problems", [])
            expect(problems and all({"file", "line", "column", "key", "expected", "found", "message"} <= set(p)
                                    for p in problems), f"{what}: problems in the JSON", asked)
    expect(sorted(p.name for p in folder.iterdir()) == before, "nothing is left behind")

    for args, message in (
        ((), "see --help"), (("simulat",), "did you mean simulate"), (("parts", "improt"), "did you mean import"),
        (("parts",), "see --help"), (("parts", "import"), "file"), (("simulate",), "design"),
        (("simulate", DESIGN, "--wrong"), "--wrong"), (("simulate", DESIGN, "--set", "supply.voltage"), "KEY=QTY"),
        (("simulate", DESIGN, "--set", "supply.voltag=5 V"), "did you mean supply.voltage?"),
        (("simulate", DESIGN, "--set", "supply.voltage=5 A"), "expected a voltage"),
        (("simulate", DESIGN, "--set", "supply.voltage=nan"), "supply.voltage"),
        (("simulate", DESIGN, "--from", "2 s", "--to", "1 s"), "after --from"),
        (("simulate", DESIGN, "--out", folder), "not made by this program"),
        (("simulate", DESIGN, "--out", folder / "binary"), "not a folder"),
    ):
        result = run(*args)
        expect(result.returncode == 2 and message in result.stderr, f"{args}: exit 2 and {message!r}", result)
        expect(result.stdout == "", f"{args}: silent on standard output", result)

    # A full disk is not the user's input.
    with open("/dev/full", "w") as full:
        status = subprocess.run([PROGRAM, "simulate", str(DESIGN)], stdout=full, stderr=subprocess.DEVNULL).returncode
    expect(status == 3, f"full standard output: exit 3, not {status}")

done()
