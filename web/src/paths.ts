// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Currents in the wires of a schematic: what flows into each terminal is known from a run, and each
// wire shares it out as copper does, by its length; on a tree of wires, which most nets are, that is
// simply what must flow. Drawn behind the schematic, as wide as the current is great.

/** Current into a part at each of its terminals, A; null where it is not known. */
export type Currents = Record<string, (number | null)[]>;

interface Point {
  x: number;
  y: number;
}
interface Edge {
  a: number;
  b: number;
  length: number;
}
/** The wires of a net: points, and stretches between neighbours. */
interface Net {
  points: Point[];
  edges: Edge[];
}

const kNamespace = "http://www.w3.org/2000/svg";
const kNear = 1e-6;
const isSame = (p: Point, q: Point) => Math.abs(p.x - q.x) < kNear && Math.abs(p.y - q.y) < kNear;
const pointsOf = (text: string | null): Point[] =>
  (text ?? "")
    .split(" ")
    .filter(Boolean)
    .map((pair) => {
      const [x, y] = pair.split(",").map(Number);
      return { x, y };
    });

/** Where two stretches of wire, each across or upright, have a point in common. */
function meeting(p: [Point, Point], q: [Point, Point]): Point[] {
  const isOn = (s: [Point, Point], at: Point) =>
    at.x >= Math.min(s[0].x, s[1].x) - kNear && at.x <= Math.max(s[0].x, s[1].x) + kNear && at.y >= Math.min(s[0].y, s[1].y) - kNear && at.y <= Math.max(s[0].y, s[1].y) + kNear;
  const isUpright = (s: [Point, Point]) => isSame({ x: s[0].x, y: 0 }, { x: s[1].x, y: 0 });
  const crossing = isUpright(p) !== isUpright(q) ? [{ x: isUpright(p) ? p[0].x : q[0].x, y: isUpright(p) ? q[0].y : p[0].y }] : [];
  return [...crossing, ...p, ...q].filter((at) => isOn(p, at) && isOn(q, at));
}

/** Cuts lines at every point where another of the net or a terminal touches them. */
function netOf(lines: [Point, Point][], ends: Point[]): Net {
  const points: Point[] = [];
  const edges: Edge[] = [];
  const numberOf = (p: Point) => {
    const k = points.findIndex((q) => isSame(p, q));
    return k >= 0 ? k : points.push(p) - 1;
  };
  for (const line of lines) {
    const cuts = [...line, ...lines.flatMap((other) => (other === line ? [] : meeting(line, other))), ...ends.filter((e) => meeting(line, [e, e]).length > 0)];
    const along = (p: Point) => Math.abs(p.x - line[0].x) + Math.abs(p.y - line[0].y);
    const sorted = [...new Map(cuts.map((p) => [numberOf(p), p]))].sort(([, p], [, q]) => along(p) - along(q));
    for (let k = 1; k < sorted.length; ++k) edges.push({ a: sorted[k - 1][0], b: sorted[k][0], length: along(sorted[k][1]) - along(sorted[k - 1][1]) });
  }
  return { points, edges };
}

/**
 * Potentials that drive `into` (A, by point) through the edges, each of its length in ohms, with the
 * `fixed` points, one a piece at least, at nought. Elimination: nets have some dozens of points.
 */
function solve(net: Net, into: number[], fixed: boolean[]): number[] {
  const n = net.points.length;
  const m = Array.from({ length: n }, (_, k) => Array.from({ length: n + 1 }, (_, j) => (j === n ? into[k] : 0)));
  for (const { a, b, length } of net.edges) {
    const g = 1 / length;
    m[a][a] += g;
    m[b][b] += g;
    m[a][b] -= g;
    m[b][a] -= g;
  }
  for (let k = 0; k < n; ++k) if (fixed[k]) m[k] = m[k].map((_, j) => (j === k ? 1 : 0));
  for (let k = 0; k < n; ++k)
    for (let r = k + 1; r < n; ++r) {
      const f = m[r][k] / m[k][k];
      if (f !== 0) for (let j = k; j <= n; ++j) m[r][j] -= f * m[k][j];
    }
  const v = new Array<number>(n).fill(0);
  for (let k = n - 1; k >= 0; --k) v[k] = (m[k][n] - m[k].reduce((sum, g, j) => (j > k && j < n ? sum + g * v[j] : sum), 0)) / m[k][k];
  return v;
}

/**
 * Where what is over leaves each connected piece of a net: at flags, where the net goes on elsewhere;
 * else at open ends; else at its left end, where a supply line begins.
 */
function exitsOf(net: Net, isFlag: (p: Point) => boolean, isOpen: (p: Point) => boolean): boolean[] {
  const piece = net.points.map((_, k) => k);
  for (let changed = true; changed; ) {
    changed = false;
    for (const { a, b } of net.edges) {
      const low = Math.min(piece[a], piece[b]);
      changed ||= piece[a] !== low || piece[b] !== low;
      piece[a] = piece[b] = low;
    }
  }
  const out = net.points.map(() => false);
  for (const id of new Set(piece)) {
    const own = net.points.map((_, k) => k).filter((k) => piece[k] === id);
    const left = own.reduce((k, j) => (net.points[j].x < net.points[k].x ? j : k));
    const exits = [own.filter((k) => isFlag(net.points[k])), own.filter((k) => isOpen(net.points[k])), [left]].find((list) => list.length > 0) ?? [];
    for (const k of exits) out[k] = true;
  }
  return out;
}

export interface Flow {
  from: Point;
  to: Point;
  current: number; // positive from `from` to `to`
  isWire: boolean;
}

/** Flows of every wire of the drawing and through every part. */
export function flowsOf(svg: Element, currents: Currents): Flow[] {
  const terminals = [...svg.querySelectorAll("[data-ends]")].flatMap((g) => {
    const known = currents[g.getAttribute("data-ref") ?? ""];
    // Of a transistor all but its gate or base is known: what comes to that goes in there.
    const isTransistor = known?.some((x) => x !== null) ?? false;
    return pointsOf(g.getAttribute("data-ends")).map((at, k) => ({ at, current: known?.[k] ?? null, isOpen: isTransistor && known?.[k] === null }));
  });
  const flags = [...svg.querySelectorAll("[data-flag]")].flatMap((g) => pointsOf(g.getAttribute("data-flag")));
  const out: Flow[] = [];
  for (const group of svg.querySelectorAll("[data-net]")) {
    const lines = [...group.querySelectorAll("line")].map((l): [Point, Point] => [
      { x: Number(l.getAttribute("x1")), y: Number(l.getAttribute("y1")) },
      { x: Number(l.getAttribute("x2")), y: Number(l.getAttribute("y2")) },
    ]);
    const net = netOf(lines, [...terminals.map((t) => t.at), ...flags]);
    const into = net.points.map((p) => terminals.reduce((sum, t) => (isSame(p, t.at) ? sum - (t.current ?? 0) : sum), 0));
    const fixed = exitsOf(net, (p) => flags.some((f) => isSame(p, f)), (p) => terminals.some((t) => t.isOpen && isSame(p, t.at)));
    const v = solve(net, into, fixed);
    for (const e of net.edges) out.push({ from: net.points[e.a], to: net.points[e.b], current: (v[e.a] - v[e.b]) / e.length, isWire: true });
  }
  for (const g of svg.querySelectorAll("[data-ends]")) {
    const ends = pointsOf(g.getAttribute("data-ends"));
    const known = (currents[g.getAttribute("data-ref") ?? ""] ?? []).map((x) => x ?? 0);
    const enters = known.indexOf(Math.max(...known));
    const leaves = known.indexOf(Math.min(...known));
    if (enters >= 0 && enters !== leaves && ends[enters] && ends[leaves]) out.push({ from: ends[enters], to: ends[leaves], current: Math.max(...known), isWire: false });
  }
  return out;
}

// Of the greatest current: less is not worth a line.
const kLeast = 0.02;

/** Draws the flows behind the schematic, instead of those before; returns the greatest current. */
export function drawFlows(svg: Element, currents: Currents | null): number {
  svg.querySelector(".flows")?.remove();
  if (!currents) return 0;
  const flows = flowsOf(svg, currents);
  const most = Math.max(...flows.map((f) => Math.abs(f.current)), 0);
  if (most < 1e-9) return 0;
  const layer = document.createElementNS(kNamespace, "g");
  layer.setAttribute("class", "flows");
  for (const f of flows) {
    const share = Math.abs(f.current) / most;
    if (share < kLeast) continue;
    const [from, to] = f.current > 0 ? [f.from, f.to] : [f.to, f.from];
    const line = document.createElementNS(kNamespace, "path");
    line.setAttribute("d", `M${from.x} ${from.y}L${to.x} ${to.y}`);
    line.setAttribute("stroke-width", String(0.3 + 0.9 * share));
    line.setAttribute("class", f.isWire ? "wire" : "through");
    layer.append(line);
    const length = Math.hypot(to.x - from.x, to.y - from.y);
    if (length < 2.5) continue;
    const [ux, uy] = [(to.x - from.x) / length, (to.y - from.y) / length];
    const [cx, cy, size] = [(from.x + to.x) / 2, (from.y + to.y) / 2, 0.55 + 0.5 * share];
    const head = document.createElementNS(kNamespace, "path");
    head.setAttribute("class", "head");
    head.setAttribute("d", `M${cx + ux * size} ${cy + uy * size}L${cx - ux * size - uy * size} ${cy - uy * size + ux * size}L${cx - ux * size + uy * size} ${cy - uy * size - ux * size}z`);
    layer.append(head);
  }
  svg.prepend(layer);
  return most;
}
