# SPDX-FileCopyrightText: 2026 The Pennybridge authors
# SPDX-License-Identifier: Apache-2.0
"""The store of parts: whole imports or none, nobody's rows lost, every lie in a file named."""

import gzip
import io
import os
import pathlib
import sys
import tempfile

from cli import ROOT, done, expect, interrupted, on_full_disk, one_object, run, starter_rows, write_rows

sys.path.insert(0, str(ROOT / "benchmarks"))
import make_catalogue  # noqa: E402

HEAD = "number,class,package,stock,lifecycle,price_breaks,source,vds_max_V,vgs_max_V,threshold_min_V," \
       "threshold_max_V,rds_gate_V,rds_max_mohm,ciss_pF,coss_pF,crss_pF,tj_max_degC,rth_ja_K_per_W\n"
ROW = "{0},n-mosfet,SOT-23,{2},active,1:{1};1000:{1},{3},30,12,0.6,1.2,2.5,40,500,110,80,150,350\n"


def row(number, price="0.1", stock="100", source="mine"):
    return ROW.format(number, price, stock, source)


def listed(*args):
    return {part["number"]: part for part in one_object(run("parts", "list", "--json", *args), "list").get("parts", [])}


def imports(folder):
    file = folder / "a.csv"
    file.write_text(HEAD + row("x") + row("y"))
    expect(run("parts", "list").returncode == 0, "a list of nothing")
    dry = run("parts", "import", file, "--dry-run", "--json")
    answer = one_object(dry, "dry run")
    expect(dry.returncode == 0 and answer["added"] == 2 and answer["rows"] == 2, "a dry run counts", dry)
    expect(not list(folder.rglob("*.db")), "a dry run makes no store")
    result = run("parts", "import", file)
    expect(result.returncode == 0 and "2 new" in result.stdout, "an import", result)
    expect(set(listed()) == {"x", "y"}, "the list has them")
    expect(pathlib.Path(os.environ["XDG_DATA_HOME"], "pennybridge", "parts.db").is_file(), "the store's place")
    # Again, later: price and stock are news, another's row is kept, one of ours is left alone.
    file.write_text(HEAD + row("x", "0.08", "7") + row("z"))
    answer = one_object(run("parts", "import", file, "--json"), "again")
    expect((answer["added"], answer["changed"], answer["same"]) == (1, 1, 0), f"counts of an update: {answer}")
    parts = listed()
    expect(set(parts) == {"x", "y", "z"} and parts["x"]["stock"] == 7 and parts["x"]["unit_price_1k"] == 0.08,
           f"price and stock are updated: {parts}")
    file.write_text(HEAD + row("y", "0.01", source="a distributor"))
    answer = one_object(run("parts", "import", file, "--json"), "another source")
    expect(answer["kept"] == ["y"] and listed()["y"]["source"] == "mine", "the user's own row is kept")
    run("parts", "import", file, "--replace")
    expect(listed()["y"]["source"] == "a distributor", "unless asked")
    packed = folder / "b.csv.gz"
    packed.write_bytes(gzip.compress((HEAD + row("packed")).encode()))
    expect(run("parts", "import", packed).returncode == 0 and "packed" in listed(), "gzip")
    other = folder / "other.db"
    expect(run("parts", "import", packed, "--store", other).returncode == 0, "a store by name")
    expect(set(listed("--store", other)) == {"packed"}, "which has its own parts")
    expect(set(listed("--class", "npn")) == set(), "one class only")


def lies(folder):
    """Rows and files that are refused, and the place the message points at."""
    good = row("good")
    cases = {
        "negative": (HEAD + good + row("a", "-0.1"), "price_breaks: expected a price above 0"),
        "order": (HEAD + good + row("a").replace("1:0.1;1000:0.1", "1000:0.1;1:0.2"), "expected rising quantities"),
        "zero": (HEAD + good + row("a").replace(",40,500", ",0,500"), "rds_max_mohm: expected 100 uohm to 100 ohm"),
        "threshold": (HEAD + good + row("a").replace("0.6,1.2", "1.6,1.2"), "threshold_min_V: expected at most"),
        "commas": (HEAD + good + row("a,b"), "expected 18 cells, found 19"),
        "quotes": (HEAD + good + row('a"b'), "expected a cell with quotes inside to be quoted"),
        "open": (HEAD + good + row('"a'), "a closing quote"),
        "formula": (HEAD + good + row("=cmd()"), "a formula"),
        "class": (HEAD + good + row("a").replace("n-mosfet", "n-mosfett"), "did you mean n-mosfet?"),
        "encoding": ((HEAD + good).encode() + row("\u00e4").encode("latin-1"), "expected UTF-8 text"),
        "utf16": ((HEAD + good).encode("utf-16"), "UTF-16"),
        "row": (HEAD + good + "," * 1_000_000 + "\n", "expected 18 cells, found 1000001"),
        "head": ("," * 1_000_000 + "\n", "at most 400 columns"),
        "twice": (HEAD + row("a") + row("a", "0.2"), "expected one part a number"),
        "semicolons": (HEAD.replace(",", ";"), "separated by commas"),
        "binary": (bytes(range(256)), "binary:1:"),
        "nothing": ("", "found nothing"),
        "empty": (HEAD, "the catalogue is empty"),
        "gzip": (gzip.compress((HEAD + good).encode())[:-9], "a damaged or incomplete gzip file"),
    }
    before = listed()
    for name, (text, message) in cases.items():
        (folder / name).write_bytes(text if isinstance(text, bytes) else text.encode())
        result = run("parts", "import", folder / name, "--json")
        expect(result.returncode == 2 and message in result.stderr, f"{name}: exit 2 and {message!r}", result)
        expect(one_object(result, name).get("problems"), f"{name}: problems in the JSON", result)
    both = run("parts", "import", folder / "twice").stderr
    expect("twice:2:1:" in both and "twice:3:1:" in both, "both rows of a contradiction are named")
    expect(listed() == before, "nothing of any of them came in")
    # A dry run says what would be left of such a file.
    dry = run("parts", "import", folder / "zero", "--dry-run", "--json")
    answer = one_object(dry, "dry run of a lie")
    expect(dry.returncode == 2 and answer["added"] == 1 and "zero:3:" in dry.stderr, "a dry run tells good from bad", dry)
    # The same row twice is one part, and a row may lack what only a proof needs.
    (folder / "same").write_text(HEAD + row("same") + row("same") + row("poor").replace(",500,110,80", ",,110,80"))
    answer = one_object(run("parts", "import", folder / "same", "--dry-run", "--json"), "same")
    expect(answer["added"] == 2 and "same:3:1" in answer["notes"][0], f"identical rows collapse with a note: {answer}")
    expect(answer["classes"]["n-mosfet"] == {"rows": 2, "incomplete": 1, "missing": {"ciss": 1}},
           f"what is missing per class: {answer['classes']}")


MAPPING = """format = 1
separator = ";"
decimal = ","
[constant]
class = "n-mosfet"
source = "a distributor"
[column.Type]
to = "number"
[column."Vds, Id"]
pattern = "{vds_max} {drain_pulsed} (Tj)"
[column.Vgs]
pattern = "±{vgs_max}"
[column."Rds on"]
pattern = "{rds_max} @ {rds_gate}, {}"
[column."100 pc"]
price_at = 100
"""


def mappings(folder):
    (folder / "map.toml").write_text(MAPPING)
    file = folder / "theirs.csv"
    file.write_text("Type;Vds, Id;Vgs;Rds on;100 pc;Photo\nforeign;20V 3A (Tj);±12 V;45 mOhm @ 4,5 V, 3 A;0,12;x\n")
    result = run("parts", "import", file, "--map", folder / "map.toml")
    expect(result.returncode == 0 and "Photo" in result.stdout, "a foreign catalogue", result)
    expect(listed().get("foreign", {}).get("unit_price_1k") == 0.12, "its price")
    file.write_text("Type;Vds, Id;Vgs;Rds on;100 pc\nforeign;20 A;12;x;0,12\n")
    result = run("parts", "import", file, "--map", folder / "map.toml")
    expect(result.returncode == 2 and result.stderr.count("expected text like") == 3, "cells of no known form", result)
    (folder / "wrong.toml").write_text(MAPPING.replace('"number"', '"numbr"').replace("{drain_pulsed}", "{drain_pulsed"))
    result = run("parts", "import", file, "--map", folder / "wrong.toml")
    expect(result.returncode == 2 and "did you mean number?" in result.stderr and "wrong.toml:7:" in result.stderr
           and "expected a } for each {" in result.stderr, "a mapping that is wrong", result)
    for name, message in (("none.toml", "no such file"), (".", "a folder")):
        result = run("parts", "import", file, "--map", folder / name)
        expect(result.returncode == 2 and message in result.stderr, f"mapping {name}", result)


def faults_of_the_disk(folder):
    file = folder / "a.csv"
    file.write_text(HEAD + "".join(row(f"n{i}") for i in range(500)))
    full = on_full_disk("parts", "import", file, "--store", folder / "new" / "full.db", room=20_000)
    expect(full.returncode == 3, "a full disk: exit 3", full)
    expect([p.name for p in folder.iterdir()] == ["a.csv"], "no half a store is left behind")
    (folder / "text.db").write_text("not a database, and long enough to be looked at as one by the library\n" * 20)
    result = run("parts", "import", file, "--store", folder / "text.db")
    expect(result.returncode == 2, "a store that is none: exit 2", result)
    expect(run("parts", "list", "--store", folder / "none.db").returncode == 2, "a named store must be there")
    before = (folder / "kept.db", run("parts", "import", file, "--store", folder / "kept.db"))[0].read_bytes()
    more = folder / "more.csv"
    more.write_text(HEAD + "".join(row(f"m{i}") for i in range(5000)))
    full = on_full_disk("parts", "import", more, "--store", folder / "kept.db", room=len(before) + 50_000)
    expect(full.returncode == 3 and len(listed("--store", folder / "kept.db")) == 500,
           "a disk that fills up half way leaves the store as it was", full)
    expect(not (folder / "kept.db-journal").exists(), "and nothing beside it")
    nowhere = run("parts", "import", file, "--store", "/proc/nowhere/parts.db")
    expect(nowhere.returncode == 3, "where nothing can be written: exit 3", nowhere)


def used_by_design(folder):
    """Without --parts a design is made of the store's parts and the starter catalogue's."""
    brief = sorted((ROOT / "examples").rglob("brief.toml"))[0]
    bad = folder / "bad.db"
    bad.write_text("no database\n" * 100)
    result = run("design", brief, "--store", bad)
    expect(result.returncode == 2 and "bad.db" in result.stderr, "design reads the store", result)
    result = run("design", brief, "--store", folder / "none.db")
    expect(result.returncode == 2 and "no such store" in result.stderr, "design wants the store it is told of", result)


def large(folder):
    """A catalogue of a distributor's size; the speed is measured in benchmarks/results."""
    text = io.StringIO()
    make_catalogue.catalogue(20_000, 1, text)
    file = folder / "large.csv"
    file.write_text(text.getvalue())
    result = run("parts", "import", file, "--store", folder / "large.db", "--json")
    expect(one_object(result, "large").get("added") == 20_000, "20,000 rows", result)
    # Ctrl-C somewhere on the way: nothing is there of it.
    for delay in (0, 0.3):
        result, waited = interrupted("parts", "import", file, "--store", folder / "stopped.db", "--json", delay=delay)
        expect(result.returncode == 130, f"stopped after {delay} s: exit 130", result)
        expect(waited < 5, f"soon: {waited:.1f} s")
        one_object(result, "stopped import")
        left = sorted(p.name for p in folder.iterdir())
        expect(left == ["large.csv", "large.db"], f"nothing is left behind: {left}")


with tempfile.TemporaryDirectory() as name:
    base = pathlib.Path(name)
    os.environ["XDG_DATA_HOME"] = str(base / "imports" / "data")
    for step in (imports, lies, mappings, faults_of_the_disk, used_by_design, large):
        (base / step.__name__).mkdir()
        step(base / step.__name__)
    write_rows(base / "starter.csv", starter_rows(lambda row: True))
    expect(run("parts", "import", base / "starter.csv", "--dry-run").returncode == 0, "the starter catalogue itself")
done()
