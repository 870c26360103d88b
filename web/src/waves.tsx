// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Waveforms over a common time: zoom, two cursors with their differences.
import type { ComponentChildren } from "preact";
import { useEffect, useLayoutEffect, useMemo, useRef, useState } from "preact/hooks";
import uPlot from "uplot";
import { api, exportOf, type Picture, type Waves } from "./api";
import { Wide } from "./bits";
import { quantity, words } from "./format";
import { axesOf, css, dashOf, kHeight, kTraces } from "./plot";
import { shade, useValue } from "./store";

/** After so long without a new picture the plots out of sight are drawn too: for print, and for who scrolls. */
const kUnseen_ms = 150;

interface Group {
  title: string;
  unit: string;
  series: number[]; // indices into waves.series
}

/** Currents, outputs with the rail, gates, and the rotor's three. */
function groupsOf(waves: Waves, outputs: string[]): Group[] {
  const index = (names: string[]) => names.map((n) => waves.series.findIndex((s) => s.name === n)).filter((k) => k >= 0);
  const ofUnit = (unit: string) => waves.series.flatMap((s, k) => (k >= 7 && s.unit === unit && !outputs.includes(s.name) ? [k] : []));
  return [
    { title: "Currents", unit: "A", series: index(["winding a", "winding b", "supply"]) },
    { title: "Outputs and rail", unit: "V", series: index(["rail", ...outputs]) },
    { title: "Gates", unit: "V", series: ofUnit("V") },
    { title: "Losses", unit: "W", series: ofUnit("W") },
    { title: "Torque", unit: "N m", series: index(["torque"]) },
    { title: "Speed", unit: "rpm", series: index(["speed"]) },
    { title: "Angle", unit: "deg", series: index(["angle"]) },
  ].filter((g) => g.series.length > 0);
}

interface Cursors {
  a: number | null;
  b: number | null;
}

interface PlotProps {
  group: Group;
  waves: Waves;
  corner: Waves | null;
  cursors: Cursors;
  place: (which: "a" | "b", t: number) => void;
  zoom: (from: number, to: number) => void;
  colours: string;
}

function Plot({ group, waves, corner, cursors, place, zoom, colours }: PlotProps) {
  const box = useRef<HTMLDivElement>(null);
  const plot = useRef<uPlot | null>(null);
  const inSight = useRef(true);
  const now = useRef({ cursors, place, zoom });
  now.current = { cursors, place, zoom };
  const names = group.series.map((k) => waves.series[k].name).join();
  const table = (w: Waves): uPlot.AlignedData => [w.t, ...group.series.map((k) => w.series[k].y)];
  // The corner's run took steps of its own: points of one are gaps of the other, which lines span.
  const data = (): uPlot.AlignedData => (corner ? uPlot.join([table(waves), table(corner)]) : table(waves));
  const isDouble = corner !== null;

  useEffect(() => {
    const at = box.current;
    if (!at) return;
    const line = (u: uPlot, t: number | null, name: string) => {
      if (t === null) return;
      const x = Math.round(u.valToPos(t, "x", true));
      if (x < u.bbox.left || x > u.bbox.left + u.bbox.width) return;
      u.ctx.save();
      u.ctx.strokeStyle = css("--ink");
      u.ctx.fillStyle = css("--ink");
      u.ctx.lineWidth = devicePixelRatio;
      u.ctx.setLineDash(name === "A" ? [] : [5 * devicePixelRatio, 3 * devicePixelRatio]);
      u.ctx.beginPath();
      u.ctx.moveTo(x, u.bbox.top);
      u.ctx.lineTo(x, u.bbox.top + u.bbox.height);
      u.ctx.stroke();
      u.ctx.font = `${11 * devicePixelRatio}px system-ui, sans-serif`;
      u.ctx.fillText(name, x + 3 * devicePixelRatio, u.bbox.top + 11 * devicePixelRatio);
      u.ctx.restore();
    };
    const made = new uPlot(
      {
        width: at.clientWidth,
        height: kHeight,
        legend: { show: false },
        cursor: { sync: { key: "desk" }, drag: { x: true, y: false, setScale: false }, points: { size: 5 } },
        scales: { x: { time: false } },
        axes: axesOf(group.unit),
        series: [
          {},
          ...group.series.map((k, n) => ({
            label: waves.series[k].name,
            stroke: css(`--trace-${(n % kTraces) + 1}`),
            width: 1.5,
            dash: dashOf(n),
            points: { show: false },
            spanGaps: true,
          })),
          ...(isDouble
            ? group.series.map((k, n) => ({
                label: `${waves.series[k].name} at the corner`,
                stroke: css(`--trace-${(n % kTraces) + 1}`),
                width: 0.7,
                points: { show: false },
                spanGaps: true,
              }))
            : []),
        ],
        hooks: {
          draw: [
            (u) => {
              line(u, now.current.cursors.a, "A");
              line(u, now.current.cursors.b, "B");
            },
          ],
          setSelect: [
            (u) => {
              if (u.select.width < 8) return;
              const from = u.posToVal(u.select.left, "x");
              const to = u.posToVal(u.select.left + u.select.width, "x");
              u.setSelect({ left: 0, top: 0, width: 0, height: 0 }, false);
              now.current.zoom(from, to);
            },
          ],
        },
      },
      data(),
      at,
    );
    let downAt = 0;
    made.over.addEventListener("mousedown", (e) => (downAt = e.clientX));
    made.over.addEventListener("click", (e) => {
      if (Math.abs(e.clientX - downAt) > 4) return;
      now.current.place(e.shiftKey ? "b" : "a", made.posToVal(e.offsetX, "x"));
    });
    plot.current = made;
    const resized = new ResizeObserver(() => made.setSize({ width: at.clientWidth, height: kHeight }));
    resized.observe(at);
    const watched = new IntersectionObserver((changes) => (inSight.current = changes[changes.length - 1].isIntersecting), { rootMargin: "20%" });
    watched.observe(at);
    return () => {
      resized.disconnect();
      watched.disconnect();
      made.destroy();
      plot.current = null;
    };
  }, [names, colours, isDouble]);

  // In the frame that shows the new figures, not the one after; what is scrolled out of sight can wait.
  useLayoutEffect(() => {
    const draw = () => plot.current?.setData(data());
    if (inSight.current) return draw();
    const later = setTimeout(draw, kUnseen_ms);
    return () => clearTimeout(later);
  }, [waves, corner]);
  useEffect(() => plot.current?.redraw(false), [cursors.a, cursors.b]);

  return (
    <figure class="wave">
      <figcaption>
        <strong>{group.title}</strong>
        {group.series.map((k, n) => (
          <span class="key">
            <svg viewBox="0 0 26 8" width="26" height="8" aria-hidden="true">
              <path d="M0 4h26" class={`trace-${(n % kTraces) + 1}`} stroke-dasharray={dashOf(n).join(" ")} />
            </svg>
            {words(waves.series[k].name)}
          </span>
        ))}
      </figcaption>
      <div ref={box} role="img" aria-label={`${group.title} over time; the table below has the values at the cursors`} />
    </figure>
  );
}

/** The value at t, between the two points around it. */
function valueAt(waves: Waves, series: number, t: number): number {
  const x = waves.t;
  let low = 0;
  let high = x.length - 1;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (x[middle] <= t) low = middle;
    else high = middle;
  }
  const y = waves.series[series].y;
  const f = x[high] > x[low] ? Math.max(0, Math.min(1, (t - x[low]) / (x[high] - x[low]))) : 0;
  return y[low] + f * (y[high] - y[low]);
}

interface Props {
  picture: Picture;
  outputs: string[];
  /** The same design at a corner, drawn with thin lines. */
  corner: { name: string; picture: Picture; close: () => void } | null;
  /** Told where cursor A stands, for the schematic. */
  onTime: (t: number) => void;
}

const kPoints = 800;

export function WavesPanel({ picture, outputs, corner, onTime }: Props) {
  const [zoomed, setZoomed] = useState<{ from: number; to: number } | null>(null);
  const [detail, setDetail] = useState<{ typical: Waves; corner: Waves | null } | null>(null);
  const [cursors, setCursors] = useState<Cursors>({ a: null, b: null });
  const colours = useValue(shade);
  const whole = picture.waves;
  const waves = zoomed && detail ? detail.typical : whole;
  // While a slider moves losses are not asked for: the last ones stand until it is let go.
  const lossy = useRef(whole);
  if (whole.series.some((s) => s.unit === "W")) lossy.current = whole;
  const other = zoomed && detail ? detail.corner : (corner?.picture.waves ?? null);
  const groups = useMemo(() => groupsOf(lossy.current, outputs), [lossy.current.series.map((s) => s.name).join(), outputs.join()]);

  const wavesOf = (g: Group) => (g.series.every((k) => k < waves.series.length) ? waves : lossy.current);

  // A zoomed window follows the picture: cut anew from what the server keeps.
  useEffect(() => {
    if (!zoomed) return setDetail(null);
    let stale = false;
    const fine = (hash: string) => api.waves(hash, zoomed.from, zoomed.to, kPoints).then((w) => cut(w, zoomed.from, zoomed.to));
    Promise.all([fine(picture.input_sha256), corner ? fine(corner.picture.input_sha256) : null]).then(
      ([typical, at]) => !stale && setDetail({ typical, corner: at }),
      () => undefined,
    );
    return () => void (stale = true);
  }, [zoomed, picture.input_sha256, corner?.picture.input_sha256]);

  const from = zoomed?.from ?? whole.from_s;
  const to = zoomed?.to ?? whole.to_s;
  const zoom = (a: number, b: number) => {
    const least = (whole.to_s - whole.from_s) * 1e-4;
    const f = Math.max(whole.from_s, Math.min(a, b));
    const t = Math.min(whole.to_s, Math.max(a, b));
    setZoomed(t - f >= whole.to_s - whole.from_s ? null : { from: f, to: Math.max(t, f + least) });
  };
  const by = (factor: number) => {
    const middle = cursors.a !== null && cursors.a > from && cursors.a < to ? cursors.a : (from + to) / 2;
    zoom(middle - (middle - from) * factor, middle + (to - middle) * factor);
  };
  const shift = (share: number) => {
    const width = to - from;
    const start = Math.max(whole.from_s, Math.min(whole.to_s - width, from + share * width));
    zoom(start, start + width);
  };
  const place = (which: "a" | "b", t: number) => {
    setCursors((c) => ({ ...c, [which]: t }));
    if (which === "a") onTime(t);
  };
  return (
    <div class="waves" data-picture={picture.input_sha256}>
      <div class="tools" role="group" aria-label="Zoom">
        <button type="button" onClick={() => by(0.5)}>
          Zoom in
        </button>
        <button type="button" onClick={() => by(2)} disabled={!zoomed}>
          Zoom out
        </button>
        <button type="button" onClick={() => shift(-0.5)} disabled={!zoomed} aria-label="Earlier">
          ←
        </button>
        <button type="button" onClick={() => shift(0.5)} disabled={!zoomed} aria-label="Later">
          →
        </button>
        <button type="button" onClick={() => setZoomed(null)} disabled={!zoomed}>
          All
        </button>
        <span class="soft">
          <a href={exportOf(picture.input_sha256, "waveforms.csv")} download="waveforms.csv">
            As CSV
          </a>
          {"; "}
          {quantity(from, "s", 4)} to {quantity(to, "s", 4)}; drag over a plot to zoom, click sets cursor A, Shift and click B
        </span>
      </div>
      {corner && (
        <p>
          Thin lines: at {corner.name}.{" "}
          <button type="button" class="quiet" onClick={corner.close}>
            Without
          </button>
        </p>
      )}
      {groups.map((g) => (
        <Plot key={g.title} group={g} waves={wavesOf(g)} corner={other} cursors={cursors} place={place} zoom={zoom} colours={colours} />
      ))}
      <div class="cursors" role="group" aria-label="Cursors">
        {(["a", "b"] as const).map((which) => (
          <label>
            Cursor {which.toUpperCase()}
            <input
              type="range"
              min={0}
              max={1000}
              step={1}
              value={Math.round((1000 * ((cursors[which] ?? from) - from)) / (to - from))}
              aria-valuetext={cursors[which] === null ? "not set" : quantity(cursors[which], "s", 4)}
              onInput={(e) => place(which, from + (Number(e.currentTarget.value) / 1000) * (to - from))}
            />
          </label>
        ))}
      </div>
      <Readings wavesOf={wavesOf} corner={other} groups={groups} cursors={cursors} />
    </div>
  );
}

/** Only points of the window, and one on each side. */
function cut(w: Waves, from: number, to: number): Waves {
  const keep = w.t.map((t, k) => (t >= from || (w.t[k + 1] ?? t) >= from) && (t <= to || (w.t[k - 1] ?? t) <= to));
  const pick = (v: number[]) => v.filter((_, k) => keep[k]);
  return { ...w, t: pick(w.t), series: w.series.map((s) => ({ ...s, y: pick(s.y) })) };
}

interface ReadingsProps {
  wavesOf: (g: Group) => Waves;
  /** What is drawn thin, if anything is. */
  corner: Waves | null;
  groups: Group[];
  cursors: Cursors;
}

function Readings({ wavesOf, corner, groups, cursors }: ReadingsProps) {
  const { a, b } = cursors;
  const row = (name: ComponentChildren, waves: Waves, k: number, unit: string) => {
    const at = (t: number) => valueAt(waves, k, t);
    return (
      <tr>
        <th scope="row">{name}</th>
        <td class="n">{a === null ? "" : quantity(at(a), unit)}</td>
        <td class="n">{b === null ? "" : quantity(at(b), unit)}</td>
        <td class="n">{a !== null && b !== null ? quantity(at(b) - at(a), unit) : ""}</td>
      </tr>
    );
  };
  if (a === null && b === null) return <p class="soft">Set a cursor to read values.</p>;
  return (
    <Wide label="Values at the cursors">
      <table class="readings">
        <thead>
          <tr>
            <th scope="col">At</th>
            <th scope="col" class="n">
              A {a !== null && quantity(a, "s", 4)}
            </th>
            <th scope="col" class="n">
              B {b !== null && quantity(b, "s", 4)}
            </th>
            <th scope="col" class="n">
              B − A {a !== null && b !== null && quantity(b - a, "s", 4)}
            </th>
          </tr>
        </thead>
        <tbody>
          {groups.flatMap((g) => {
            return g.series.flatMap((k) => {
              const waves = wavesOf(g);
              const name = words(waves.series[k].name);
              return [row(name, waves, k, g.unit), corner && corner.series[k] ? row(<span class="soft">{name}, thin line</span>, corner, k, g.unit) : null];
            });
          })}
        </tbody>
      </table>
    </Wide>
  );
}
