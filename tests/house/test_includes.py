# SPDX-FileCopyrightText: 2026 The Pennybridge authors
# SPDX-License-Identifier: Apache-2.0
"""Includes point downward only, and each folder uses only the libraries it may."""

from house import BELOW, BESIDE, CODE, expect_none, expect_planted, files_with, include_findings, require


def planted(path, line):
    return include_findings([(path, line + "\n")], exists=lambda name: "missing" not in name)


expect_planted(planted("physics/a.cpp", '#include "judgement/proof.h"'), "physics may not include judgement")
expect_planted(planted("physics/a.cpp", '#include "files/toml.h"'), "physics may not include files")
expect_planted(planted("model/a.h", '  #  include "physics/a.h"'), "model may not include physics")
expect_planted(planted("files/a.h", '#include "drive/drive.h"'), "files may not include drive")
expect_planted(planted("delivery/a.cpp", '#include "app/cli.h"'), "delivery may not include app")
expect_planted(planted("physics/a.cpp", "#include <toml++/toml.h>"), "<toml++/toml.h>")
expect_planted(planted("physics/sub/a.cpp", "#include <fmt/core.h>"), "<fmt/core.h>")
expect_planted(planted("judgement/a.cpp", "#include <nlohmann/json.hpp>"), "<nlohmann/json.hpp>")
expect_planted(planted("judgement/a.cpp", "#include <thread>"), "<thread>")
expect_planted(planted("physics/a.cpp", "#include <sqlite3.h>"), "<sqlite3.h>")
expect_planted(planted("delivery/a.cpp", "#include <nlohmann/json.hpp>"), "<nlohmann/json.hpp>")
expect_planted(planted("model/a.h", "#include <fstream>"), "<fstream>")
expect_planted(planted("drive/a.c", "#include <vector>"), "<vector>")
expect_planted(planted("app/a.cpp", "#include <format>"), "<format>")
expect_planted(planted("base/a.cpp", '#include "text.h"'), "not written from the root")
expect_planted(planted("base/a.cpp", '#include "base/missing.h"'), "does not exist")
expect_planted(planted("tests/ref/a.cpp", '#include "physics/a.h"'), "tests/ref may not include ours")
for fine in (
    ("judgement/a.cpp", '#include "physics/a.h"\n#include <Eigen/Dense>\n#include <boost/math/special_functions/beta.hpp>'),
    ("delivery/a.cpp", '#include "files/csv.h"\n#include <fmt/core.h>'),
    ("base/a.cpp", "#include <thread>"),
    ("drive/a.c", "#include <stdint.h>"),
    ("tests/unit/a.cpp", '#include "app/cli.h"\n#include <gtest/gtest.h>'),
):
    require(not planted(*fine), f"a lawful include was refused: {planted(*fine)}")

sources = list(files_with(CODE, (*BELOW, *BESIDE)))
require(sources, "no source file was found")
expect_none(sorted(set(include_findings(sources))))
