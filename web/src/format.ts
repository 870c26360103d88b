// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Numbers for people, in one place: engineering notation, as the command line writes it.

import { kRunaway_degC } from "./keys";

const prefixes: [number, string][] = [
  [1e9, "G"],
  [1e6, "M"],
  [1e3, "k"],
  [1, ""],
  [1e-3, "m"],
  [1e-6, "µ"],
  [1e-9, "n"],
  [1e-12, "p"],
];
const shown: Record<string, string> = { ohm: "Ω", degC: "°C", deg: "°", "N m": "N·m", "1": "" };
// A prefixed degree, step or percent helps nobody.
const plain = new Set(["degC", "K", "steps", "step", "steps/s", "1", "", "pieces", "rad/s", "rpm", "deg", "%"]);

export const unitName = (unit: string) => shown[unit] ?? unit;

function digits(x: number, n: number): string {
  if (x === 0) return "0";
  const text = x.toPrecision(n);
  const number = Number(text);
  return Math.abs(number) >= 1e7 || Math.abs(number) < 1e-4 ? number.toExponential(n - 1).replace("e+", "e") : String(number);
}

/** "350 mA" from 0.35 and "A". */
export function quantity(value: number | null | undefined, unit: string, n = 3): string {
  if (value === null || value === undefined || !Number.isFinite(value)) return "not known";
  if (unit === "degC" && value >= kRunaway_degC - 0.5) return "runs away";
  const name = unitName(unit);
  if (unit === "steps" && Number(value.toPrecision(n)) === 1) return "1 step";
  if (unit === "deg") return `${digits(value, Math.max(n, 3))}°`;
  if (plain.has(unit) || value === 0) return `${digits(value, Math.max(n, 3))} ${name}`.trim();
  const size = Math.abs(Number(value.toPrecision(n)));
  const [scale, prefix] = prefixes.find(([s]) => size >= s) ?? prefixes[prefixes.length - 1];
  return `${digits(value / scale, n)} ${prefix}${name}`;
}

/** A check's value: absolute temperatures are kelvin in a verdict. */
export function measured(value: number | null | undefined, unit: string): string {
  if (unit === "K" && value !== null && value !== undefined) return quantity(value - 273.15, "degC");
  return quantity(value, unit);
}

export const percent = (x: number | null | undefined) =>
  x === null || x === undefined || !Number.isFinite(x) ? "not known" : `${Math.abs(x) < 5e-6 ? 0 : digits(x * 100, Math.abs(x) < 0.0995 ? 2 : 3)} %`;

/** At least two decimals and three significant digits. */
export function money(amount: number | null | undefined, currency = ""): string {
  if (amount === null || amount === undefined || !Number.isFinite(amount)) return "not known";
  const size = Math.abs(amount);
  const decimals = size >= 1 || size === 0 ? 2 : Math.min(2 - Math.floor(Math.log10(size)), 6);
  let text = amount.toFixed(decimals);
  while (/\.\d\d\d*0$/.test(text) && !/\.\d\d$/.test(text)) text = text.slice(0, -1);
  return currency ? `${text} ${currency}` : text;
}

/** "146 mm²" from square metres. */
export const area = (m2: number | null | undefined) =>
  m2 === null || m2 === undefined || !Number.isFinite(m2) ? "not known" : `${digits(m2 * 1e6, 3)} mm²`;

export const words = (id: string) => id.replace(/[_-]/g, " ").replace(/\./g, " ");

const costNames: Record<string, string> = { setup: "set-up", area: "board area", one_off: "one-off work" };
/** What a piece of the landed cost is called; the report has the same names. */
export const costName = (id: string) => costNames[id] ?? words(id);

/** For a file: SI with a unit, so that the reader takes it as it is. */
export function asText(value: number, unit: string): string {
  return unit && unit !== "1" ? `${Number(value.toPrecision(6))} ${unit}` : String(Number(value.toPrecision(6)));
}

export function duration(seconds: number): string {
  return seconds < 60 ? `${seconds.toFixed(seconds < 10 ? 1 : 0)} s` : `${Math.floor(seconds / 60)} min ${Math.round(seconds % 60)} s`;
}

export const significant = (x: number | null) => (x === null || !Number.isFinite(x) ? "not known" : digits(x, 4));
