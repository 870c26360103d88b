// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A capture held against the design: measured over expected, where it leaves the band of units that
// keep their limits, and what would explain it.
import { useState } from "preact/hooks";
import { useAnswer } from "./answer";
import { api, type CaptureAsked, type Changes, type CompareAnswer } from "./api";
import { Head, Mark, Problems, Progress, right, Section, unseen, Wide } from "./bits";
import { percent, quantity, significant, words } from "./format";
import { Key, LinesPlot } from "./lines";

export function Comparison({ file, asked, changes }: { file: string; asked: CaptureAsked; changes: () => Changes }) {
  const run = useAnswer<CompareAnswer>();
  const a = run.answer;
  return (
    <Section id="comparison" title="Against this design">
      <p class="tools">
        <button type="button" onClick={() => run.start(api.startJob("compare", file, changes(), asked))} disabled={!!run.job}>
          Compare
        </button>
        <span class="soft">with units drawn from all tolerances; lined up in time by itself</span>
      </p>
      {run.job && <Progress job={run.job} />}
      {run.refusal && <Problems list={run.refusal.problems} />}
      {a?.interrupted && <p>Stopped.</p>}
      {a?.problems && <Problems list={a.problems} />}
      {a?.deviations && <Found answer={a} />}
    </Section>
  );
}

const kShown = 8;
const kPlots = 3;

function Found({ answer: a }: { answer: CompareAnswer }) {
  const [all, setAll] = useState(false);
  // Those that leave the band first.
  const farthest = a.deviations.map((d) => d.channel);
  const order = (channel: string) => (farthest.includes(channel) ? farthest.indexOf(channel) : farthest.length);
  const overlays = [...(a.overlays ?? [])].sort((x, y) => order(x.channel) - order(y.channel));
  const shown = all ? overlays : overlays.slice(0, kPlots);
  return (
    <>
      <p class="lead">
        <Mark passes={a.inside_band} />{" "}
        {a.inside_band ? "The capture is inside the band" : "The capture leaves the band"}: {percent(a.outside)} of its readings lie outside of
        what {a.band.units} units do. <span class="soft">Likeness {significant(a.likeness)}; its time plus {quantity(a.aligned_s, "s", 4)} is the design's.</span>
      </p>
      {shown.map((o) => (
        <figure class="wave">
          <figcaption>
            <strong>{words(o.channel)}</strong>
            <Key names={["measured", "expected"]} band="the band" />
          </figcaption>
          <LinesPlot lines={o} unit={o.unit} height={190} label={`${words(o.channel)}: measured, expected and the band, over time`} />
        </figure>
      ))}
      {overlays.length > shown.length && (
        <p>
          <button type="button" onClick={() => setAll(true)}>
            Show all {overlays.length} channels
          </button>
        </p>
      )}
      <Deviations list={a.deviations} />
      <Causes list={a.causes} />
      {a.notes.length > 0 && (
        <ul class="soft">
          {a.notes.map((n) => (
            <li>{n}</li>
          ))}
        </ul>
      )}
    </>
  );
}

function Deviations({ list }: { list: CompareAnswer["deviations"] }) {
  if (list.length === 0) return null;
  return (
    <Wide label="Deviations">
      <table>
        <caption>Stretches outside of the band, farthest first</caption>
        <Head of={["Channel", right("From"), right("To"), right("Farthest at"), right("Measured"), right("Band"), right("Expected")]} />
        <tbody>
          {list.slice(0, kShown).map((d) => (
            <tr>
              <th scope="row">{words(d.channel)}</th>
              <td class="n">{quantity(d.from_s, "s", 4)}</td>
              <td class="n">{quantity(d.to_s, "s", 4)}</td>
              <td class="n">{quantity(d.at_s, "s", 4)}</td>
              <td class="n strong">{quantity(d.value, d.unit)}</td>
              <td class="n">
                {quantity(d.low, d.unit)} to {quantity(d.high, d.unit)}
              </td>
              <td class="n">{quantity(d.expected, d.unit)}</td>
            </tr>
          ))}
        </tbody>
      </table>
      {list.length > kShown && <p class="soft">and {list.length - kShown} more</p>}
    </Wide>
  );
}

function Causes({ list }: { list: CompareAnswer["causes"] }) {
  const rows = list.filter((c) => (c.explains ?? 0) > 0.005).slice(0, kShown);
  if (rows.length === 0) return null;
  return (
    <Wide label="What would explain it">
      <table class="reasons">
        <caption>What would explain it, each alone, best first</caption>
        <Head of={["Cause", right("Explains"), unseen("as a bar"), right("Here"), right("By the design")]} />
        <tbody>
          {rows.map((c) => (
            <tr>
              <th scope="row">{words(c.key)}</th>
              <td class="n strong">{percent(c.explains)}</td>
              <td class="bar">
                <svg viewBox="0 0 100 8" preserveAspectRatio="none" aria-hidden="true">
                  <rect width={100 * (c.explains ?? 0)} height="8" />
                </svg>
              </td>
              <td class="n">{c.unit === "1" ? "there" : quantity(c.fitted, c.unit)}</td>
              <td class="n">{c.unit === "1" ? "" : quantity(c.nominal, c.unit)}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </Wide>
  );
}
