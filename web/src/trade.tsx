// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Landed cost against something else that matters, one point a design; designs that no other beats in
// both are joined.
import { useState } from "preact/hooks";
import type { ParetoPoint, RankedDesign, SearchAnswer } from "./api";
import { Wide } from "./bits";
import { money, percent, quantity, words } from "./format";
import { ticks } from "./plot";
import { hrefOf } from "./store";

export interface Measure {
  id: string;
  name: string;
  /** Less is better, unless it is a margin. */
  rises: boolean;
  show: (y: number) => string;
  of?: (p: ParetoPoint) => number | null;
  ofRanked?: (d: RankedDesign) => number | null | undefined;
}
const kSquare_mm2 = 1e6;
export const measures: Measure[] = [
  { id: "margin", name: "tightest margin", rises: true, show: percent },
  { id: "parts", name: "parts on the board", rises: false, show: (y) => `${Math.round(y)}`, of: (p) => p.parts },
  { id: "heat", name: "hottest junction", rises: false, show: (y) => quantity(y, "degC"), of: (p) => p.hottest_degC, ofRanked: (d) => d.hottest_degC },
  {
    id: "area",
    name: "board area",
    rises: false,
    show: (y) => `${Number(y.toPrecision(3))} mm²`,
    of: (p) => (p.board_area_m2 === null ? null : p.board_area_m2 * kSquare_mm2),
    ofRanked: (d) => (typeof d.board_area_m2 === "number" ? d.board_area_m2 * kSquare_mm2 : null),
  },
  { id: "energy", name: "energy of a move", rises: false, show: (y) => quantity(y, "J"), of: (p) => p.energy_J, ofRanked: (d) => d.energy_J },
];
export const said = (m: Measure, p: ParetoPoint | undefined, d: RankedDesign | undefined) => {
  const y = (d && m.ofRanked?.(d)) ?? (p && m.of?.(p));
  return typeof y === "number" ? m.show(y) : "not known";
};

interface Dot {
  name: string;
  file: string | null;
  rank: string;
  x: number;
  y: number;
}

/** The designs that are ranked and those of the search's front, each once. */
function dotsOf(answer: SearchAnswer, m: Measure): Dot[] {
  const own = answer.designs.map((d) => ({
    name: d.wiring || words(d.template),
    file: d.design_file,
    rank: String(d.rank),
    x: d.landed_cost,
    y: m.id === "margin" ? d.tightest_margin?.margin : m.id === "parts" ? d.parts.length : m.ofRanked?.(d),
  }));
  const front = (answer.pareto ?? [])
    .filter((p) => !answer.designs.some((d) => d.design_file === p.design_file))
    .map((p) => ({ name: answer.wirings?.[p.template] ?? words(p.template), file: p.design_file, rank: "", x: p.landed_cost, y: m.of?.(p) }));
  return [...own, ...front].flatMap((d) => (typeof d.y === "number" ? [{ ...d, y: d.y }] : []));
}

const W = 640;
const H = 260;
const [kLeft, kRight, kTop, kBottom] = [84, 30, 26, 44];

function span(values: number[], pad: number): [number, number] {
  const low = Math.min(...values);
  const high = Math.max(...values);
  const width = high - low || Math.abs(high) * 0.1 || 1;
  return [low - width * pad, high + width * pad];
}

export function Trade({ answer }: { answer: SearchAnswer }) {
  const possible = measures.filter((m) => dotsOf(answer, m).length > 1);
  const [chosen, setChosen] = useState(possible.find((m) => m.id === "heat")?.id ?? possible[0]?.id ?? "");
  const m = possible.find((x) => x.id === chosen) ?? possible[0];
  if (!m) return null;
  return (
    <>
      <p class="tools" role="group" aria-label="Against landed cost">
        {possible.map((p) => (
          <button type="button" aria-pressed={p === m} onClick={() => setChosen(p.id)}>
            {p.name}
          </button>
        ))}
      </p>
      <Plot dots={dotsOf(answer, m)} m={m} currency={answer.designs[0]?.currency ?? ""} />
    </>
  );
}

function Plot({ dots, m, currency }: { dots: Dot[]; m: Measure; currency: string }) {
  const [x0, x1] = span(dots.map((p) => p.x), 0.12);
  const [y0, y1] = span(m.rises ? [...dots.map((p) => p.y), 0] : dots.map((p) => p.y), 0.15);
  const X = (x: number) => kLeft + ((x - x0) / (x1 - x0)) * (W - kLeft - kRight);
  const Y = (y: number) => H - kBottom - ((y - y0) / (y1 - y0)) * (H - kTop - kBottom);
  const better = (a: number, b: number) => (m.rises ? a >= b : a <= b);
  const best = dots.filter((p) => !dots.some((q) => q.x <= p.x && better(q.y, p.y) && (q.x < p.x || q.y !== p.y))).sort((a, b) => a.x - b.x);
  return (
    <figure>
      <Wide label="Landed cost against something else">
        <svg class="trade" viewBox={`0 0 ${W} ${H}`} role="group" aria-label={`Landed cost against ${m.name}, one point a design`}>
          <path class="axis" d={`M${kLeft} ${kTop}V${H - kBottom}H${W - kRight}`} />
          {ticks(x0, x1).map((x) => (
            <>
              <path class="grid" d={`M${X(x)} ${kTop}V${H - kBottom}`} />
              <text x={X(x)} y={H - kBottom + 18} text-anchor="middle">
                {money(x)}
              </text>
            </>
          ))}
          {ticks(y0, y1).map((y) => (
            <>
              <path class="grid" d={`M${kLeft} ${Y(y)}H${W - kRight}`} />
              <text x={kLeft - 8} y={Y(y) + 4} text-anchor="end">
                {m.show(y)}
              </text>
            </>
          ))}
          <text x={(kLeft + W - kRight) / 2} y={H - 6} text-anchor="middle">
            landed cost, {currency} a board
          </text>
          <text x={kLeft} y="12">
            {m.name}
          </text>
          <polyline class="front" points={best.map((p) => `${X(p.x)},${Y(p.y)}`).join(" ")} />
          {dots.map((p) => {
            const says = `${p.rank && `Design ${p.rank}, `}${p.name}: ${money(p.x, currency)}, ${m.name} ${m.show(p.y)}`;
            const mark = (
              <g transform={`translate(${X(p.x)} ${Y(p.y)})`} class={best.includes(p) ? "point best" : "point"}>
                <title>{says}</title>
                <rect x="-7" y="-7" width="14" height="14" rx="2" transform="rotate(45)" />
                <text x="0" y="-13" text-anchor="middle">
                  {p.rank}
                </text>
              </g>
            );
            return p.file ? (
              <a href={hrefOf("design", p.file)} aria-label={says}>
                {mark}
              </a>
            ) : (
              mark
            );
          })}
        </svg>
      </Wide>
      <figcaption>
        {m.name.charAt(0).toUpperCase() + m.name.slice(1)} over landed cost; numbers are ranks. Filled: no other design is both cheaper and better in this. Each point opens its design.
      </figcaption>
    </figure>
  );
}
