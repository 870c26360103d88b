# SPDX-FileCopyrightText: 2026 The Pennybridge authors
# SPDX-License-Identifier: Apache-2.0
"""Every file of code states its licence, and none carries words of unfinished work."""

from house import BELOW, BESIDE, ROOT, SPDX, expect_none, expect_planted, files_with, require, text_findings

head = "".join(f"// {mark}\n" for mark in SPDX)
expect_planted(text_findings([("a.cpp", "int x;\n")]), "two SPDX lines")
expect_planted(text_findings([("a.cpp", head + "// TO" + "DO: later\n")]), "a.cpp:3")
expect_planted(text_findings([("CMakeLists.txt", head + "add_compile_options(-ffast-" + "math)\n")]), "CMakeLists.txt:3")
require(not text_findings([("a.cpp", head + "int x;\n")]), "a lawful file was refused")

kinds = (".cpp", ".h", ".c", ".py", ".sh", ".ts", ".tsx", ".cmake")
sources = list(files_with(kinds, (*BELOW, *[f for f in BESIDE if "/" not in f], "cmake", "web")))
for name in ("run", "test", ".ci/run", "CMakeLists.txt", *(f"{folder}/CMakeLists.txt" for folder in BELOW)):
    sources.append((name, (ROOT / name).read_text(encoding="utf-8")))
expect_none(text_findings(sources))
