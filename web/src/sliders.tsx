// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Sliders over a design's figures, and the changes they stand for.
import type { Changes, Slider } from "./api";
import { asText, quantity } from "./format";

/** Values that were moved, by kind and key. */
export type Moved = Record<string, number>;
export const idOf = (s: Slider) => `${s.kind}:${s.key}`;

/** What is tried beside the file: sliders moved, parts swapped by role, figures of the bench by key of the brief. */
export interface Tried {
  moved: Moved;
  swapped: Record<string, string>;
  taken: Record<string, string>;
}
export const kNothingTried: Tried = { moved: {}, swapped: {}, taken: {} };
export const isTried = (t: Tried) => Object.values(t).some((all) => Object.keys(all).length > 0);

export function changesOf(sliders: Slider[], tried: Tried): Changes {
  const out: Changes = {};
  if (Object.keys(tried.taken).length) out.set = { ...tried.taken };
  for (const s of sliders) {
    const value = tried.moved[idOf(s)];
    if (value === undefined) continue;
    const text = s.whole ? String(Math.round(value)) : asText(value, s.unit);
    if (s.kind === "dead_time") out.dead_time = text;
    else (out[s.kind] ??= {})[s.key] = text;
  }
  if (Object.keys(tried.swapped).length) out.part = tried.swapped;
  return out;
}

const kTicks = 400;
/** Over more than a factor of eight a slider goes by ratio. */
const isLog = (s: Slider) => (s.low ?? 0) > 0 && (s.high ?? 0) / (s.low ?? 1) > 8;

function tickOf(s: Slider, value: number): number {
  const low = s.low ?? 0;
  const high = s.high ?? 1;
  const f = isLog(s) ? Math.log(value / low) / Math.log(high / low) : (value - low) / (high - low);
  return Math.round(kTicks * Math.max(0, Math.min(1, f)));
}
/** A tick always moves it, also where round figures lie wider apart than ticks: arrow keys go by one. */
function valueAt(s: Slider, tick: number, from: number): number {
  const low = s.low ?? 0;
  const high = s.high ?? 1;
  const f = tick / kTicks;
  const value = isLog(s) ? low * (high / low) ** f : low + f * (high - low);
  const by = Math.sign(tick - tickOf(s, from));
  if (s.whole) return Math.round(value) === from ? from + by : Math.round(value);
  const round = [3, 4, 5].map((n) => Number(value.toPrecision(n)));
  return round.find((x) => tickOf(s, x) === tick) ?? value;
}

interface Props {
  sliders: Slider[];
  moved: Moved;
  /** While it moves. */
  move: (moved: Moved) => void;
  /** Let go. */
  settle: () => void;
}

export function Sliders({ sliders, moved, move, settle }: Props) {
  const change = (s: Slider, value: number) => move({ ...moved, [idOf(s)]: value });
  const back = (s: Slider) => {
    const { [idOf(s)]: _, ...rest } = moved;
    move(rest);
    settle();
  };
  return (
    <div class="sliders">
      {sliders.map((s) => {
        const id = `slide-${s.kind}-${s.key}`;
        const value = moved[idOf(s)] ?? s.value;
        const isMoved = moved[idOf(s)] !== undefined;
        const shown = quantity(value, s.unit, 4);
        return (
          <div class={isMoved ? "slider moved" : "slider"}>
            <label for={id}>{s.label}</label>
            <output for={id}>{shown}</output>
            {isMoved ? (
              <button type="button" class="quiet" onClick={() => back(s)} aria-label={`${s.label} back to ${quantity(s.value, s.unit)}`}>
                ↺
              </button>
            ) : (
              <span />
            )}
            {s.choices ? (
              <input
                id={id}
                type="range"
                min={0}
                max={s.choices.length - 1}
                step={1}
                value={s.choices.indexOf(value)}
                aria-valuetext={shown}
                disabled={s.choices.length < 2}
                onInput={(e) => change(s, s.choices?.[Number(e.currentTarget.value)] ?? s.value)}
                onChange={settle}
              />
            ) : (
              <input
                id={id}
                type="range"
                min={0}
                max={kTicks}
                step={1}
                value={tickOf(s, value)}
                aria-valuetext={shown}
                onInput={(e) => change(s, valueAt(s, Number(e.currentTarget.value), value))}
                onChange={settle}
              />
            )}
          </div>
        );
      })}
    </div>
  );
}
