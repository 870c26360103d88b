// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Landed cost over the quantity built: the design of single parts against every chip that could be
// bought instead, each with its own price breaks.
import type { PriceLadder } from "./api";
import { Head, right, Wide } from "./bits";
import { money } from "./format";
import { Key } from "./lines";
import { dashOf } from "./plot";

const W = 720;
const H = 280;
const [kLeft, kRight, kTop, kBottom] = [84, 20, 22, 46];
// More lines than this nobody tells apart; the dearest of them all are in the table.
const kLines = 5;

const atMost = (line: PriceLadder["lines"][number]) => Math.min(...line.landed_cost.filter((c): c is number => c !== null));

export function Ladder({ ladder, currency }: { ladder: PriceLadder; currency: string }) {
  const passing = ladder.lines.filter((l) => l.passes && Number.isFinite(atMost(l)));
  if (passing.length === 0 || ladder.quantities.length < 2) return null;
  const own = passing.filter((l) => !l.bought);
  const chips = passing.filter((l) => l.bought).sort((a, b) => atMost(a) - atMost(b));
  const shown = [...own, ...chips].slice(0, kLines);
  return (
    <figure class="wave">
      <figcaption>
        <Key names={shown.map((l) => l.name)} />
      </figcaption>
      <Plot lines={shown} quantities={ladder.quantities} currency={currency} />
      <BreakEven ladder={ladder} shown={shown.map((l) => l.name)} />
      <details>
        <summary>As numbers</summary>
        <Wide label="Landed cost over quantity">
          <table>
            <Head of={[right("Built"), ...passing.map((l) => right(l.name))]} />
            <tbody>
              {ladder.quantities.map((q, k) => (
                <tr>
                  <th scope="row" class="n">
                    {q.toLocaleString("en")}
                  </th>
                  {passing.map((l) => (
                    <td class="n">{money(l.landed_cost[k])}</td>
                  ))}
                </tr>
              ))}
            </tbody>
          </table>
        </Wide>
      </details>
    </figure>
  );
}

function Plot({ lines, quantities, currency }: { lines: PriceLadder["lines"]; quantities: number[]; currency: string }) {
  const all = lines.flatMap((l) => l.landed_cost.filter((c): c is number => c !== null && c > 0));
  const [y0, y1] = [Math.log10(Math.min(...all)) - 0.05, Math.log10(Math.max(...all)) + 0.05];
  const [x0, x1] = [Math.log10(quantities[0]), Math.log10(quantities[quantities.length - 1])];
  const X = (q: number) => kLeft + ((Math.log10(q) - x0) / (x1 - x0)) * (W - kLeft - kRight);
  const Y = (c: number) => H - kBottom - ((Math.log10(c) - y0) / (y1 - y0)) * (H - kTop - kBottom);
  const path = (l: PriceLadder["lines"][number]) => l.landed_cost.map((c, k) => (c === null ? "" : `${X(quantities[k])},${Y(c)}`)).join(" ");
  const decades = (from: number, to: number, steps: number[]) => {
    const out: number[] = [];
    for (let d = Math.floor(from); d <= Math.ceil(to); ++d) for (const s of steps) if (Math.log10(s) + d >= from && Math.log10(s) + d <= to) out.push(Number(`${s}e${d}`));
    return out;
  };
  return (
    <Wide label="Landed cost over quantity, as lines">
      <svg class="rungs" viewBox={`0 0 ${W} ${H}`} role="img" aria-label="Landed cost over the quantity built; the table below has the numbers">
        {decades(y0, y1, y1 - y0 > 2.5 ? [1] : [1, 2, 5]).map((c) => (
          <>
            <path class="grid" d={`M${kLeft} ${Y(c)}H${W - kRight}`} />
            <text x={kLeft - 8} y={Y(c) + 4} text-anchor="end">
              {money(c)}
            </text>
          </>
        ))}
        {decades(x0, x1, [1]).map((q) => (
          <>
            <path class="grid" d={`M${X(q)} ${kTop}V${H - kBottom}`} />
            <text x={X(q)} y={H - kBottom + 18} text-anchor={q === quantities[quantities.length - 1] ? "end" : "middle"}>
              {q.toLocaleString("en")}
            </text>
          </>
        ))}
        <text x={kLeft - 8} y="12">
          {currency} a board
        </text>
        <text x={(kLeft + W - kRight) / 2} y={H - 6} text-anchor="middle">
          boards built
        </text>
        {lines.map((l, n) => (
          <polyline class={`trace-${n + 1}`} points={path(l)} stroke-dasharray={dashOf(n).join(" ")} />
        ))}
      </svg>
    </Wide>
  );
}

function BreakEven({ ladder, shown }: { ladder: PriceLadder; shown: string[] }) {
  const own = ladder.lines.find((l) => !l.bought && l.passes);
  const list = ladder.break_even.filter((b) => shown.includes(b.against));
  if (!own || list.length === 0) return null;
  const from = (q: number | null) => (q === null ? "at no quantity" : `from ${Math.round(q).toLocaleString("en")} on`);
  return (
    <ul class="soft">
      {list.map((b) => (
        <li>
          Single parts are cheaper than {b.against} {from(b.with_one_off)}
          {b.with_one_off !== b.without_one_off && `; without the one-off work ${from(b.without_one_off)}`}.
        </li>
      ))}
    </ul>
  );
}
