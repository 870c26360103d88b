// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Small pieces that several views use.
import type { ComponentChildren } from "preact";
import { api, type Job, problemText, type Problem } from "./api";
import { duration, percent } from "./format";
import { pollJobs } from "./store";

/** Pass, fail or open: by shape and word, not by colour alone. */
export function Mark({ passes }: { passes: boolean | null }) {
  const name = passes === null ? "open" : passes ? "passes" : "fails";
  return (
    <span class={`mark ${name}`}>
      <svg viewBox="0 0 16 16" width="14" height="14" aria-hidden="true">
        {passes === null ? <path d="M4 8h8" /> : passes ? <path d="M3 8.5l3.5 3.5L13 4.5" /> : <path d="M4 4l8 8M12 4l-8 8" />}
      </svg>
      <span>{name}</span>
    </span>
  );
}

/** A margin as a bar to the right of its limit; a failing one to the left. Cut at 100 %. */
export function MarginBar({ margin }: { margin: number | null }) {
  const m = Math.max(-1, Math.min(1, margin ?? 0));
  return (
    <svg class={`marginbar ${m < 0 ? "under" : "over"}`} viewBox="-52 0 104 10" width="104" height="10" aria-hidden="true">
      <rect x={m < 0 ? 50 * m : 0} y="2" width={Math.max(Math.abs(50 * m), 1)} height="6" />
      <path d="M0 0v10" />
    </svg>
  );
}

export function Problems({ list, title }: { list: Problem[]; title?: string }) {
  if (list.length === 0) return null;
  return (
    <div class="problems" role="alert">
      {title && <p>{title}</p>}
      <ul>
        {list.map((p) => (
          <li>
            {p.line > 0 && <span class="where">line {p.line}</span>} {problemText(p)}
          </li>
        ))}
      </ul>
    </div>
  );
}

const doing: Record<Job["kind"], string> = {
  design: "Searching",
  check: "Proving",
  yield: "Building units",
  torque: "Turning the motor",
  handoff: "Proving and writing",
  faults: "Trying faults",
  compare: "Holding the capture against units",
  identify: "Fitting",
  import: "Reading parts",
};

export function Progress({ job }: { job: Job }) {
  const cancel = () => api.cancelJob(job.id).then(pollJobs, pollJobs);
  const what = doing[job.kind];
  return (
    <div class="progress">
      <p>
        <strong>{job.phase === "waiting" ? "Waiting" : what}</strong>{" "}
        <span class="soft">
          {job.note && job.kind === "design" ? job.note : job.share !== null ? percent(job.share) : ""} {duration(job.seconds)}
        </span>
      </p>
      <progress max={1} value={job.share ?? undefined} aria-label={`${what} ${job.file}`} />
      <button type="button" onClick={cancel} aria-label={`Stop: ${what}`}>
        Stop
      </button>
    </div>
  );
}

export function Section(props: { id: string; title: string; aside?: ComponentChildren; children: ComponentChildren }) {
  return (
    <section class="sheet" aria-labelledby={props.id}>
      <header>
        <h2 id={props.id}>{props.title}</h2>
        {props.aside}
      </header>
      {props.children}
    </section>
  );
}

/** A wide table may be scrolled by keyboard too. */
export function Wide({ label, children }: { label: string; children: ComponentChildren }) {
  return (
    <div class="wide" role="region" aria-label={label} tabIndex={0}>
      {children}
    </div>
  );
}

/** A column's name: of numbers, or one that only a screen reader says. */
export const right = (name: string) => ({ name, class: "n" });
export const unseen = (name: string) => ({ name, class: "hidden" });

/** The head line of a table. */
export function Head({ of }: { of: (string | { name: string; class: string })[] }) {
  return (
    <thead>
      <tr>
        {of.map((c) =>
          typeof c === "string" ? (
            <th scope="col">{c}</th>
          ) : (
            <th scope="col" class={c.class === "n" ? "n" : undefined}>
              {c.class === "hidden" ? <span class="hidden">{c.name}</span> : c.name}
            </th>
          ),
        )}
      </tr>
    </thead>
  );
}
