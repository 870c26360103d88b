// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What every view shares: the key tables, the list of jobs, the scheme of colours, the place in the
// page. Plain values with subscribers.
import { useEffect, useState } from "preact/hooks";
import { api, type Job, type Keys } from "./api";

export class Value<T> {
  private readonly listeners = new Set<(value: T) => void>();
  constructor(private value: T) {}
  get = () => this.value;
  set = (value: T) => {
    if (value === this.value) return;
    this.value = value;
    for (const listener of [...this.listeners]) listener(value);
  };
  subscribe = (listener: (value: T) => void) => {
    this.listeners.add(listener);
    return () => void this.listeners.delete(listener);
  };
}

export function useValue<T>(value: Value<T>): T {
  const [now, setNow] = useState(value.get());
  useEffect(() => {
    setNow(value.get());
    return value.subscribe((v) => setNow(() => v));
  }, [value]);
  return now;
}

export const keys = new Value<Keys | null>(null);
export const jobs = new Value<Job[]>([]);
/** What a screen reader is told, and what a toast shows. */
export const notice = new Value<string>("");

/** What was chosen; what is shown is `shade`. */
export type Scheme = "auto" | "light" | "dark";
const stored = (() => {
  try {
    return localStorage.getItem("scheme");
  } catch {
    return null;
  }
})();
export const scheme = new Value<Scheme>(stored === "light" || stored === "dark" ? stored : "auto");
export const shade = new Value<"light" | "dark">("light");
const wantsDark = window.matchMedia("(prefers-color-scheme: dark)");
function applyScheme() {
  const now = scheme.get();
  shade.set(now === "auto" ? (wantsDark.matches ? "dark" : "light") : now);
  document.documentElement.dataset.scheme = shade.get();
}
applyScheme();
wantsDark.addEventListener("change", applyScheme);
// Paper is white.
window.addEventListener("beforeprint", () => (document.documentElement.dataset.scheme = "light"));
window.addEventListener("afterprint", applyScheme);
scheme.subscribe((now) => {
  try {
    localStorage.setItem("scheme", now);
  } catch {
    // without storage the choice lasts as long as the page
  }
  applyScheme();
});

/** #/brief/a/b.toml is view "brief" of file "a/b.toml". */
export interface Place {
  view: string;
  file: string;
}
export function placeOf(hash: string): Place {
  const [, view = "", ...rest] = hash.replace(/^#/, "").split("/");
  return { view, file: decodeURIComponent(rest.join("/")) };
}
export const hrefOf = (view: string, file = "") =>
  `#/${view}${file ? "/" + file.split("/").map(encodeURIComponent).join("/") : ""}`;
export const place = new Value<Place>(placeOf(location.hash));
window.addEventListener("hashchange", () => place.set(placeOf(location.hash)));
export function goTo(view: string, file = "") {
  location.hash = hrefOf(view, file);
}

/** Designs of a search lie in the folder beside their brief. */
export function briefOf(design: string): string {
  const result = design.match(/^(.*)\.result\/[^/]+$/);
  return result ? `${result[1]}.toml` : "";
}

/** Asks for the list of jobs: quickly while one runs, seldom otherwise, not while the page is hidden. */
let timer = 0;
export async function pollJobs() {
  window.clearTimeout(timer);
  let wait = 4000;
  try {
    if (!document.hidden) {
      const list = (await api.jobs()).jobs;
      if (JSON.stringify(list) !== JSON.stringify(jobs.get())) jobs.set(list);
      if (list.some((j) => j.phase !== "done")) wait = 300;
    }
    lost.set(false);
  } catch {
    lost.set(true);
    wait = 2000;
  }
  timer = window.setTimeout(pollJobs, wait);
}
/** The server does not answer. */
export const lost = new Value(false);
document.addEventListener("visibilitychange", () => {
  if (!document.hidden) void pollJobs();
});
