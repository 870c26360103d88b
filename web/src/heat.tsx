// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// How hot parts get: over a cycle of move and rest that repeats, at most over it, and held for ever.
import type { ComponentChildren } from "preact";
import { useEffect, useState } from "preact/hooks";
import { api, type DesignView, type Duty, type Picture } from "./api";
import { Wide } from "./bits";
import { percent, quantity } from "./format";
import { Key, LinesPlot } from "./lines";

interface Row {
  refs: string[];
  duty: (number | null)[]; // of the hottest of them
  low: number;
  high: number;
  moving: number | null;
  held: number | null;
  limit: number | null;
}

const most = (list: (number | null | undefined)[]) => {
  const known = list.filter((x): x is number => typeof x === "number");
  return known.length ? Math.max(...known) : null;
};

/** Lines of the parts list that get warm, hottest first. */
function rowsOf(view: DesignView, picture: Picture, duty: Duty): Row[] {
  const limitOf = (refs: string[]) => {
    const own = picture.checks.filter((c) => refs.includes(c.subject) && c.unit === "degC" && c.sense === "max").map((c) => c.limit);
    const known = own.filter((x): x is number => x !== null);
    return known.length ? Math.min(...known) : null;
  };
  return view.parts
    .flatMap((p): Row[] => {
      const lines = duty.parts.filter((d) => p.refs.includes(d.ref));
      if (lines.length === 0) return [];
      const hottest = lines.reduce((a, b) => ((most(a.degC) ?? 0) >= (most(b.degC) ?? 0) ? a : b));
      const known = hottest.degC.filter((x): x is number => x !== null);
      return [
        {
          refs: p.refs,
          duty: hottest.degC,
          low: Math.min(...known),
          high: Math.max(...known),
          moving: most(p.refs.map((r) => picture.parts[r]?.temperature_degC)),
          held: most(p.refs.map((r) => picture.parts[r]?.hold_degC)),
          limit: limitOf(p.refs),
        },
      ];
    })
    .sort((a, b) => Math.max(b.high, b.held ?? 0, b.moving ?? 0) - Math.max(a.high, a.held ?? 0, a.moving ?? 0));
}

const kLines = 4;
const kRows = 10;

function cycleText(duty: Duty): string {
  const whole = duty.move_s + duty.hold_s + duty.rest_s;
  if (whole === duty.move_s) return "It never rests: the brief says nothing of a rest between moves.";
  const held = duty.hold_s > 0 ? `, ${quantity(duty.hold_s, "s")} of holding` : "";
  const rest = duty.rest_s > 0 ? `, then ${quantity(duty.rest_s, "s")} ${duty.holds ? "of holding" : "let go"}` : "";
  return `A move of ${quantity(duty.move_s, "s")}${held}${rest}, over and over: moving ${percent(duty.move_s / whole)} of the time.`;
}

export function Heat({ view, picture }: { view: DesignView; picture: Picture }) {
  const [duty, setDuty] = useState<Duty | null>(null);
  useEffect(() => {
    let stale = false;
    api.duty(picture.input_sha256).then(
      (d) => !stale && setDuty(d),
      () => undefined,
    );
    return () => void (stale = true);
  }, [picture.input_sha256]);
  if (!duty) return <p class="soft">Looking</p>;
  const rows = rowsOf(view, picture, duty).slice(0, kRows);
  if (rows.length === 0) return <p>No part of this design has a thermal resistance.</p>;
  const shown = rows.slice(0, kLines);
  const nameOf = (r: Row) => (r.refs.length > 3 ? `${r.refs[0]} to ${r.refs[r.refs.length - 1]}` : r.refs.join(" "));
  return (
    <>
      <Ladder rows={rows} duty={duty} nameOf={nameOf} />
      <figure class="wave">
        <figcaption>
          <strong>One cycle</strong>
          <Key names={shown.map(nameOf)} />
        </figcaption>
        <LinesPlot
          lines={{ from_s: 0, to_s: duty.move_s + duty.hold_s + duty.rest_s, rows: duty.t.length, t: duty.t, series: shown.map((r) => ({ name: nameOf(r), unit: "degC", y: r.duty })) }}
          unit="degC"
          label="Junctions over one cycle of move and rest"
        />
      </figure>
      <p class="soft">
        {cycleText(duty)} Typical values. Each junction follows its package's thermal
        chain; the checks of a move judge where it is hottest. Held for ever is what a program that hangs does. Windings: {quantity(picture.winding_degC, "degC")}{" "}
        over the cycle at most, {quantity(picture.hold_winding_degC, "degC")} held for ever.
      </p>
    </>
  );
}

const W = 860;
const kName = 110;
const kPitch = 24;

/** A line a part: the bar is the cycle's range, the ring what is judged of it, the square held for ever. */
function Ladder({ rows, duty, nameOf }: { rows: Row[]; duty: Duty; nameOf: (r: Row) => string }) {
  const all = rows.flatMap((r) => [r.high, r.moving ?? 0, r.held ?? 0, r.limit ?? 0]);
  const high = Math.max(...all) + 5;
  const low = duty.ambient_degC;
  const X = (t: number) => kName + ((W - kName - 24) * (t - low)) / (high - low || 1);
  const height = kPitch * rows.length + 40;
  const step = [5, 10, 20, 25, 50, 100].find((s) => (high - low) / s <= 7) ?? 100;
  const ticks: number[] = [];
  for (let t = Math.ceil(low / step) * step; t <= high; t += step) ticks.push(t);
  const says = (r: Row) =>
    `${nameOf(r)}: ${quantity(r.low, "degC")} to ${quantity(r.high, "degC")} over the cycle, ${quantity(r.moving, "degC")} moving, ${quantity(r.held, "degC")} held, limit ${quantity(r.limit, "degC")}`;
  return (
    <figure>
      <Wide label="Temperatures of parts">
        <svg class="heat" viewBox={`0 0 ${W} ${height}`} role="img" aria-label={rows.map(says).join("; ")}>
          {ticks.map((t) => (
            <>
              <path class="grid" d={`M${X(t)} 4V${height - 30}`} />
              <text x={X(t)} y={height - 14} text-anchor="middle">
                {quantity(t, "degC")}
              </text>
            </>
          ))}
          {rows.map((r, k) => {
            const y = kPitch * k + 16;
            return (
              <g>
                <text x={kName - 8} y={y + 4} text-anchor="end">
                  {nameOf(r)}
                </text>
                <path class="from" d={`M${X(low)} ${y}H${X(Math.max(r.high, r.moving ?? low, r.held ?? low))}`} />
                <rect class="cycle" x={X(r.low)} y={y - 5} width={Math.max(X(r.high) - X(r.low), 3)} height="10" />
                {r.moving !== null && <circle class="moving" cx={X(r.moving)} cy={y} r="5" />}
                {r.held !== null && <path class="held" d={`M${X(r.held) - 5} ${y - 5}h10v10h-10z`} />}
                {r.limit !== null && <path class="limit" d={`M${X(r.limit)} ${y - 9}v18`} />}
              </g>
            );
          })}
        </svg>
      </Wide>
      <figcaption class="keys">
        <Sign name="over the cycle">
          <rect class="cycle" x="1" y="3" width="18" height="10" />
        </Sign>
        <Sign name="as judged, moving">
          <circle class="moving" cx="10" cy="8" r="5" />
        </Sign>
        <Sign name="held for ever">
          <path class="held" d="M5 3h10v10h-10z" />
        </Sign>
        <Sign name="limit after derating">
          <path class="limit" d="M10 0v16" />
        </Sign>
      </figcaption>
    </figure>
  );
}

function Sign({ name, children }: { name: string; children: ComponentChildren }) {
  return (
    <span class="key">
      <svg class="heat" viewBox="0 0 20 16" width="20" height="16" aria-hidden="true">
        {children}
      </svg>
      {name}
    </span>
  );
}
