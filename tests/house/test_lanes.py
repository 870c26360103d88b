# SPDX-FileCopyrightText: 2026 The Pennybridge authors
# SPDX-License-Identifier: Apache-2.0
"""The file built for wider registers leaves no function behind that an older machine could run into."""

import os
import pathlib
import subprocess

from house import require

OWN = "LanesILi4E"  # mangled Lanes<4>, and LaneRun<4> and LaneSystem<4>
OTHER_OWN = ("LaneRunILi4E", "LaneSystemILi4E")
WEAK = "WVuw"  # kinds of symbols that another file's may be replaced by


def strays(listing):
    found = []
    for line in listing.splitlines():
        *_, kind, name = line.split()
        # The handler of exceptions is a pointer, not a function.
        if kind in WEAK and OWN not in name and not any(o in name for o in OTHER_OWN) and "personality" not in name:
            if len(line.split()) == 3:  # with an address: it is defined here
                found.append(name)
    return found


require(strays("0000 W _ZNSt6vectorIdE6resizeEm") == ["_ZNSt6vectorIdE6resizeEm"], "a stray function was not seen")
require(not strays("0000 W _ZN2pb7physics7BasicLuINS0_5LanesILi4EEEE6factorEv\n U _Znwm\n w __gmon_start__"), "its own were refused")

objects = list(pathlib.Path(os.environ["PB_BUILD_DIR"]).glob("physics/CMakeFiles/pb_physics.dir/lanes_wide.cpp.o"))
require(len(objects) == 1, f"expected one lanes_wide.cpp.o, found {len(objects)}")
listing = subprocess.run(["nm", str(objects[0])], check=True, capture_output=True, text=True).stdout
require(OWN in listing, "the object holds no lanes at all")
require(not strays(listing), f"functions others could be linked to: {strays(listing)}")
