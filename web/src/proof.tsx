// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The proof: margins sorted by tightness, what each rests on, and where the energy went.
import { useState } from "preact/hooks";
import type { Check, CheckAnswer, Picture } from "./api";
import { Mark, MarginBar, Wide } from "./bits";
import { measured, percent, quantity, words } from "./format";

const grades: Record<string, string> = {
  G: "guaranteed data-sheet limits",
  M: "a model",
  A: "an assumption",
};

/** Draws the waveforms of a corner over the typical ones. */
export type Overlay = (corner: Record<string, string>, name: string) => void;

// What a reader wants first; the rest is a click away.
const kTightest = 16;

/** Legs are alike, and so are their checks: subjects with the same numbers share a row. */
function grouped(checks: Check[]): { check: Check; subjects: string[] }[] {
  const rows = new Map<string, { check: Check; subjects: string[] }>();
  for (const c of [...checks].sort((a, b) => (a.margin ?? -1e9) - (b.margin ?? -1e9))) {
    const key = [c.id, measured(c.value, c.unit), measured(c.limit, c.unit), c.grade, JSON.stringify(c.corner)].join("|");
    const row = rows.get(key);
    if (row) row.subjects.push(c.subject);
    else rows.set(key, { check: c, subjects: [c.subject] });
  }
  return [...rows.values()];
}

const corner = (c: Check) => {
  const moved = Object.entries(c.corner ?? {}).filter(([, end]) => end !== "typ");
  return moved.length === 0 ? "typical values" : moved.map(([name, end]) => `${words(name)} ${end}`).join(", ");
};

export function Proof({ answer, overlay }: { answer: CheckAnswer; overlay: Overlay }) {
  const [open, setOpen] = useState<string | null>(null);
  const [all, setAll] = useState(false);
  const every = grouped(answer.checks);
  const failing = every.filter((r) => !r.check.passes).length;
  const rows = all ? every : every.slice(0, Math.max(kTightest, failing));
  return (
    <>
      {answer.undecided.length > 0 && (
        <div class="problems">
          <p>The proof could not be finished:</p>
          <ul>
            {answer.undecided.map((u) => (
              <li>{u}</li>
            ))}
          </ul>
        </div>
      )}
      <Wide label="Margins, tightest first">
        <table class="margins">
          <caption>Margins at the worst corner of each check, tightest first</caption>
          <thead>
            <tr>
              <th scope="col">Check</th>
              <th scope="col">Verdict</th>
              <th scope="col" class="n">
                To spare
              </th>
              <th scope="col">
                <span class="hidden">as a bar</span>
              </th>
              <th scope="col" class="n">
                Worst
              </th>
              <th scope="col" class="n">
                Limit
              </th>
              <th scope="col" class="n">
                Nominal
              </th>
              <th scope="col">Grade</th>
            </tr>
          </thead>
          <tbody>
            {rows.map(({ check: c, subjects }, k) => {
              const id = `${c.id}-${k}`;
              return (
                <>
                  <tr class={c.passes ? undefined : "failing"}>
                    <th scope="row">
                      <button type="button" class="link" aria-expanded={open === id} onClick={() => setOpen(open === id ? null : id)}>
                        {words(c.id)}
                      </button>{" "}
                      <span class="soft">{subjects.join(" ")}</span>
                    </th>
                    <td>
                      <Mark passes={c.passes} />
                    </td>
                    <td class="n strong">{percent(c.margin)}</td>
                    <td>
                      <MarginBar margin={c.margin} />
                    </td>
                    <td class="n">{measured(c.value, c.unit)}</td>
                    <td class="n">
                      {c.sense === "max" ? "≤" : "≥"} {measured(c.limit, c.unit)}
                    </td>
                    <td class="n">{measured(c.nominal, c.unit)}</td>
                    <td>
                      <abbr title={grades[c.grade ?? ""]}>{c.grade}</abbr>
                    </td>
                  </tr>
                  {open === id && (
                    <tr class="more">
                      <td colSpan={8}>
                        <Details check={c} overlay={overlay} />
                      </td>
                    </tr>
                  )}
                </>
              );
            })}
          </tbody>
        </table>
      </Wide>
      {every.length > rows.length && (
        <p>
          <button type="button" onClick={() => setAll(true)}>
            Show all {every.length} rows
          </button>{" "}
          <span class="soft">the others have more than {percent(rows[rows.length - 1].check.margin)} to spare</span>
        </p>
      )}
      {answer.not_judged.length > 0 && (
        <p class="soft">
          <strong>Not judged yet:</strong> {answer.not_judged.map(words).join(", ")}.
        </p>
      )}
    </>
  );
}

function Details({ check: c, overlay }: { check: Check; overlay: Overlay }) {
  const isCorner = Object.values(c.corner ?? {}).some((end) => end !== "typ");
  const facts = Object.entries(c.facts ?? {});
  return (
    <dl class="details">
      <dt>What it says</dt>
      <dd>{c.help}</dd>
      <dt>Worst at</dt>
      <dd>
        {corner(c)}{" "}
        {isCorner && (
          <button type="button" class="quiet" onClick={() => overlay(c.corner ?? {}, `the worst corner of ${words(c.id)} ${c.subject}`)}>
            Show its waveforms
          </button>
        )}
      </dd>
      <dt>Limit from</dt>
      <dd>{c.source}</dd>
      <dt>Rests on</dt>
      <dd>
        {c.grade}: {grades[c.grade ?? ""]}
      </dd>
      {c.hand?.formula && (
        <>
          <dt>By hand</dt>
          <dd>
            {c.hand.formula} = {measured(c.hand.value, c.unit)}
            {typeof c.hand.difference === "number" && <>, and the run is {percent(c.hand.difference)} from it</>}
          </dd>
        </>
      )}
      {c.inputs && c.inputs.length > 0 && (
        <>
          <dt>Hangs most on</dt>
          <dd>{c.inputs.map((i) => `${words(i.figure)} at its ${i.end} (${i.margin_change > 0 ? "+" : ""}${percent(i.margin_change)})`).join(", ")}</dd>
        </>
      )}
      {facts.map(([name, value]) => (
        <>
          <dt>{words(name.replace(/_[A-Za-z]+$/, ""))}</dt>
          <dd>{quantity(value, name.match(/_([A-Za-z]+)$/)?.[1] ?? "")}</dd>
        </>
      ))}
    </dl>
  );
}

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
      <figcaption>
        The whole run at typical values. Heat is parted by each part's share in the last whole cycles. {percent(picture.energy_residual)} of the
        throughput is not accounted for.
      </figcaption>
    </figure>
  );
}
