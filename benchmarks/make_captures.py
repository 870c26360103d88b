#!/usr/bin/env python3
# SPDX-FileCopyrightText: 2026 The Pennybridge authors
# SPDX-License-Identifier: Apache-2.0
"""Makes the bench captures of examples/vent-flap/bench: python3 benchmarks/make_captures.py [FOLDER]
With --long FILE ROWS: the same move in so many rows, to measure the reader with.

Nothing of the engine is used. The motor is the model of P. Acarnley (Stepping Motors, 4th ed., 2002) written anew,
the bridges are resistances, the rail a capacitor behind a resistance that takes no current back; the integrator is
the pair of order 5(4) of J. Dormand and P. Prince (J. Comput. Appl. Math. 6, 1980, 19-26) with error control.
Then come effects the engine does not know: probes of finite bandwidth, a jittering clock, an offset that
drifts, noise, and a converter of eight or twelve bits. Every random number comes from SEED.

TRUTH is what identify must find: not the brief's figures, but within their tolerances.
"""

import math
import pathlib
import random
import sys

SEED = 20260911
FOLDER = pathlib.Path(__file__).resolve().parents[1] / "examples/vent-flap/bench"

TRUTH = {"winding_resistance": 31.4, "winding_inductance": 34.5e-3, "back_emf_constant": 0.438}
TEETH = 50

# Of the board: on-resistances of both switches of a leg pair, the supply's lead, the bulk capacitor.
BRIDGE, SUPPLY, LEAD, BULK = 0.8, 12.0, 0.15, 10e-6
INERTIA, VISCOUS, DETENT, FRICTION, CREEP = 7.5e-6, 1e-5, 12e-3, 30e-3, 0.05
RATE = 150.0
SEQUENCE = ((1, 1), (-1, 1), (-1, -1), (1, -1))

C = (0, 1 / 5, 3 / 10, 4 / 5, 8 / 9, 1, 1)
A = (
    (),
    (1 / 5,),
    (3 / 40, 9 / 40),
    (44 / 45, -56 / 15, 32 / 9),
    (19372 / 6561, -25360 / 2187, 64448 / 6561, -212 / 729),
    (9017 / 3168, -355 / 33, 46732 / 5247, 49 / 176, -5103 / 18656),
    (35 / 384, 0, 500 / 1113, 125 / 192, -2187 / 6784, 11 / 84),
)
B4 = (5179 / 57600, 0, 7571 / 16695, 393 / 640, -92097 / 339200, 187 / 2100, 1 / 40)


def integrate(f, y, times, scales, tolerance=1e-5, longest=1e-4):
    """States at each of the rising `times`, the first of which is where `y` holds."""
    t, h, out = times[0], 1e-6, [list(y)]
    for until in times[1:]:
        while t < until:
            h = min(h, until - t, longest)
            k = []
            for row, c in zip(A, C):
                stage = [v + h * sum(a * s[i] for a, s in zip(row, k)) for i, v in enumerate(y)]
                k.append(f(t + c * h, stage))
            new = [v + h * sum(a * s[i] for a, s in zip(A[6], k)) for i, v in enumerate(y)]
            low = [v + h * sum(b * s[i] for b, s in zip(B4, k)) for i, v in enumerate(y)]
            error = max(abs(a - b) / s for a, b, s in zip(new, low, scales)) / tolerance
            if error <= 1:
                t, y = (until if until - t - h < 1e-15 else t + h), new
            h *= min(4.0, max(0.2, 0.9 * (error + 1e-12) ** -0.2))
        out.append(list(y))
    return out


class Bench:
    """Instruments: each channel through a probe, a converter and a clock of its own."""

    def __init__(self, name):
        self.dice = random.Random(f"{SEED} {name}")

    def clock(self, start, step, count, jitter):
        return [start + k * step for k in range(count)], [start + k * step + self.dice.gauss(0, jitter) for k in range(count)]

    def channel(self, times, values, bandwidth, noise, lsb, drift):
        """One pole, white noise, an offset that creeps from 0 to `drift`, rounding to `lsb`."""
        tau, seen, out = 1 / (2 * math.pi * bandwidth), values[0], []
        for k, value in enumerate(values):
            if k:
                seen += (value - seen) * (1 - math.exp(-(times[k] - times[k - 1]) / tau))
            read = seen + drift * k / len(values) + self.dice.gauss(0, noise)
            out.append(round(read / lsb) * lsb)
        return out


def sampled(f, y, times, scales, longest=1e-4):
    order = sorted(range(len(times)), key=times.__getitem__)
    states = integrate(f, y, [times[k] for k in order], scales, longest=longest)
    out = [None] * len(times)
    for k, state in zip(order, states):
        out[k] = state
    return out


def write(path, head, separator, comma, columns, digits):
    lines = list(head)
    for row in zip(*columns):
        text = separator.join(f"{x:.{d}f}" for x, d in zip(row, digits))
        lines.append(text.replace(".", ",") if comma else text)
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")


def step(path):
    """12 V switched on to one winding, the shaft clamped. Current in mA, decimal commas."""
    bench = Bench("step")
    r, l, lead = TRUTH["winding_resistance"], TRUTH["winding_inductance"], 0.4

    def f(t, y):
        return [((SUPPLY if t >= 0 else 0.0) - (r + lead) * y[0]) / l]

    shown, real = bench.clock(-1.5e-3, 8e-6, 1400, 0.4e-6)
    before = [t for t in real if t < 0]
    after = [0.0] + [t for t in real if t >= 0]
    currents = {t: 0.0 for t in before}
    currents.update(zip(sorted(after), (y[0] for y in sampled(f, [0.0], sorted(after), [0.1]))))
    current = [currents[t] for t in real]
    voltage = [(SUPPLY if t >= 0 else 0.0) - lead * i for t, i in zip(real, current)]
    i = bench.channel(real, current, 60e3, 1.2e-3, 2e-3, 1.5e-3)
    v = bench.channel(real, voltage, 2e6, 10e-3, 50e-3, 0.0)
    write(path, ["Recorder;8 bit;invented", "Zeit (ms);CH1 (V);CH2 (mA)"], ";", True,
          [[1e3 * t for t in shown], v, [1e3 * x for x in i]], (4, 2, 1))


def spin(path):
    """One winding open, the shaft flicked by hand and running down."""
    bench = Bench("spin")
    k = TRUTH["back_emf_constant"]

    def f(t, y):
        speed, angle = y
        drag = VISCOUS * speed + 2.2e-3 * math.tanh(speed / CREEP) + 0.2e-3 * math.sin(4 * TEETH * angle)
        return [-drag / 3.5e-6 * 0.02, speed]

    shown, real = bench.clock(0.0, 50e-6, 2400, 1e-6)
    states = sampled(f, [11.0, 0.3], [min(real)] + real, [1.0, 0.1])[1:]
    emf = [k * w * math.sin(TEETH * th) for w, th in states]
    v = bench.channel(real, emf, 200e3, 8e-3, 5e-3, 10e-3)
    write(path, ["# recorder, 12 bit, invented", "time (s),CH1 (V)"], ",", False, [shown, v], (5, 3))


def move(path, lead_ohm=LEAD, rows=700, winding_ohm=30.0):
    """The first steps of a move: currents of both windings in mA, the rail in V."""
    bench = Bench(path.name)
    r, l, k = winding_ohm, 37e-3, 0.26 / (math.sqrt(2) * 0.4)

    def f(t, y):
        ia, ib, rail, speed, angle = y
        state = SEQUENCE[max(0, math.floor(t * RATE + 1e-9)) % 4 if t >= 0 else 0]
        s, c = math.sin(TEETH * angle), math.cos(TEETH * angle)
        torque = k * (ib * c - ia * s) - DETENT * math.sin(4 * TEETH * angle)
        drag = VISCOUS * speed + FRICTION * math.tanh(speed / CREEP)
        supply = max(0.0, (SUPPLY - rail) / lead_ohm)
        return [
            (state[0] * rail - (r + BRIDGE) * ia + k * speed * s) / l,
            (state[1] * rail - (r + BRIDGE) * ib - k * speed * c) / l,
            (supply - state[0] * ia - state[1] * ib) / BULK,
            (torque - drag) / INERTIA,
            speed,
        ]

    shown, real = bench.clock(-0.02, 0.2e-3, rows, 2e-6)
    i0 = SUPPLY / (r + BRIDGE + 2 * lead_ohm)
    start = [i0, i0, SUPPLY - 2 * i0 * lead_ohm, 0.0, math.pi / 4 / TEETH]
    edges = [n / RATE for n in range(int(real[-1] * RATE) + 1)]  # no step of the integrator spans one
    states = dict(zip(sorted(set(real + edges + [-0.021])), sampled(
        f, start, sorted(set(real + edges + [-0.021])), [0.4, 0.4, 12.0, 10.0, 0.1], longest=2e-5)))
    column = lambda n: [states[t][n] for t in real]
    a = bench.channel(real, column(0), 20e3, 1e-3, 4e-3, 2e-3)
    b = bench.channel(real, column(1), 20e3, 1e-3, 4e-3, -2e-3)
    v = bench.channel(real, column(2), 1e6, 15e-3, 60e-3, 0.0)
    write(path, ["# recorder, 8 bit, invented", "time (ms),CH1 (mA),CH2 (mA),CH3 (V)"], ",", False,
          [[1e3 * t + 31.7 for t in shown], [1e3 * x for x in a], [1e3 * x for x in b], v], (2, 0, 0, 2))


def long_move(path, rows):
    """The same as a recorder with a deep memory writes it: straight between rows of move(), whose noise stays."""
    short = pathlib.Path(path).with_suffix(".short")
    move(short)
    lines = short.read_text(encoding="utf-8").splitlines()
    short.unlink()
    table = [[float(x) for x in line.split(",")] for line in lines[2:]]
    each = -(-rows // (len(table) - 1))
    left = rows
    with open(path, "w", encoding="utf-8") as file:
        file.write("\n".join(lines[:2]) + "\n")
        for (t0, a0, b0, v0), (t1, a1, b1, v1) in zip(table, table[1:]):
            n = min(each, left)
            left -= n
            t, a, b, v = (t1 - t0) / each, (a1 - a0) / each, (b1 - b0) / each, (v1 - v0) / each
            file.write("".join(f"{t0 + k * t:.6f},{a0 + k * a:.1f},{b0 + k * b:.1f},{v0 + k * v:.3f}\n" for k in range(n)))


def make(folder):
    folder = pathlib.Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    step(folder / "step.csv")
    spin(folder / "spin.csv")
    move(folder / "move.csv", LEAD)
    move(folder / "sagging.csv", 4.0)


if __name__ == "__main__":
    if sys.argv[1:2] == ["--long"]:
        long_move(sys.argv[2], int(sys.argv[3]))
    else:
        make(sys.argv[1] if len(sys.argv) > 1 else FOLDER)
