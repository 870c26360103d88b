# SPDX-FileCopyrightText: 2026 The Pennybridge authors
# SPDX-License-Identifier: Apache-2.0
"""What is built for wider registers leaves no function behind that an older machine could run into."""

import os
import pathlib
import re
import subprocess

from house import require

BUILDS = {"lanes_wide": "4", "lanes_widest": "8"}  # and its Lanes<4>, LaneRun<4>, LaneSystem<4>
CHOSEN = "advance_wide"  # of transient.cpp: the one function that run_to() asks the machine for
WEAK = "WVuw"  # kinds of symbols that another file's may be replaced by


def own(build):
    return tuple(f"{name}ILi{build}E" for name in ("Lanes", "LaneRun", "LaneSystem"))


def strays(listing, build="4"):
    found = []
    for line in listing.splitlines():
        *_, kind, name = line.split()
        # The handler of exceptions is a pointer, not a function.
        if kind in WEAK and not any(o in name for o in own(build)) and "personality" not in name:
            if len(line.split()) == 3:  # with an address: it is defined here
                found.append(name)
    return found


def wide_functions(disassembly):
    """Functions with instructions of the encoding that wider registers came with: vmovsd, vmulpd, ..."""
    found, now = set(), ""
    for line in disassembly.splitlines():
        if head := re.match(r"[0-9a-f]+ <(.+)>:$", line):
            now = head[1]
        elif re.match(r"\s+[0-9a-f]+:\s+v[a-z]", line):
            found.add(now)
    return found


require(wide_functions("00 <f>:\n  0:\tmovsd (%rax),%xmm0\n10 <g>:\n 10:\tvmovsd (%rax),%xmm0") == {"g"}, "a wide function was not told from another")
require(strays("0000 W _ZNSt6vectorIdE6resizeEm") == ["_ZNSt6vectorIdE6resizeEm"], "a stray function was not seen")
require(not strays("0000 W _ZN2pb7physics7BasicLuINS0_5LanesILi4EEEE6factorEv\n U _Znwm\n w __gmon_start__"), "its own were refused")



def read_object(file, *tool):
    objects = list(pathlib.Path(os.environ["PB_BUILD_DIR"]).glob(f"physics/CMakeFiles/pb_physics.dir/{file}.cpp.o"))
    require(len(objects) == 1, f"expected one {file}.cpp.o, found {len(objects)}")
    return subprocess.run([*tool, str(objects[0])], check=True, capture_output=True, text=True).stdout


for file, build in BUILDS.items():
    listing = read_object(file, "nm")
    require(own(build)[0] in listing, f"{file}: the object holds no lanes at all")
    require(not strays(listing, build), f"{file}: functions others could be linked to: {strays(listing, build)}")

wide = wide_functions(read_object("transient", "objdump", "-d", "--no-show-raw-insn"))
require(any(CHOSEN in name for name in wide), f"{CHOSEN} is no wider than the rest")
require(all(CHOSEN in name for name in wide), f"transient: built for wider registers: {wide}")
