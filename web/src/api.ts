// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The one module that talks to the server. Every call is typed; whatever goes wrong is a Refusal
// with the server's own messages.
import type { BriefKeyName, CheckId, PartClassName } from "./keys";

export interface Problem {
  file: string;
  line: number;
  column: number;
  key: string;
  expected: string;
  found: string;
  message: string;
}

export class Refusal extends Error {
  constructor(
    readonly status: number,
    readonly problems: Problem[],
    readonly body: Record<string, unknown> = {},
  ) {
    super(problems.map(problemText).join("\n") || `the server answered ${status}`);
  }
}

/** A problem without its place: that is shown otherwise. */
export function problemText(p: Problem): string {
  let out = p.key ? `${p.key}: ` : "";
  if (p.expected) out += `expected ${p.expected}, found ${p.found}`;
  if (p.message) out += p.expected ? ` (${p.message})` : p.message;
  return out;
}

export interface BriefKey {
  key: BriefKeyName;
  section: string;
  name: string;
  kind: "quantity" | "choice" | "text";
  need: "required" | "defaulted" | "optional";
  unit: string;
  assumed: string;
  range: string;
  choices: string[];
  doc: string;
}
export interface CheckKind {
  id: CheckId;
  unit: string;
  sense: "max" | "min";
  help: string;
  source: string;
}
export interface Keys {
  brief: BriefKey[];
  checks: CheckKind[];
}

export interface BriefFile {
  file: string;
  title: string;
  sha256: string;
  problems: number;
  result: { designs: number; landed_cost?: number; currency?: string; is_chip?: boolean; stale: boolean; nothing_cheaper: boolean } | null;
}
export interface Example {
  name: string;
  title: string;
  about: string;
  kind: "brief" | "design";
}
export interface Folder {
  folder: string;
  briefs: BriefFile[];
  designs: { file: string; title: string }[];
  tables: { file: string; bytes: number }[];
  mappings: { file: string; title: string }[];
  examples: Example[];
}

export interface FileText {
  file: string;
  text: string;
  sha256: string;
}
export interface BriefState {
  text: string;
  is_toml: boolean;
  entries: Record<string, { text: string; line: number; column: number }>;
  problems: Problem[];
  lines: string[];
}

export interface Job {
  id: number;
  kind: "design" | "check" | "yield" | "torque" | "handoff" | "faults" | "compare" | "identify" | "import";
  file: string;
  /** What tells the question from others: the kind and the hash of what it is asked of. */
  key: string;
  phase: "waiting" | "running" | "done";
  share: number | null;
  note: string;
  seconds: number;
  status: number | null;
}

export interface Margin {
  id: CheckId;
  subject: string;
  margin: number | null;
}
export interface RankedDesign {
  rank: number;
  template: string;
  wiring?: string;
  has_chip?: boolean;
  landed_cost: number;
  floor_cost: number;
  currency: string;
  hottest_degC?: number | null;
  board_area_m2?: number | null;
  energy_J?: number | null;
  design_file: string | null;
  tightest_margin: Margin | null;
  parts: { ref: string; role: string; number: string; quantity: number; unit_price: number }[];
  cost: Record<string, number>;
}
export interface Chip {
  number: string;
  kind: string;
  landed_cost: number;
  currency: string;
  board_area_m2?: number | null;
  passes: boolean;
  tightest_margin?: Margin | null;
  why?: string;
  design_file: string | null;
}
/** A proven design that no other beats in everything. */
export interface ParetoPoint {
  template: string;
  landed_cost: number;
  hottest_degC: number | null;
  board_area_m2: number | null;
  parts: number;
  energy_J: number | null;
  design_file: string | null;
}
/** The cheapest candidate of a wiring that failed, and what change of the brief would save it. */
export interface NearMiss {
  template: string;
  wiring: string;
  floor_cost: number;
  check: { id: CheckId; subject: string; value: number | null; limit: number | null; unit: string };
  changes_tried: number;
  would_pass_with: { key: string; text: string; judged_by: string } | null;
}
/** The winner and chips bought instead, each with its own parts at every quantity. */
export interface PriceLadder {
  quantities: number[];
  lines: { name: string; kind: string; bought: boolean; passes: boolean; landed_cost: (number | null)[]; without_one_off: (number | null)[] }[];
  break_even: { against: string; with_one_off: number | null; without_one_off: number | null }[];
}
export interface SearchAnswer {
  pareto?: ParetoPoint[];
  ladder?: PriceLadder;
  why_not_cheaper?: NearMiss[];
  designs: RankedDesign[];
  nothing_cheaper: boolean;
  claim: string;
  undecided: string[];
  chips: Chip[];
  chip_wins: boolean;
  rejected: Record<string, string>;
  space: Record<string, Record<string, string>>;
  impossible?: { key: string; why: string };
  input_sha256: string;
  folder?: string;
  /** Titles of the wirings, by id. */
  wirings?: Record<string, string>;
  stale?: boolean;
  problems?: Problem[];
}

export interface Check extends Margin {
  value: number | null;
  nominal?: number | null;
  limit: number | null;
  sense: "max" | "min";
  unit: string;
  passes: boolean;
  grade?: "G" | "M" | "A";
  corner?: Record<string, string>;
  hand?: { formula: string; value: number | null; difference?: number | null };
  inputs?: { figure: string; end: string; margin_change: number }[];
  source?: string;
  help?: string;
  facts?: Record<string, number | null>;
}
export interface CheckAnswer {
  passes: boolean;
  tightest_margin: Margin | null;
  checks: Check[];
  undecided: string[];
  not_judged: string[];
  energy_residual: number | null;
  dead_time_s?: number | null;
  input_sha256: string;
  interrupted?: boolean;
  problems?: Problem[];
}

export interface CheckSpread {
  id: CheckId;
  subject: string;
  unit: string;
  margin: { nominal: number | null; mean: number; deviation: number; worst: number; corner: number | null };
  histogram: { low: number; high: number; counts: number[] };
  worst: { unit_number: number };
  worse_than_corner: boolean;
  drivers: { figure: string; rank_correlation: number }[];
}
export interface YieldAnswer {
  units: number;
  seed: number;
  failed: number;
  failed_units: number[];
  yield: number | null;
  interval: { low: number; high: number; confidence: number };
  spread: { shape: string; lot_correlation: number };
  by_check: Record<string, number>;
  checks: CheckSpread[];
  undecided: string[];
  interrupted?: boolean;
  problems?: Problem[];
}
export interface TorqueAnswer {
  rate_steps_s: number;
  load_Nm: number;
  natural_Hz: number | null;
  resonance: { from_steps_s: number; worst_steps_s: number; to_steps_s: number } | null;
  asked_Nm: number;
  points: {
    rate_steps_s: number;
    pull_in_Nm: number | null;
    pull_out_Nm: number | null;
    ramp_Nm: number | null;
    lag_step: number | null;
    steps_lost: number | null;
  }[];
  interrupted?: boolean;
  problems?: Problem[];
}
export interface FaultCase {
  part: string;
  fault: string;
  class: string | null;
  peak_A: number | null;
  peak_degC: number | null;
  fuse_s: number | null;
  available_W: number | null;
  detected_by: string | null;
  contain: string | null;
  hottest?: string;
  /** Hotter than peak_degC, where no law of a semiconductor holds. */
  melts?: boolean;
}
export interface FaultsAnswer {
  by_class: Record<string, number>;
  cases: FaultCase[];
  undecided: string[];
  interrupted?: boolean;
  problems?: Problem[];
}
/** Lines over a common time; null where there is a gap. */
export interface Lines {
  from_s: number;
  to_s: number;
  rows: number;
  t: number[];
  series: { name: string; unit: string; y: (number | null)[] }[];
}
export interface CaptureLook {
  file: string;
  rows: number;
  from_s: number;
  to_s: number;
  time_unit: string;
  channels: { name: string; unit: string }[];
  notes: string[];
  waves: Lines;
}
/** Which column of a capture is which of ours, and the brief that is to be written. */
export interface CaptureAsked {
  capture: string;
  columns: string[];
  time_unit?: string;
  voltage?: string;
  brief?: string;
}
export interface CompareAnswer {
  aligned_s: number;
  likeness: number;
  inside_band: boolean;
  outside: number;
  deviations: {
    channel: string;
    unit: string;
    from_s: number;
    to_s: number;
    at_s: number;
    value: number;
    low: number;
    high: number;
    expected: number;
  }[];
  causes: { key: string; unit: string; nominal: number | null; fitted: number | null; explains: number | null }[];
  band: { units: number; seed: number };
  notes: string[];
  overlays?: (Lines & { channel: string; unit: string })[];
  interrupted?: boolean;
  problems?: Problem[];
}
export interface IdentifyAnswer {
  kind: "step" | "spin";
  parameters: Record<string, { value: number; low: number; high: number; unit: string; text: string }>;
  confidence: number;
  residual: { deviation: number | null; unit: string };
  notes: string[];
  fit?: Lines;
  brief?: string;
  interrupted?: boolean;
  problems?: Problem[];
}
export interface Catalogue {
  store: string;
  classes: { class: PartClassName; parts: number; stored: number }[];
  found: number;
  parts: {
    number: string;
    package: string;
    lifecycle: string;
    currency: string;
    source: string;
    stock: number | null;
    unit_price_1k: number | null;
    stored: boolean;
    figures: Record<string, { value: number | null; unit: string }>;
  }[];
}
export interface ImportAnswer {
  rows: number;
  added?: number;
  changed: number;
  same: number;
  kept: string[];
  classes: Record<string, { rows: number; incomplete: number; missing: Record<string, number> }>;
  left_out: string[];
  notes: string[];
  interrupted?: boolean;
  problems?: Problem[];
}
/** Junctions over one cycle of move and rest. */
export interface Duty {
  move_s: number;
  hold_s: number; // before the motor is let go
  rest_s: number;
  holds: boolean;
  ambient_degC: number;
  t: number[];
  parts: { ref: string; degC: (number | null)[] }[];
}
export interface HandoffAnswer {
  passes?: boolean;
  out?: string;
  files?: { name: string; sha256: string }[];
  interrupted?: boolean;
  problems?: Problem[];
}
export interface UnitAnswer {
  unit: number;
  passes: boolean;
  figures: Record<string, number | null>;
  checks: (Check & { by_trial: boolean })[];
  problems?: Problem[];
}

/** What a page changes of a design before it looks at it. */
export interface Changes {
  set?: Record<string, string>;
  value?: Record<string, string>;
  part?: Record<string, string>;
  /** Figures at an end of their tolerance: a picture of a corner. */
  corner?: Record<string, string>;
  /** One of the units that a yield draws. */
  unit?: { number: number; seed: number };
  dead_time?: string;
}
export interface Slider {
  kind: "set" | "value" | "dead_time";
  key: string;
  label: string;
  unit: string;
  value: number;
  low?: number;
  high?: number;
  whole?: boolean;
  choices?: number[];
}
export interface PartLine {
  refs: string[];
  roles: string[];
  number: string;
  class: PartClassName;
  value: string;
  description: string;
  package: string;
  source: string;
  unit_price: number | null;
}
export interface Cost {
  total: number;
  currency: string;
  quantity: number;
  pieces: Record<string, number>;
}
export interface DesignView {
  input_sha256: string;
  file: string;
  title: string;
  wiring: string;
  wins_when: string;
  sequence: string;
  stop: string;
  dead_time_s: number | null;
  parts: PartLine[];
  cost: Cost | null;
  sliders: Slider[];
  outputs: string[];
  svg: string;
}
export interface Waves {
  from_s: number;
  to_s: number;
  rows: number;
  t: number[];
  series: { name: string; unit: string; y: number[] }[];
}
export interface Picture {
  input_sha256: string;
  run_ms: number;
  dead_time_s: number;
  winding_a: { rms: number; peak: number };
  winding_b: { rms: number; peak: number };
  supply: { mean: number; peak: number };
  rail: { min: number; max: number };
  rotor: { steps_commanded: number; steps_made: number; steps_lost: number; settle_error_step: number };
  losses: Record<string, number>;
  ledger_J: { source: number; loss: number; load: number; stored: number; throughput: number };
  energy_residual: number | null;
  winding_degC: number;
  hold_winding_degC: number;
  parts: Record<string, { loss_W: number; rms_A: number; temperature_degC: number | null; hold_degC: number | null }>;
  checks: Check[];
  cost: Cost | null;
  states: { t_s: number; flow: string; levels: string; on: string[] }[];
  waves: Waves;
}
export interface Alternatives {
  role: string;
  used: string;
  parts: {
    number: string;
    package: string;
    unit_price: number;
    figures: Record<string, { value: number; unit: string }>;
  }[];
}

const token = document.querySelector<HTMLMetaElement>('meta[name="desk-token"]')?.content ?? "";

async function answered<T>(asked: Promise<Response>): Promise<T> {
  const response = await asked;
  const answer = await response.json().catch(() => ({}));
  if (!response.ok) throw new Refusal(response.status, answer.problems ?? [], answer);
  return answer as T;
}

const send = <T>(path: string, type: string, body: BodyInit, signal?: AbortSignal) =>
  answered<T>(fetch(path, { method: "POST", headers: { "Content-Type": type, "X-Pennybridge-Token": token }, body, signal, cache: "no-store" }));

const call = <T>(path: string, body?: unknown, signal?: AbortSignal) =>
  body === undefined ? answered<T>(fetch(path, { signal, cache: "no-store" })) : send<T>(path, "application/json", JSON.stringify(body), signal);

/** A name the server takes: plain characters, ending in .csv. */
function plainName(name: string): string {
  const stem = name.replace(/\.[^.]*$/, "").replace(/[^\w.-]+/g, "-").replace(/^[.-]+/, "");
  return `${stem || "capture"}.csv`;
}

const query = (values: Record<string, string | number>) =>
  "?" +
  Object.entries(values)
    .map(([k, v]) => `${k}=${encodeURIComponent(v)}`)
    .join("&");

const inTurns: Record<string, [string, number]> = { rad: ["deg", 180 / Math.PI], "rad/s": ["rpm", 30 / Math.PI] };
/** Angles in degrees and speeds in turns a minute, as motors are spoken of. */
function turning(w: Waves): Waves {
  const series = w.series.map((s) => {
    const [unit, factor] = inTurns[s.unit] ?? [s.unit, 1];
    return factor === 1 ? s : { ...s, unit, y: s.y.map((y) => y * factor) };
  });
  return { ...w, series };
}

export const api = {
  version: () => call<{ version: string; folder: string }>("/api/version"),
  keys: () => call<Keys>("/api/keys"),
  folder: () => call<Folder>("/api/folder"),
  file: (file: string) => call<FileText>("/api/file" + query({ file })),
  save: (file: string, text: string, base_sha256: string) =>
    call<{ sha256: string }>("/api/file", { file, text, base_sha256 }),
  start: (example: string) => call<{ file: string; kind: "brief" | "design" }>("/api/start", { example }),
  readBrief: (file: string, text: string, signal?: AbortSignal) =>
    call<BriefState>("/api/brief", { file, text }, signal),
  editBrief: (file: string, text: string, key: string, value: string) =>
    call<BriefState>("/api/brief/edit", { file, text, key, value }),
  jobs: () => call<{ jobs: Job[] }>("/api/jobs"),
  job: <A>(id: number) => call<Job & { answer: A | null }>("/api/job" + query({ id })),
  startJob: (kind: Job["kind"], file: string, changes?: Changes, more: object = {}) =>
    call<{ id: number }>("/api/jobs", { kind, file, changes, ...more }),
  cancelJob: (id: number) => call<{ id: number }>("/api/jobs/cancel", { id }),
  result: (file: string) => call<SearchAnswer>("/api/result" + query({ file })),
  design: (file: string, changes: Changes) => call<DesignView>("/api/design", { file, changes }),
  picture: (file: string, changes: Changes, points: number, dragging = false) =>
    call<Picture>("/api/picture", { file, changes, points: String(points), dragging }).then((p) => ({ ...p, waves: turning(p.waves) })),
  waves: (picture: string, from: number, to: number, points: number) =>
    call<Waves>("/api/waves" + query({ picture, from, to, points })).then(turning),
  alternatives: (file: string, role: string) => call<Alternatives>("/api/alternatives" + query({ file, role })),
  duty: (picture: string) => call<Duty>("/api/duty" + query({ picture })),
  currents: (picture: string, t: number) => call<{ parts: Record<string, (number | null)[]> }>("/api/currents" + query({ picture, t })),
  parts: (kind: string, search: string) => call<Catalogue>("/api/parts" + query({ class: kind, search })),
  startMapping: (file: string) => call<FileText>("/api/mapping", { file }),
  capture: (asked: CaptureAsked) => call<CaptureLook>("/api/capture", asked),
  /** The file goes as it is, of any size; its name here is one that was free. */
  upload: (file: File) =>
    send<{ file: string; bytes: number }>("/api/upload" + query({ name: plainName(file.name) }), "text/csv", file),
  saveDesign: (file: string, changes: Changes, as: string) =>
    call<{ file: string }>("/api/design/save", { file, changes, as }),
};

/** What a picture shows, as a file. */
export const exportOf = (picture: string, as: string) => "/api/export" + query({ picture, as });

export const downloadOf = (file: string) => "/download" + query({ file });

/**
 * Runs a job for the newest argument only: while one runs, just the latest that came meanwhile is
 * kept, so that input never queues up and the last one always gets its picture.
 */
export function latestWins<A, R>(job: (arg: A) => Promise<R>, done: (result: R, arg: A) => void, failed: (e: unknown) => void) {
  let running = false;
  let next: { arg: A } | null = null;
  const go = async (arg: A) => {
    running = true;
    try {
      const result = await job(arg);
      done(result, arg);
    } catch (e) {
      failed(e);
    }
    running = false;
    if (next) {
      const { arg: latest } = next;
      next = null;
      void go(latest);
    }
  };
  return (arg: A) => {
    if (running) next = { arg };
    else void go(arg);
  };
}
