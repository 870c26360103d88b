# SPDX-FileCopyrightText: 2026 The Pennybridge authors
# SPDX-License-Identifier: Apache-2.0
"""The rules of the source tree as functions from text to findings.

Each rule takes what it judges as an argument, so that a test can hand it a planted violation as
easily as the real tree. A finding is one line of text; an empty list means the rule holds.
"""

import os
import re
import subprocess
import sys
from pathlib import Path

ROOT = Path(os.environ.get("PB_SOURCE_DIR", Path(__file__).resolve().parents[2]))

# What a folder may include besides itself. The order is the house's, bottom to top.
BELOW = {
    "base": (),
    "model": ("base",),
    "drive": (),
    "files": ("base", "model"),
    "physics": ("base", "model", "drive"),
    "judgement": ("base", "model", "drive", "physics"),
    "delivery": ("base", "model", "drive", "physics", "judgement", "files"),
    "app": ("base", "model", "drive", "physics", "judgement", "files", "delivery"),
}
EVERYTHING = tuple(BELOW)
# tests/ref states the equations a second time, so it may see nothing of ours.
BESIDE = {"tests/ref": (), "tests": EVERYTHING, "benchmarks": EVERYTHING, "fuzz": EVERYTHING}

# Libraries a folder may include, as patterns of the header's name. docs/dependencies.md has the reasons.
LIBRARIES = {
    "base": (),
    "model": (),
    "drive": (),
    "files": (r"toml\+\+/", r"nlohmann/", r"SQLiteCpp/", r"sqlite3\.h", r"fmt/", r"zlib\.h"),
    "physics": (r"Eigen/",),
    "judgement": (r"Eigen/", r"boost/math/", r"ceres/"),
    "delivery": (r"fmt/", r"hpdf\.h"),
    "app": (r"CLI/", r"nlohmann/", r"spdlog/", r"fmt/", r"httplib\.h"),
}
SYSTEM = r"(unistd|fcntl|signal|dirent|poll|pthread|sys/\w+)\.h"  # POSIX
MAY_USE_SYSTEM = ("base", "files", "app")
C99 = r"(assert|errno|float|inttypes|limits|math|stdbool|stddef|stdint|stdlib|string)\.h"

# Standard headers that bring in what a folder must not do: run threads, read files, print.
THREADS = ("thread", "mutex", "shared_mutex", "future", "condition_variable", "semaphore", "latch", "barrier")
FILES_AND_PRINTING = ("filesystem", "fstream", "iostream", "cstdio", "stdio.h", "print")
FORBIDDEN_STANDARD = {
    "base": FILES_AND_PRINTING,
    "model": THREADS + FILES_AND_PRINTING,
    "physics": THREADS + FILES_AND_PRINTING,
    "judgement": THREADS + FILES_AND_PRINTING,
    "delivery": THREADS,
}
NOT_IN_BOTH_COMPILERS = ("format", "print")

CODE = (".cpp", ".h", ".c")
INCLUDE = re.compile(r'^[ \t]*#[ \t]*include[ \t]*([<"])([^>"]+)[>"]', re.M)


def files_with(suffixes, folders, root=ROOT):
    """Every file of these kinds below these folders, as (path from root, text)."""
    for folder in folders:
        for path in sorted((root / folder).rglob("*")):
            if path.suffix in suffixes and path.is_file() and not {"node_modules", "vendor"} & set(path.parts):
                yield path.relative_to(root).as_posix(), path.read_text(encoding="utf-8", errors="replace")


def folder_of(path):
    """The folder of the house, or the one beside it, that a path belongs to."""
    for folder in ("tests/ref", *BELOW, *BESIDE):
        if path.startswith(folder + "/"):
            return folder
    raise ValueError(f"{path} is in no folder of the house")


def _own_include(path, folder, name, exists):
    if folder == "drive" and "/" not in name and exists(f"drive/{name}"):
        return None  # these files are copied into a folder of their own
    target = name.split("/")[0] if "/" in name else None
    if target not in BELOW and target not in ("tests", "benchmarks", "fuzz"):
        return f'{path}: "{name}" is not written from the root of the repository'
    if not exists(name):
        return f'{path}: "{name}" does not exist'
    if folder in BELOW:
        allowed = (folder, *BELOW[folder])
        return None if target in allowed else f'{path}: {folder} may not include {target}: "{name}"'
    if folder == "tests/ref":
        return None if name.startswith("tests/ref/") else f'{path}: tests/ref may not include ours: "{name}"'
    return None


def _library_include(path, folder, name):
    if folder not in BELOW:
        return None
    if re.fullmatch(r"[a-z_0-9]+", name) or re.fullmatch(C99, name) or name == "stdio.h":  # standard
        if folder == "drive" and not re.fullmatch(C99, name):
            return f"{path}: drive is C99 for any firmware: <{name}>"
        if name in FORBIDDEN_STANDARD.get(folder, ()) or name in NOT_IN_BOTH_COMPILERS:
            return f"{path}: {folder} may not include <{name}>"
        return None
    if folder in MAY_USE_SYSTEM and re.fullmatch(SYSTEM, name):
        return None
    if any(re.match(pattern, name) for pattern in LIBRARIES[folder]):
        return None
    return f"{path}: {folder} may not include <{name}>"


def include_findings(sources, exists=lambda name: (ROOT / name).is_file()):
    """Upward edges, includes not written from the root, and libraries a folder may not use."""
    findings = []
    for path, text in sources:
        folder = folder_of(path)
        for quote, name in INCLUDE.findall(text):
            found = _own_include(path, folder, name, exists) if quote == '"' else _library_include(path, folder, name)
            if found:
                findings.append(found)
    return findings


# The links each folder's CMakeLists.txt may state, beyond what those bring along.
LINKS = {
    "base": {"Threads::Threads"},
    "model": {"pb_base"},
    "drive": set(),
    "files": {"pb_model", "tomlplusplus::tomlplusplus", "nlohmann_json::nlohmann_json", "SQLiteCpp", "fmt::fmt", "ZLIB::ZLIB"},
    "physics": {"pb_base", "pb_model", "pb_drive", "Eigen3::Eigen"},
    "judgement": {"pb_physics", "Boost::headers", "Ceres::ceres"},
    "delivery": {"pb_judgement", "pb_files", "fmt::fmt", "hpdf"},
    "app": {"pb_delivery", "pb_files", "CLI11::CLI11", "nlohmann_json::nlohmann_json", "spdlog::spdlog", "fmt::fmt", "PkgConfig::httplib"},
}


def link_findings(folder, cmake_text):
    """Links a folder's CMakeLists.txt states that the folder may not have."""
    text = re.sub(r"#[^\n]*", "", cmake_text)
    stated = re.findall(r"pb_folder\(\s*" + folder + r"\b([^)]*)\)", text)
    if len(stated) != 1:
        return [f"{folder}/CMakeLists.txt: expected one pb_folder({folder} ...), found {len(stated)}"]
    linked = stated[0].split()
    for more in re.findall(r"target_link_libraries\(\s*pb_" + folder + r"\b([^)]*)\)", text):
        linked += [word for word in more.split() if word not in ("PUBLIC", "PRIVATE", "INTERFACE")]
    return [f"{folder}/CMakeLists.txt: {folder} may not link {name}" for name in linked if name not in LINKS[folder]]


FOREIGN_SYMBOLS = re.compile(
    r"\b(?:toml|nlohmann|fmt|SQLite|spdlog|CLI|httplib)::|\bsqlite3_|\bpthread_create\b|\bstd::thread::|\bstd::filesystem::"
)


def symbol_findings(archive, symbols):
    """Names of libraries that must not occur in an archive at all, used or defined (`nm -C` output)."""
    return [f"{archive}: {line.strip()}" for line in symbols.splitlines() if FOREIGN_SYMBOLS.search(line)]


def symbols_of(path):
    return subprocess.run(["nm", "-C", str(path)], check=True, capture_output=True, text=True).stdout


def id_findings(ids, sources):
    """Ids of templates or examples occurring in code, as written or as an identifier."""
    findings = []
    for name in sorted(ids):
        forms = {re.escape(name), re.escape(name.replace("-", "_"))}
        words = re.compile(r"(?<![\w-])(?:" + "|".join(sorted(forms)) + r")(?![\w-])")
        for path, text in sources:
            for number, line in enumerate(text.splitlines(), 1):
                if words.search(line):
                    findings.append(f"{path}:{number}: knows the template or example '{name}'")
    return findings


def template_ids(path_stem, text):
    """The ids one template file goes by: its file name, and its `id` ahead of the first table."""
    ids = {path_stem}
    for line in text.splitlines():
        if line.lstrip().startswith("["):
            break
        stated = re.match(r"""\s*id\s*=\s*["']([^"']+)["']""", line)
        if stated:
            ids.add(stated.group(1))
    return ids


SPDX = ("SPDX-FileCopyrightText: 2026 The Pennybridge authors", "SPDX-License-Identifier: Apache-2.0")
# Words that have no business in a finished tree: unfinished work, and where or how it was made.
UNWANTED = re.compile(r"\b(?:TO" + r"DO|FIX" + r"ME|XX" + r"X)\b|/wo" + r"rk/|\b[Ii]ssue #?\d|-ffast-" + r"math\b|\btran" + r"script\b")
# A comment that says why the flag is not used does not use it.
ALLOWED = re.compile(r"^\s*(?:#|//).*-ffast-" + r"math")


def text_findings(sources):
    """Files without the two licence lines, and words of unfinished work."""
    findings = []
    for path, text in sources:
        head = text.splitlines()[:4]
        if not all(any(mark in line for line in head) for mark in SPDX):
            findings.append(f"{path}: does not start with the two SPDX lines")
        for number, line in enumerate(text.splitlines(), 1):
            if UNWANTED.search(line) and not ALLOWED.search(line):
                findings.append(f"{path}:{number}: {line.strip()}")
    return findings


def compile_object(source, folder):
    """Compiles a few lines of C++ into an object file in `folder` and returns its path."""
    path = Path(folder) / "planted.cpp"
    path.write_text(source, encoding="utf-8")
    out = path.with_suffix(".o")
    subprocess.run(["c++", "-std=c++23", "-c", str(path), "-o", str(out)], check=True)
    return out


def require(condition, message):
    if not condition:
        sys.exit(f"FAILED: {message}")


def expect_none(findings):
    require(not findings, "\n".join(["the tree breaks the rule:", *findings]))


def expect_planted(findings, part):
    require(any(part in finding for finding in findings), f"a planted violation went unnoticed: {part}; found {findings}")
