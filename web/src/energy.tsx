// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Where the energy of a run went.
import type { Picture } from "./api";
import { Wide } from "./bits";
import { percent, quantity, words } from "./format";

/** Where the energy of the run went: flows from the supply, their width by amount. */
export function EnergyFlow({ picture }: { picture: Picture }) {
  const l = picture.ledger_J;
  const losses = Object.entries(picture.losses).sort((a, b) => b[1] - a[1]);
  const all = losses.reduce((sum, [, w]) => sum + Math.max(w, 0), 0) || 1;
  const most = losses.slice(0, 5).filter(([, w]) => w / all > 0.005);
  const rest = 1 - most.reduce((sum, [, w]) => sum + w / all, 0);
  const flows = [
    { name: "load: friction, drag, gravity", J: l.load, kind: "load" },
    ...(l.stored > 0 ? [{ name: "stored at the end", J: l.stored, kind: "stored" }] : []),
    ...most.map(([ref, w]) => ({ name: `heat in ${words(ref)}`, J: (l.loss * w) / all, kind: "loss" })),
    ...(rest > 0.001 ? [{ name: "heat in all other parts", J: l.loss * rest, kind: "loss" }] : []),
  ].filter((f) => f.J > 0);
  const total = flows.reduce((sum, f) => sum + f.J, 0) || 1;
  const W = 640;
  const gap = 18;
  const H = 200;
  const scale = H / total;
  const height = H + gap * flows.length;
  let from = (height - H) / 2;
  let to = 0;
  return (
    <figure>
      <Wide label="Flows of energy">
        <svg class="flow" viewBox={`-4 -8 ${W + 240} ${height + 16}`} role="img" aria-label={`Of ${quantity(l.source, "J")} from the supply, ${flows.map((f) => `${quantity(f.J, "J")} went to ${f.name}`).join(", ")}`}>
          <rect class="source" x="0" y={(height - H) / 2} width="14" height={H} />
          <text x="0" y={(height - H) / 2 - 6} class="strong">
            {quantity(l.source, "J")} from the supply
          </text>
          {flows.map((f) => {
            const h = f.J * scale;
            const y0 = from + h / 2;
            const y1 = to + h / 2;
            from += h;
            to += h + gap;
            return (
              <g class={f.kind}>
                <path d={`M14 ${y0}C${W / 2} ${y0} ${W / 2} ${y1} ${W - 14} ${y1}`} stroke-width={Math.max(h, 1)} />
                <rect x={W - 14} y={y1 - Math.max(h, 1) / 2} width="14" height={Math.max(h, 1)} />
                <text x={W + 8} y={y1 + 4}>
                  {quantity(f.J, "J")} {f.name}
                </text>
              </g>
            );
          })}
        </svg>
      </Wide>
      <figcaption>
        The whole run at typical values. Heat is parted by each part's share in the last whole cycles. {percent(picture.energy_residual)} of the
        throughput is not accounted for.
      </figcaption>
    </figure>
  );
}
