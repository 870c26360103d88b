# SPDX-FileCopyrightText: 2026 The Pennybridge authors
# SPDX-License-Identifier: Apache-2.0
"""simulate: the fields of the contract, books that close, waveforms that agree with the figures."""

import csv
import math
import pathlib
import tempfile

from cli import designs, done, expect, one_object, run

design = designs()[0]
result = run("simulate", design, "--json")
expect(result.returncode == 0, "exit 0", result)
answer = one_object(result, "simulate")
for field in ("input_sha256", "assumed", "window", "winding_a", "winding_b", "supply", "rail", "rotor", "losses",
              "ledger_J", "energy_residual"):
    expect(field in answer, f"field {field}")
ledger = answer["ledger_J"]
open_J = abs(ledger["source"] - ledger["loss"] - ledger["load"] - ledger["stored"])
expect(open_J <= 1e-3 * ledger["throughput"] + 1e-6, f"the books close: {open_J} J are open")
expect(all(a["key"] and "value" in a and "unit" in a for a in answer["assumed"]) and answer["assumed"], "assumed")
rotor = answer["rotor"]
expect(abs((rotor["speed_max_rad_s"] - rotor["speed_min_rad_s"]) / rotor["speed_mean_rad_s"] -
           rotor["speed_ripple"]) < 1e-9, "ripple of the speed")
expect(rotor["steps_commanded"] - rotor["steps_made"] == rotor["steps_lost"], "steps add up")

with tempfile.TemporaryDirectory() as name:
    out = pathlib.Path(name) / "run"
    recorded = run("simulate", design, "--out", out, "--json")
    expect(recorded.returncode == 0, "--out: exit 0", recorded)
    expect({p.name for p in out.iterdir()} >= {"waveforms.csv", "design.toml", "manifest.json"}, "--out: the files")
    rows = list(csv.DictReader((out / "waveforms.csv").open(newline="")))
    head = list(rows[0])
    expect(head[:8] == ["t_s", "winding_a_A", "winding_b_A", "rail_V", "supply_A", "theta_rad", "speed_rad_s",
                        "torque_Nm"], f"columns {head[:8]}")
    times = [float(r["t_s"]) for r in rows]
    expect(times == sorted(times), "time rises")
    # The RMS of the contract, integrated again from the waveform by the trapezium rule.
    window = answer["window"]
    total = 0.0
    for a, b in zip(rows, rows[1:]):
        if window["from_s"] <= float(a["t_s"]) and float(b["t_s"]) <= window["to_s"] + 1e-12:
            total += 0.5 * (float(a["winding_a_A"]) ** 2 + float(b["winding_a_A"]) ** 2) * (
                float(b["t_s"]) - float(a["t_s"]))
    rms = math.sqrt(total / (window["to_s"] - window["from_s"]))
    expect(abs(rms - answer["winding_a"]["rms"]) < 0.01 * rms, f"RMS {rms} against {answer['winding_a']['rms']}")
    peak = max(abs(float(r["winding_a_A"])) for r in rows)
    expect(abs(peak - answer["winding_a"]["peak"]) < 1e-9, "peak is the greatest of the waveform")

    again = run("simulate", out / "design.toml", "--json")
    same = one_object(again, "the written design")
    expect(same.get("winding_a") == answer["winding_a"], "the design written is the design read", again)
    expect(same.get("assumed") == answer["assumed"], "what was assumed stays assumed")

    part = run("simulate", design, "--out", out, "--from", "10 ms", "--to", "20 ms")
    expect(part.returncode == 0, "our own output is replaced", part)
    times = [float(r["t_s"]) for r in csv.DictReader((out / "waveforms.csv").open(newline=""))]
    expect(times and min(times) >= 0.01 and max(times) <= 0.02, "--from and --to")
    expect([p.name for p in pathlib.Path(name).iterdir()] == ["run"], "nothing beside the output is left")

with tempfile.TemporaryDirectory() as name:
    out = pathlib.Path(name) / "run"
    curve = one_object(run("simulate", design, "--torque-curve", "--out", out, "--json"), "--torque-curve")["torque_curve"]
    tried = [p for p in curve["points"] if p["pull_out_Nm"] is not None]
    expect(6 <= len(tried) <= 10, f"{len(tried)} rates with a torque")
    # The design passes with its margin at the worst of every tolerance, so here, at typical values, by far.
    own = next(p for p in tried if p["rate_steps_s"] == curve["rate_steps_s"])
    expect(own["pull_out_Nm"] >= curve["asked_Nm"], "what is asked is carried at the brief's rate")
    expect(0 < tried[-1]["pull_out_Nm"] < tried[0]["pull_out_Nm"], "the motor loses torque with speed")
    expect(any(p["rate_steps_s"] == curve["rate_steps_s"] for p in tried), "the brief's own rate is one of them")
    with (out / "torque.csv").open(newline="") as file:
        table = list(csv.DictReader(file))
    expect([float(r["rate_steps_s"]) for r in table] == [p["rate_steps_s"] for p in curve["points"]], "torque.csv")

changed = one_object(run("simulate", design, "--set", "motor.winding_resistance=56 ohm", "--json"), "--set")
ratio = changed["winding_a"]["rms"] / answer["winding_a"]["rms"]
expect(0.4 < ratio < 0.75, f"twice the resistance, about half the current: {ratio}")
expect(changed["input_sha256"] != answer["input_sha256"], "--set is part of the input's hash")

# An end stop in the way: the move ends there, and the books still close.
stopped = one_object(run("simulate", design, "--set", "load.end_stop=90 deg", "--json"), "an end stop")
expect(stopped["rotor"]["steps_lost"] > 0, "steps are lost at the stop")
expect(stopped["output"]["end_stop_Nm"] > 0 and stopped["output"]["turned_rad"] < math.radians(91), "the stop holds")
expect(stopped["energy_residual"] < 1e-3, "the books close at the stop")
expect(answer["output"]["end_stop_Nm"] == 0, "no stop bears nothing")

helped = run("simulate", "--help")
expect(helped.returncode == 0 and "Example" in helped.stdout, "--help has an example", helped)
listed = run("--help")
for verb in ("simulate", "check"):
    expect(verb in listed.stdout, f"--help lists {verb}", listed)
expect("formats" not in listed.stdout, "--help leaves the page writer out", listed)
done()
