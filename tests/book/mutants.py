# SPDX-FileCopyrightText: 2026 The Pennybridge authors
# SPDX-License-Identifier: Apache-2.0
"""Makes constants of the product wrong by 2 %, one at a time, and runs the validation book on each.

The row named must fail. Only the source files named are compiled anew, with those they are joined with,
against a header or source with the wrong constant put before the real one; the rest is linked as the
build has it. Usage:
mutants.py BUILD_FOLDER. Runs with ./test --all.
"""

import json
import os
import re
import shlex
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]

# File, text, text made wrong, source files to compile anew, row that must fail.
MUTANTS = [
    ("base/math.h", "1.380649e-23", "1.408262e-23", ["tests/book/device_laws.cpp"], "thermal-voltage-25"),
    ("base/math.h", "1.602176634e-19", "1.63422e-19", ["tests/book/device_laws.cpp"], "thermal-voltage-125"),
    ("physics/devices/mosfet.h", "i_spec = 2.0 *", "i_spec = 2.04 *", ["tests/book/device_laws.cpp"], "channel-5-5"),
    ("physics/devices/motor.h", "detent_Nm * 4.0", "detent_Nm * 4.08", ["tests/book/motor_at_rest.cpp"], "detent"),
    ("physics/assembly.cpp", "kAlpha20_1_K = 0.00393", "kAlpha20_1_K = 0.0040086", ["physics/assembly.cpp"], "copper-100"),
    ("physics/heat.h", "{0.3457, 1.0}", "{0.3526, 1.0}", ["tests/book/heat.cpp"], "pulses-1000"),
    ("physics/copper.h", "kOuterTrace = 0.048", "kOuterTrace = 0.04896", ["tests/book/board_and_values.cpp"], "trace-1mm"),
    ("physics/assembly.cpp", "kPinLeak_S = 1e-8", "kPinLeak_S = 1.02e-8", ["physics/assembly.cpp"], "pin-leaks"),
    ("judgement/copper.cpp", "{{28, 1.8}", "{{28, 1.836}", ["judgement/copper.cpp"], "leads-thin"),
    ("physics/duty_heat.h", "kMotor_s = 600.0", "kMotor_s = 612.0", ["judgement/fault_stress.cpp"], "motor-warms"),
    ("judgement/protection.cpp", "{4.0, 3.0}", "{4.0, 3.06}", ["judgement/protection.cpp"], "fuse-4"),
]


def compiled_by(commands):
    """Of each source file, the command that compiles it, by itself or joined with others."""
    found = {}
    for entry in commands:
        joined = re.findall(r'^#include "(.*\.cpp)"$', Path(entry["file"]).read_text(encoding="utf-8"), re.M)
        found.update(dict.fromkeys([entry["file"], *joined], entry))
    return found


def object_of(words):
    return words[words.index("-o") + 1]


def failing_rows(program):
    run = subprocess.run([program, "--gtest_filter=Book.RowsHold"], cwd=ROOT, capture_output=True, text=True, check=False)
    lines = run.stdout.splitlines()
    return run.returncode, [after.split(":")[0] for line, after in zip(lines, lines[1:]) if line == "Expected: true"]


def mutated(build, commands, link, folder, mutant):
    """The program with one wrong constant; its exit code and the rows that fail."""
    file, text, wrong, sources, _ = mutant
    real = (ROOT / file).read_text(encoding="utf-8")
    if real.count(text) != 1:
        sys.exit(f"{file} has {real.count(text)} times {text!r}, not once")
    overlay = Path(folder) / "overlay"
    (overlay / file).parent.mkdir(parents=True, exist_ok=True)
    (overlay / file).write_text(real.replace(text, wrong), encoding="utf-8")
    extra, replaced = [], {}
    for number, source in enumerate(sources):
        entry = commands[str(ROOT / source)]
        words = shlex.split(entry["command"])
        compiled = str(Path(folder) / f"{number}.o")
        replaced[object_of(words)] = compiled
        words[words.index("-o") + 1] = compiled
        if source == file:
            words[words.index("-c") + 1] = str(overlay / file)
            if entry["file"] != str(ROOT / source):
                joined = Path(folder) / "joined.cpp"
                joined.write_text(Path(entry["file"]).read_text(encoding="utf-8").replace(str(ROOT / file), str(overlay / file)), encoding="utf-8")
                words[words.index("-c") + 1] = str(joined)
        first = next(k for k, word in enumerate(words) if word.startswith("-I"))
        subprocess.run([*words[:first], f"-I{overlay}", *words[first:]], cwd=build, check=True)
        extra.append(compiled)
    program = str(Path(folder) / "book")
    words = [replaced.get(word, word) for word in link]
    at = words.index("-o")
    words[at + 1] = program
    # Before the libraries, so that a library's own object is not taken.
    words[at:at] = [o for o in extra if o not in words]
    subprocess.run(words, cwd=build, check=True)
    return failing_rows(program)


def main():
    build = Path(sys.argv[1]).resolve()
    commands = compiled_by(json.loads((build / "compile_commands.json").read_text(encoding="utf-8")))
    all_commands = subprocess.run(["ninja", "-C", str(build), "-t", "commands", "book_tests"], capture_output=True, text=True, check=True)
    link = shlex.split(all_commands.stdout.splitlines()[-1].split("&&")[1])
    code, rows = failing_rows(str(build / "book_tests"))
    if code != 0 or rows:
        sys.exit(f"the book fails as it is: {rows}")
    missed = 0
    for mutant in MUTANTS:
        with tempfile.TemporaryDirectory() as folder:
            code, rows = mutated(build, commands, link, folder, mutant)
        caught = code != 0 and mutant[4] in rows
        missed += not caught
        print(f"{'caught' if caught else 'MISSED'}  {mutant[0]}: {mutant[2]}  by {mutant[4]}; {len(rows)} rows fail", flush=True)
    sys.exit(1 if missed else 0)


if __name__ == "__main__":
    os.environ.setdefault("LC_ALL", "C.UTF-8")
    main()
