# SPDX-FileCopyrightText: 2026 The Pennybridge authors
# SPDX-License-Identifier: Apache-2.0
"""Each folder links only what it may, by its CMakeLists.txt and by what is in the archives built."""

import os
import re
import tempfile
from pathlib import Path

from house import BELOW, ROOT, compile_object, expect_none, expect_planted, link_findings, require, symbol_findings, symbols_of

expect_planted(link_findings("physics", "pb_folder(physics pb_model fmt::fmt)"), "physics may not link fmt::fmt")
expect_planted(link_findings("judgement", "pb_folder(judgement pb_physics\n  pb_files)"), "judgement may not link pb_files")
expect_planted(
    link_findings("physics", "pb_folder(physics pb_model)\ntarget_link_libraries(pb_physics PUBLIC Threads::Threads)"),
    "physics may not link Threads::Threads",
)
expect_planted(link_findings("physics", "add_library(pb_physics a.cpp)"), "expected one pb_folder")

with tempfile.TemporaryDirectory() as folder:
    threaded = compile_object("#include <thread>\nvoid f() { std::thread([] {}).join(); }\n", folder)
    expect_planted(symbol_findings("planted", symbols_of(threaded)), "std::thread")
    plain = compile_object("#include <vector>\nint f(std::vector<int>& v) { v.push_back(1); return v[0]; }\n", folder)
    require(not symbol_findings("plain", symbols_of(plain)), "a plain object was refused")
expect_planted(symbol_findings("planted", "                 U sqlite3_open\n"), "sqlite3_open")
expect_planted(symbol_findings("planted", "0000 W fmt::v9::vformat[abi:cxx11](...)\n"), "fmt::")

findings = []
for name in BELOW:
    findings += link_findings(name, (ROOT / name / "CMakeLists.txt").read_text(encoding="utf-8"))
expect_none(findings)

documented = set(re.findall(r"^\| `([^`]+)` \|", (ROOT / "docs/dependencies.md").read_text(encoding="utf-8"), re.M))
lists = re.findall(r"^(?:program|test)_packages=\(([^)]*)\)", (ROOT / "cmake/setup.sh").read_text(encoding="utf-8"), re.M)
packages = {re.sub(r"^(=|[^=:]+:)", "", entry.strip("'")).split("|")[0] for entry in " ".join(lists).split()}
require(len(packages) > 10, f"the package lists were misread: {packages}")
require(packages == documented, f"docs/dependencies.md and cmake/setup.sh differ in {sorted(packages ^ documented)}")

build = Path(os.environ["PB_BUILD_DIR"])
require((build / "build.ninja").is_file(), f"{build} is no build folder")
for name in ("model", "physics", "judgement"):
    has_sources = any((ROOT / name).glob("*.cpp")) or any((ROOT / name).glob("*/*.cpp"))
    archive = build / name / f"libpb_{name}.a"
    if has_sources:
        require(archive.is_file(), f"{archive} was not built")
        expect_none(symbol_findings(archive.name, symbols_of(archive)))
