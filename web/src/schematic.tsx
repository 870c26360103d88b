// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The schematic: what is on and what flows where at one moment of the move, and which parts are warm
// or near a limit.
import { useEffect, useMemo, useRef, useState } from "preact/hooks";
import { api, type CheckAnswer, type DesignView as View, latestWins, type Picture } from "./api";
import { percent, quantity, words } from "./format";
import { type Currents, drawFlows } from "./paths";

interface Props {
  view: View;
  picture: Picture | null;
  proof: CheckAnswer | null;
  time: number;
  setTime: (t: number) => void;
  picked: string[];
  pick: (ref: string) => void;
}

type Shown = "flow" | "heat" | "margin";
const kinds: [Shown, string][] = [
  ["flow", "currents"],
  ["heat", "temperatures"],
  ["margin", "margins"],
];
const flow = (sign = "0") => ({ "+": "forward", "-": "backward", "0": "open", b: "shorted" })[sign] ?? sign;

/** The tightest check of any of the parts. */
export function tightestOf(proof: CheckAnswer | null, refs: string[]) {
  return (proof?.checks ?? []).filter((c) => refs.includes(c.subject)).sort((a, b) => (a.margin ?? 0) - (b.margin ?? 0))[0];
}

/** What the run knows of a part, in words. */
function saysOf(ref: string, picture: Picture | null, proof: CheckAnswer | null): string {
  const p = picture?.parts[ref];
  const worst = tightestOf(proof, [ref]);
  return [
    p && typeof p.temperature_degC === "number" && `${quantity(p.temperature_degC, "degC")} moving, ${quantity(p.hold_degC, "degC")} held for ever`,
    p && `${quantity(p.loss_W, "W")}, ${quantity(p.rms_A, "A")} RMS`,
    worst && `tightest ${percent(worst.margin)}, ${words(worst.id)}`,
  ]
    .filter(Boolean)
    .join("; ");
}

/** From 0, nothing to see, to 1, as warm or as near its limit as it may be. */
function concern(ref: string, shown: Shown, picture: Picture | null, proof: CheckAnswer | null): number {
  if (shown === "margin") {
    const worst = tightestOf(proof, [ref]);
    return worst ? 1 - Math.max(0, Math.min(1, (worst.margin ?? 0) / 0.5)) : 0;
  }
  const p = picture?.parts[ref];
  const hottest = Math.max(p?.temperature_degC ?? -300, p?.hold_degC ?? -300);
  const all = Object.values(picture?.parts ?? {}).flatMap((q) => [q.temperature_degC, q.hold_degC].filter((t): t is number => typeof t === "number"));
  const [low, high] = [Math.min(...all), Math.max(...all)];
  return hottest < -200 || high <= low ? 0 : (hottest - low) / (high - low);
}

export function Schematic({ view, picture, proof, time, setTime, picked, pick }: Props) {
  const box = useRef<HTMLDivElement>(null);
  const [shown, setShown] = useState<Shown>("flow");
  const [currents, setCurrents] = useState<Currents | null>(null);
  const [most, setMost] = useState(0);
  const states = picture?.states ?? [];
  const at = Math.max(
    0,
    states.findIndex((s, k) => time >= s.t_s && time < (states[k + 1]?.t_s ?? Infinity)),
  );
  const state = states[at];
  const ask = useMemo(
    () =>
      latestWins(
        ({ hash, t }: { hash: string; t: number }) => api.currents(hash, t),
        (c) => setCurrents(c.parts),
        () => setCurrents(null),
      ),
    [],
  );
  const hash = picture?.input_sha256;
  useEffect(() => {
    if (hash && shown === "flow") ask({ hash, t: time });
  }, [hash, time, shown]);
  useEffect(() => {
    const svg = box.current?.querySelector("svg > g");
    if (svg) setMost(drawFlows(svg, shown === "flow" ? currents : null));
  }, [view.svg, currents, shown]);
  useEffect(() => {
    for (const g of box.current?.querySelectorAll<SVGGElement>("[data-ref]") ?? []) {
      const ref = g.getAttribute("data-ref") ?? "";
      g.classList.toggle("picked", picked.includes(ref));
      g.classList.toggle("on", shown === "flow" && (state?.on.includes(ref) ?? false));
      const share = shown === "flow" ? 0 : concern(ref, shown, picture, proof);
      g.style.color = share > 0 ? `color-mix(in srgb, var(--bad) ${Math.round(100 * share)}%, var(--soft))` : "";
      g.style.stroke = g.style.color;
      g.style.strokeWidth = share > 0 ? String(0.2 + 0.35 * share) : "";
      const title = g.querySelector("title") ?? document.createElementNS("http://www.w3.org/2000/svg", "title");
      if (!title.parentNode) g.prepend(title);
      title.textContent = `${ref}: ${saysOf(ref, picture, proof)}`;
    }
  }, [view.svg, picked.join(), state, shown, picture, proof]);
  const click = (e: Event) => {
    const ref = (e.target as Element).closest("[data-ref]")?.getAttribute("data-ref");
    if (ref) pick(ref);
  };
  const middle = (k: number) => {
    const s = states[Math.max(0, Math.min(states.length - 1, k))];
    const next = states[states.indexOf(s) + 1]?.t_s ?? picture?.waves.to_s ?? s.t_s;
    setTime((s.t_s + next) / 2);
  };
  const to = picture?.waves.to_s ?? 1;
  return (
    <figure class="drawing">
      <p class="tools" role="group" aria-label="On the drawing">
        On the drawing:
        {kinds.map(([id, name]) => (
          <button type="button" aria-pressed={shown === id} onClick={() => setShown(id)}>
            {name}
          </button>
        ))}
      </p>
      <div class="wide" role="region" aria-label="Schematic" tabIndex={0} ref={box} onClick={click} dangerouslySetInnerHTML={{ __html: view.svg }} />
      {picked.length > 0 && (
        <p>
          <strong>{picked[0]}</strong> {saysOf(picked[0], picture, proof)}
        </p>
      )}
      {state && shown === "flow" && (
        <figcaption>
          <div class="stepper">
            <button type="button" onClick={() => middle(at - 1)} disabled={at === 0} aria-label="State before">
              ←
            </button>
            <input
              type="range"
              aria-label="Moment of the move"
              min={0}
              max={1000}
              value={Math.round((1000 * time) / to)}
              aria-valuetext={quantity(time, "s", 4)}
              onInput={(e) => setTime((Number(e.currentTarget.value) / 1000) * to)}
            />
            <button type="button" onClick={() => middle(at + 1)} disabled={at === states.length - 1} aria-label="Next state">
              →
            </button>
          </div>
          <p>
            At {quantity(time, "s", 4)}, state {at + 1} of {states.length}: winding a {flow(state.flow[0])}, {quantity(Math.abs(currents?.["winding a"]?.[0] ?? NaN), "A")}; b{" "}
            {flow(state.flow[1])}, {quantity(Math.abs(currents?.["winding b"]?.[0] ?? NaN), "A")}. Meant to be on: {state.on.length ? state.on.join(" ") : "nothing"}. Lines
            are as wide as the current, {quantity(most, "A")} at most; what charges a gate is not drawn.
          </p>
        </figcaption>
      )}
      {shown === "heat" && <figcaption>The warmer of moving and held for ever at typical values: the redder and heavier, the warmer.</figcaption>}
      {shown === "margin" && <figcaption>The tightest check at its worst corner: the redder and heavier, the less to spare; plain from 50 % on.</figcaption>}
    </figure>
  );
}
