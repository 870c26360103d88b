// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Lines over time that are looked at, not worked with; a band between two of them if they are called
// low and high.
import { useEffect, useRef } from "preact/hooks";
import uPlot from "uplot";
import type { Lines } from "./api";
import { axesOf, css, dashOf, kHeight } from "./plot";
import { shade, useValue } from "./store";

interface Props {
  lines: Lines;
  unit: string;
  label: string;
  height?: number;
}

const isEdge = (name: string) => name === "low" || name === "high";

export function LinesPlot({ lines, unit, label, height = kHeight }: Props) {
  const box = useRef<HTMLDivElement>(null);
  const colours = useValue(shade);
  useEffect(() => {
    const at = box.current;
    if (!at) return;
    // The band's edges first: it is filled with the later of them, and would cover lines drawn before.
    const order = lines.series.map((s, n) => ({ ...s, n })).sort((a, b) => Number(isEdge(b.name)) - Number(isEdge(a.name)));
    const place = (name: string) => order.findIndex((s) => s.name === name) + 1;
    const [low, high] = [place("low"), place("high")];
    const made = new uPlot(
      {
        width: at.clientWidth,
        height,
        legend: { show: false },
        cursor: { drag: { x: false, y: false, setScale: false }, points: { size: 5 } },
        scales: { x: { time: false } },
        axes: axesOf(unit),
        bands: low && high ? [{ series: [high, low], fill: css("--band") }] : [],
        series: [
          {},
          ...order.map(({ name, n }) => ({
            label: name,
            stroke: isEdge(name) ? css("--rule") : css(`--trace-${n + 1}`),
            width: isEdge(name) ? 0.5 : 1.5,
            dash: isEdge(name) ? [] : dashOf(n),
            points: { show: false },
          })),
        ],
      },
      [lines.t, ...order.map((s) => s.y)] as uPlot.AlignedData,
      at,
    );
    const resized = new ResizeObserver(() => made.setSize({ width: at.clientWidth, height }));
    resized.observe(at);
    return () => {
      resized.disconnect();
      made.destroy();
    };
  }, [lines.t, colours]);
  return <div ref={box} class="lines" role="img" aria-label={label} />;
}

/** Which line is which. */
export function Key({ names, band }: { names: string[]; band?: string }) {
  return (
    <>
      {names.map((name, n) => (
        <span class="key">
          <svg viewBox="0 0 26 8" width="26" height="8" aria-hidden="true">
            <path d="M0 4h26" class={`trace-${n + 1}`} stroke-dasharray={dashOf(n).join(" ")} />
          </svg>
          {name}
        </span>
      ))}
      {band && (
        <span class="key">
          <svg viewBox="0 0 26 12" width="26" height="12" aria-hidden="true">
            <rect class="band" width="26" height="12" />
          </svg>
          {band}
        </span>
      )}
    </>
  );
}
