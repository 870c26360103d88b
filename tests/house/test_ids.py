# SPDX-FileCopyrightText: 2026 The Pennybridge authors
# SPDX-License-Identifier: Apache-2.0
"""Templates and examples are data: no id of one occurs in C++, C or TypeScript."""

from house import BELOW, ROOT, expect_none, expect_planted, files_with, id_findings, require, template_ids

CODE_AND_WEB = (".cpp", ".h", ".c", ".ts", ".tsx")

planted_ids = template_ids("some-bridge", 'format = 1\nid = "some-bridge-b"\n[[role]]\nid = "high"\n')
require(planted_ids == {"some-bridge", "some-bridge-b"}, f"ids misread: {planted_ids}")
expect_planted(id_findings(planted_ids, [("app/a.cpp", 'if (id == "some-bridge") {')]), "app/a.cpp:1")
expect_planted(id_findings(planted_ids, [("web/a.ts", "\nconst some_bridge_b = 1;")]), "web/a.ts:2")
require(not id_findings(planted_ids, [("app/a.cpp", "some-bridges awesome-bridge some_bridge_c")]), "parts of words were taken for ids")

ids = set()
for path, text in files_with((".toml",), ("templates",)):
    ids |= template_ids(path.rsplit("/", 1)[-1].removesuffix(".toml"), text)
if (ROOT / "examples").is_dir():
    ids |= {path.name for path in (ROOT / "examples").iterdir() if path.is_dir()}
expect_none(id_findings(ids, list(files_with(CODE_AND_WEB, (*BELOW, "web")))))
