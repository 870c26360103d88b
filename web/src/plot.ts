// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What plots over time have in common.
import type uPlot from "uplot";
import { quantity } from "./format";

export const kTraces = 6;
export const kHeight = 140;
const dashes = [[], [7, 4], [2, 3], [9, 3, 2, 3], [4, 2], [12, 4]];
// Beyond six traces the colours come again with other dashes.
export const dashOf = (n: number) => dashes[(n + Math.floor(n / kTraces)) % dashes.length];
/** A colour of the scheme as it is now: a canvas knows no variables. */
export const css = (name: string) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();

/** Time below, the unit at the left. */
export function axesOf(unit: string): uPlot.Axis[] {
  const axis = {
    stroke: css("--soft"),
    grid: { stroke: css("--hair"), width: 1 },
    ticks: { stroke: css("--hair"), width: 1 },
    font: "11px system-ui, sans-serif",
  };
  return [
    { ...axis, size: 26, gap: 2, values: (_, ticks) => ticks.map((t) => quantity(t, "s", 4)) },
    { ...axis, size: 76, space: 26, values: (_, ticks) => ticks.map((v) => quantity(v, unit)) },
  ];
}

/** Round numbers between two others, four or five of them. */
export function ticks(low: number, high: number): number[] {
  const rough = (high - low) / 5;
  const power = 10 ** Math.floor(Math.log10(rough));
  const step = [1, 2, 5, 10].map((s) => s * power).find((s) => s >= rough) ?? 10 * power;
  const out: number[] = [];
  for (let k = Math.ceil(low / step); k * step <= high; ++k) out.push(Number((k * step).toPrecision(6)));
  return out;
}
