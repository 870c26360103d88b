// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The proof: margins sorted by tightness, what each rests on, and the sections beside them.
import { useState } from "preact/hooks";
import type { Changes, Check, CheckAnswer, DesignView, Job, Picture } from "./api";
import { Head, Mark, MarginBar, Progress, right, Section, unseen, Wide } from "./bits";
import { EnergyFlow } from "./energy";
import { Faults } from "./faults";
import { measured, percent, quantity, words } from "./format";
import { Heat } from "./heat";
import { TorqueSpeed } from "./torque";
import { Units } from "./units";

const grades: Record<string, string> = {
  G: "guaranteed data-sheet limits",
  M: "a model",
  A: "an assumption",
};

/** Draws the waveforms of a corner, or of a virtual unit, over the typical ones. */
export type Overlay = (at: Pick<Changes, "corner"> | Pick<Changes, "unit">, name: string) => void;

// What a reader wants first; the rest is a click away.
const kTightest = 16;

/** Legs are alike, and so are their checks: subjects with the same numbers share a row. */
function grouped(checks: Check[]): { check: Check; subjects: string[] }[] {
  const rows = new Map<string, { check: Check; subjects: string[] }>();
  for (const c of [...checks].sort((a, b) => (a.margin ?? -1e9) - (b.margin ?? -1e9))) {
    const key = [c.id, measured(c.value, c.unit), measured(c.limit, c.unit), c.grade, JSON.stringify(c.corner)].join("|");
    const row = rows.get(key);
    if (row) row.subjects.push(c.subject);
    else rows.set(key, { check: c, subjects: [c.subject] });
  }
  return [...rows.values()];
}

const corner = (c: Check) => {
  const moved = Object.entries(c.corner ?? {}).filter(([, end]) => end !== "typ");
  return moved.length === 0 ? "typical values" : moved.map(([name, end]) => `${words(name)} ${end}`).join(", ");
};

interface PanelProps {
  file: string;
  view: DesignView;
  proof: { job: Job | undefined; answer: CheckAnswer | null };
  picture: Picture | null;
  overlay: Overlay;
  changes: () => Changes;
}

/** All that is known of how well the design works. */
export function ProofPanel({ file, view, proof, picture, overlay, changes }: PanelProps) {
  return (
    <>
      <Contents />
      {proof.job && <Progress job={proof.job} />}
      {proof.answer?.interrupted ? <p>The proof was stopped.</p> : proof.answer?.checks ? <Proof answer={proof.answer} overlay={overlay} /> : null}
      <TorqueSpeed file={file} hash={view.input_sha256} changes={changes} />
      <Faults file={file} hash={view.input_sha256} changes={changes} />
      <Units file={file} hash={view.input_sha256} changes={changes} overlay={overlay} />
      {picture && (
        <Section id="heat" title="Heat over the duty cycle">
          <Heat view={view} picture={picture} />
        </Section>
      )}
      {picture && (
        <Section id="energy" title="Where the energy goes">
          <EnergyFlow picture={picture} />
        </Section>
      )}
    </>
  );
}

/** The proof is long: one step to each of its sections. */
function Contents() {
  const go = (id: string) => {
    const title = document.getElementById(id);
    title?.scrollIntoView({ block: "start" });
    title?.setAttribute("tabindex", "-1");
    title?.focus({ preventScroll: true });
  };
  const all = [
    ["margins", "Margins"],
    ["torque", "Torque over speed"],
    ["faults", "Single faults"],
    ["units", "Virtual units"],
    ["heat", "Heat"],
    ["energy", "Energy"],
  ];
  return (
    <p class="contents">
      {all.map(([id, name]) => (
        <button type="button" class="link" onClick={() => go(id)}>
          {name}
        </button>
      ))}
    </p>
  );
}

function Proof({ answer, overlay }: { answer: CheckAnswer; overlay: Overlay }) {
  const [open, setOpen] = useState<string | null>(null);
  const [all, setAll] = useState(false);
  const every = grouped(answer.checks);
  const failing = every.filter((r) => !r.check.passes).length;
  const rows = all ? every : every.slice(0, Math.max(kTightest, failing));
  return (
    <Section id="margins" title="Margins">
      {answer.undecided.length > 0 && (
        <div class="problems">
          <p>The proof could not be finished:</p>
          <ul>
            {answer.undecided.map((u) => (
              <li>{u}</li>
            ))}
          </ul>
        </div>
      )}
      <Wide label="Margins, tightest first">
        <table class="margins">
          <caption>Margins at the worst corner of each check, tightest first</caption>
          <Head of={["Check", "Verdict", right("To spare"), unseen("as a bar"), right("Worst"), right("Limit"), right("Nominal"), "Grade"]} />
          <tbody>
            {rows.map(({ check: c, subjects }, k) => {
              const id = `${c.id}-${k}`;
              return (
                <>
                  <tr class={c.passes ? undefined : "failing"}>
                    <th scope="row">
                      <button type="button" class="link" aria-expanded={open === id} onClick={() => setOpen(open === id ? null : id)}>
                        {words(c.id)}
                      </button>{" "}
                      <span class="soft">{subjects.join(", ")}</span>
                    </th>
                    <td>
                      <Mark passes={c.passes} />
                    </td>
                    <td class="n strong">{percent(c.margin)}</td>
                    <td>
                      <MarginBar margin={c.margin} />
                    </td>
                    <td class="n">{measured(c.value, c.unit)}</td>
                    <td class="n">
                      {c.sense === "max" ? "≤" : "≥"} {measured(c.limit, c.unit)}
                    </td>
                    <td class="n">{measured(c.nominal, c.unit)}</td>
                    <td>
                      <abbr title={grades[c.grade ?? ""]}>{c.grade}</abbr>
                    </td>
                  </tr>
                  {open === id && (
                    <tr class="more">
                      <td colSpan={8}>
                        <Details check={c} overlay={overlay} />
                      </td>
                    </tr>
                  )}
                </>
              );
            })}
          </tbody>
        </table>
      </Wide>
      {every.length > rows.length && (
        <p>
          <button type="button" onClick={() => setAll(true)}>
            Show all {every.length} rows
          </button>{" "}
          <span class="soft">the others have more than {percent(rows[rows.length - 1].check.margin)} to spare</span>
        </p>
      )}
      {answer.not_judged.length > 0 && (
        <p class="soft">
          <strong>Not judged yet:</strong> {answer.not_judged.map(words).join(", ")}.
        </p>
      )}
    </Section>
  );
}

function Details({ check: c, overlay }: { check: Check; overlay: Overlay }) {
  const isCorner = Object.values(c.corner ?? {}).some((end) => end !== "typ");
  const facts = Object.entries(c.facts ?? {});
  return (
    <dl class="details">
      <dt>What it says</dt>
      <dd>{c.help}</dd>
      <dt>Worst at</dt>
      <dd>
        {corner(c)}{" "}
        {isCorner && (
          <button type="button" class="quiet" onClick={() => overlay({ corner: c.corner ?? {} }, `the worst corner of ${words(c.id)} ${c.subject}`)}>
            Show its waveforms
          </button>
        )}
      </dd>
      <dt>Limit from</dt>
      <dd>{c.source}</dd>
      <dt>Rests on</dt>
      <dd>
        {c.grade}: {grades[c.grade ?? ""]}
      </dd>
      {c.hand?.formula && (
        <>
          <dt>By hand</dt>
          <dd>
            {c.hand.formula} = {measured(c.hand.value, c.unit)}
            {typeof c.hand.difference === "number" && <>, and the run is {percent(c.hand.difference)} from it</>}
          </dd>
        </>
      )}
      {c.inputs && c.inputs.length > 0 && (
        <>
          <dt>Hangs most on</dt>
          <dd>{c.inputs.map((i) => `${words(i.figure)} at its ${i.end} (${i.margin_change > 0 ? "+" : ""}${percent(i.margin_change)})`).join(", ")}</dd>
        </>
      )}
      {facts.map(([name, value]) => (
        <>
          <dt>{words(name.replace(/_[A-Za-z]+$/, ""))}</dt>
          <dd>{quantity(value, name.match(/_([A-Za-z]+)$/)?.[1] ?? "")}</dd>
        </>
      ))}
    </dl>
  );
}
