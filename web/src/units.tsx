// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Many virtual units of the design: how many meet the brief, how their margins spread, and any one
// of them opened.
import { useState } from "preact/hooks";
import { useAnswer } from "./answer";
import { api, type Changes, type CheckSpread, type UnitAnswer, type YieldAnswer } from "./api";
import { Head, Mark, Problems, Progress, right, Section, Wide } from "./bits";
import { measured, percent, significant, words } from "./format";
import type { Overlay } from "./proof";
import { jobs, useValue } from "./store";

const kSeed = 1;
const keyOf = (hash: string) => `yield ${hash} seed ${kSeed}`;

/** How many units of this design were built last, by this page or another. */
function useAsked(hash: string): number | null {
  const start = `${keyOf(hash)} units `;
  const last = useValue(jobs).find((j) => j.key.startsWith(start) && j.status !== 130);
  return last ? Number(last.key.slice(start.length)) : null;
}

const kChoices = [100, 300, 1000, 3000];

interface Props {
  file: string;
  hash: string;
  changes: () => Changes;
  overlay: Overlay;
}

export function Units({ file, hash, changes, overlay }: Props) {
  const found = useAsked(hash);
  const [chosen, setUnits] = useState<number | null>(null);
  const units = chosen ?? found ?? 300;
  const many = useAnswer<YieldAnswer>(`${keyOf(hash)} units ${units}`);
  const [opened, setOpened] = useState<number | null>(null);
  const one = useAnswer<UnitAnswer>(opened === null ? "none" : `${keyOf(hash)} unit ${opened}`);
  const run = () => many.start(api.startJob("yield", file, changes(), { units, seed: kSeed }));
  const open = (unit: number) => {
    setOpened(unit);
    void one.start(api.startJob("yield", file, changes(), { seed: kSeed, unit }));
  };
  const a = many.answer;
  return (
    <Section id="units" title="Virtual units">
      <p class="tools">
        <label for="units-count">Build</label>
        <select id="units-count" value={String(units)} onChange={(e) => setUnits(Number(e.currentTarget.value))}>
          {kChoices.map((n) => (
            <option value={String(n)}>{n} units</option>
          ))}
        </select>
        <button type="button" onClick={run} disabled={!!many.job}>
          Run
        </button>
        <span class="soft">each with parts, motor and surroundings of its own, drawn between their limits</span>
      </p>
      {many.job && <Progress job={many.job} />}
      {many.refusal && <Problems list={many.refusal.problems} />}
      {a && (a.interrupted || a.problems ? <p>{a.interrupted ? "Stopped." : a.problems?.map((p) => p.message).join(" ")}</p> : <Spread answer={a} open={open} />)}
      {one.job && <Progress job={one.job} />}
      {one.answer?.checks && (
        <Unit answer={one.answer} show={() => opened !== null && overlay({ unit: { number: opened, seed: kSeed } }, `virtual unit ${opened}`)} />
      )}
    </Section>
  );
}

function Spread({ answer: a, open }: { answer: YieldAnswer; open: (unit: number) => void }) {
  return (
    <>
      <p class="lead">
        <strong>
          {a.failed} of {a.units} fail
        </strong>
        : yield {percent(a.yield)}, between {percent(a.interval.low)} and {percent(a.interval.high)} with {percent(a.interval.confidence)}{" "}
        confidence.
      </p>
      <p class="soft">
        How parts are spread between their limits is assumed ({a.spread.shape}, {a.spread.lot_correlation} within a reel), not known.
      </p>
      {a.failed_units.length > 0 && (
        <p>
          Open a failing unit:{" "}
          {a.failed_units.slice(0, 12).map((u) => (
            <>
              <button type="button" class="quiet" onClick={() => open(u)}>
                {u}
              </button>{" "}
            </>
          ))}
        </p>
      )}
      <Wide label="Margins over the units">
        <table class="spreads">
          <caption>Margins over the units; the line is the limit, the mark the corner that every figure’s own effect points to.</caption>
          <Head of={["Check", "Units over margin", right("Worst unit"), right("Worst corner"), "Driven by"]} />
          <tbody>
            {a.checks.map((c) => (
              <tr>
                <th scope="row">
                  {words(c.id)} <span class="soft">{c.subject}</span>
                </th>
                <td>
                  <Bars spread={c} />
                </td>
                <td class="n">
                  <button type="button" class="link" onClick={() => open(c.worst.unit_number)} aria-label={`Open unit ${c.worst.unit_number}, the worst for ${words(c.id)}`}>
                    {percent(c.margin.worst)}
                  </button>
                </td>
                <td class="n">
                  {percent(c.margin.corner)}
                  {c.worse_than_corner ? "; a unit is worse" : ""}
                </td>
                <td>
                  {c.drivers
                    .slice(0, 2)
                    .map((d) => words(d.figure))
                    .join(", ")}
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      </Wide>
    </>
  );
}

/** Counts over margin, with the limit at nought and the corner where they are near enough to show. */
function Bars({ spread: c }: { spread: CheckSpread }) {
  const { low, high, counts } = c.histogram;
  const corner = c.margin.corner ?? low;
  const width = high - low || Math.abs(high) || 1;
  // The limit is shown where it does not squeeze the bars to nothing.
  const nearLimit = low <= 3 * width;
  const from = Math.min(low, corner, nearLimit ? 0 : low) - 0.04 * width;
  const to = Math.max(high, nearLimit ? 0 : high) + 0.04 * width;
  const X = (m: number) => (200 * (m - from)) / (to - from);
  const most = Math.max(...counts, 1);
  const bin = (high - low) / counts.length;
  return (
    <svg class="bars" viewBox="0 0 200 34" width="200" height="34" role="img" aria-label={`From ${percent(low)} to ${percent(high)}; limit at 0 %`}>
      {counts.map((n, k) => {
        const h = (28 * n) / most;
        return <rect class={low + bin * (k + 0.5) < 0 ? "under" : undefined} x={X(low + bin * k)} y={30 - h} width={Math.max(X(low + bin) - X(low) - 0.4, 1)} height={h} />;
      })}
      <path class="base" d="M0 30.5H200" />
      {nearLimit && <path class="limit" d={`M${X(0)} 0V34`} />}
      <path class="corner" d={`M${X(corner)} 30l-4 4h8z`} />
    </svg>
  );
}

function Unit({ answer: u, show }: { answer: UnitAnswer; show: () => void }) {
  const checks = [...u.checks].sort((a, b) => (a.margin ?? 0) - (b.margin ?? 0)).slice(0, 8);
  return (
    <Section id="unit" title={`Unit ${u.unit}`} aside={<Mark passes={u.passes} />}>
      <div class="unit">
        <Wide label={`Tightest checks of unit ${u.unit}`}>
          <table>
            <caption>Its tightest checks</caption>
            <tbody>
              {checks.map((c) => (
                <tr class={c.passes ? undefined : "failing"}>
                  <th scope="row">
                    {words(c.id)} <span class="soft">{c.subject}</span>
                  </th>
                  <td class="n">{c.by_trial ? "" : measured(c.value, c.unit)}</td>
                  <td class="n">limit {measured(c.limit, c.unit)}</td>
                  <td class="n strong">{c.by_trial ? (c.passes ? "held" : "not held") : percent(c.margin)}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </Wide>
        <p>
          <button type="button" onClick={show}>
            Show its waveforms
          </button>
        </p>
        <details>
          <summary>What it was drawn with, in SI</summary>
          <ul class="drawn">
            {Object.entries(u.figures).map(([name, value]) => (
              <li>
                {words(name)} <span class="n">{significant(value)}</span>
              </li>
            ))}
          </ul>
        </details>
      </div>
    </Section>
  );
}
