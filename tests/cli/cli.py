# SPDX-FileCopyrightText: 2026 The Pennybridge authors
# SPDX-License-Identifier: Apache-2.0
"""Runs the built program and looks at what a user's script would see."""

import json
import os
import pathlib
import subprocess
import sys

PROGRAM = os.environ["PENNYBRIDGE"]
ROOT = pathlib.Path(os.environ.get("PB_SOURCE_DIR", pathlib.Path(__file__).resolve().parents[2]))

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


def done():
    sys.exit(1 if failures else 0)
