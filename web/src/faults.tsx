// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What one failed part, pin or wire does: every case by class, the worst class first.
import { useState } from "preact/hooks";
import { useAnswer } from "./answer";
import { api, type Changes, type FaultCase, type FaultsAnswer } from "./api";
import { Head, Problems, Progress, right, Section, Wide } from "./bits";
import { quantity } from "./format";

/** Worst first, with a mark of its own each: colour alone says nothing. */
const classes = [
  { name: "hazard", says: "something burns and nothing ends it", mark: "M8 2L15 14H1zM8 6v4M8 11.5v1" },
  { name: "destroyed but contained", says: "a part is lost, and nothing more", mark: "M2 2h12v12H2zM5 5l6 6M11 5l-6 6" },
  { name: "stops safely", says: "nothing is harmed, the motor does not do its work", mark: "M3 3h10v10H3z" },
  { name: "works on", says: "nothing is harmed, and every step is made", mark: "M3 8.5l3.5 3.5L13 4.5" },
];
const slug = (name: string) => name.replace(/ /g, "-");
// What a reader wants first; the rest is a click away.
const kShown = 6;

export function Faults({ file, hash, changes }: { file: string; hash: string; changes: () => Changes }) {
  const run = useAnswer<FaultsAnswer>(`faults ${hash}`);
  const [only, setOnly] = useState<string | null>(null);
  const a = run.answer;
  return (
    <Section id="faults" title="Single faults">
      <p class="tools">
        <button type="button" onClick={() => run.start(api.startJob("faults", file, changes()))} disabled={!!run.job}>
          Try every fault
        </button>
        <span class="soft">each part open and short, each pin stuck, each wire off or at the wrong place, one at a time</span>
      </p>
      {run.job && <Progress job={run.job} />}
      {run.refusal && <Problems list={run.refusal.problems} />}
      {a?.interrupted && <p>Stopped.</p>}
      {a?.problems && <Problems list={a.problems} />}
      {a?.cases && (
        <>
          <ByClass answer={a} only={only} setOnly={setOnly} />
          {a.undecided.length > 0 && (
            <details>
              <summary>Without an answer: {a.undecided.length}</summary>
              <ul>
                {a.undecided.map((u) => (
                  <li>{u}</li>
                ))}
              </ul>
            </details>
          )}
          <Wide label="Cases by class">
            <table class="faults">
              <Head of={["Part", "What fails", right("Hottest"), right("Most current"), right("Watts there"), right("Fuse opens"), "Detected by", "Contained by"]} />
              {classes
                .filter((c) => (a.by_class[c.name] ?? 0) > 0 && (only === null || only === c.name))
                .map((c) => (
                  <Cases key={c.name} of={c} cases={a.cases.filter((f) => f.class === c.name)} whole={only === c.name} />
                ))}
            </table>
          </Wide>
          <p class="soft">
            At the highest supply and ambient. Detected by: what a test at power-on sees, in a state ++, +-, -+ or -- of windings a and b, + forward and - backward; latent: what no such test sees. Watts there: what the
            supply can put into what burns; under 15 W is contained.
          </p>
        </>
      )}
    </Section>
  );
}

/** How many cases each class has, as one bar whose pieces filter. */
function ByClass({ answer: a, only, setOnly }: { answer: FaultsAnswer; only: string | null; setOnly: (name: string | null) => void }) {
  const all = classes.reduce((n, c) => n + (a.by_class[c.name] ?? 0), 0) || 1;
  let at = 0;
  return (
    <div class="byclass">
      <svg viewBox="0 0 1000 26" preserveAspectRatio="none" role="img" aria-label={classes.map((c) => `${a.by_class[c.name] ?? 0} ${c.name}`).join(", ")}>
        {classes.map((c) => {
          const x = at;
          at += (1000 * (a.by_class[c.name] ?? 0)) / all;
          return <rect class={`fault ${slug(c.name)}`} x={x} width={Math.max(at - x - 2, 0)} height="26" opacity={only === null || only === c.name ? 1 : 0.3} />;
        })}
      </svg>
      <div class="tools" role="group" aria-label="Show only">
        <button type="button" aria-pressed={only === null} onClick={() => setOnly(null)}>
          All {all}
        </button>
        {classes.map((c) => (
          <button type="button" aria-pressed={only === c.name} disabled={!a.by_class[c.name]} onClick={() => setOnly(only === c.name ? null : c.name)}>
            <ClassMark of={c} /> {c.name} {a.by_class[c.name] ?? 0}
          </button>
        ))}
      </div>
    </div>
  );
}

function ClassMark({ of: c }: { of: (typeof classes)[number] }) {
  return (
    <svg class={`faultmark ${slug(c.name)}`} viewBox="0 0 16 16" width="14" height="14" aria-hidden="true">
      <path d={c.mark} />
    </svg>
  );
}

function Cases({ of: c, cases, whole }: { of: (typeof classes)[number]; cases: FaultCase[]; whole: boolean }) {
  const [all, setAll] = useState(false);
  // Of equal class the one with more power behind it is worse.
  const sorted = [...cases].sort((x, y) => (y.available_W ?? 0) - (x.available_W ?? 0) || (y.peak_degC ?? 0) - (x.peak_degC ?? 0));
  const rows = all || whole ? sorted : sorted.slice(0, kShown);
  return (
    <tbody>
      <tr class="group">
        <th scope="rowgroup" colSpan={8}>
          <ClassMark of={c} /> {c.name}: {sorted.length} <span class="soft">{c.says}</span>
        </th>
      </tr>
      {rows.map((f) => (
        <tr>
          <th scope="row">{f.part}</th>
          <td>{f.fault}</td>
          <td class="n">
            {f.melts && "above "}
            {quantity(f.peak_degC, "degC")} <span class="soft">{f.hottest}</span>
          </td>
          <td class="n">{quantity(f.peak_A, "A")}</td>
          <td class="n">{quantity(f.available_W, "W")}</td>
          <td class="n">{f.fuse_s === null ? "no" : `in ${quantity(f.fuse_s, "s", 2)}`}</td>
          <td>{f.detected_by}</td>
          <td>{f.contain}</td>
        </tr>
      ))}
      {sorted.length > rows.length && (
        <tr>
          <td colSpan={8}>
            <button type="button" class="link" onClick={() => setAll(true)} aria-label={`Show all ${sorted.length} of ${c.name}`}>
              Show all {sorted.length}
            </button>
          </td>
        </tr>
      )}
    </tbody>
  );
}
