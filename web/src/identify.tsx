// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What motor a capture shows, and its figures taken into the brief.
import { useEffect, useState } from "preact/hooks";
import { useAnswer } from "./answer";
import { api, type CaptureAsked, type IdentifyAnswer } from "./api";
import { Head, Problems, Progress, right, Section, Wide } from "./bits";
import { percent, quantity, words } from "./format";
import { Key, LinesPlot } from "./lines";
import { hrefOf } from "./store";

interface Props {
  file: string;
  /** The brief the design was searched for; empty if it came from none. */
  brief: string;
  asked: CaptureAsked;
  take: (found: Record<string, string>) => void;
}

const textsOf = (a: IdentifyAnswer) => Object.fromEntries(Object.entries(a.parameters).map(([name, p]) => [`motor.${name}`, p.text]));

export function Identified({ file, brief, asked, take }: Props) {
  const run = useAnswer<IdentifyAnswer>();
  const writing = useAnswer<IdentifyAnswer>();
  const [voltage, setVoltage] = useState("");
  const [before, setBefore] = useState<Record<string, string>>({});
  const question = { ...asked, voltage };
  const a = run.answer;
  const readBrief = () =>
    brief &&
    api.file(brief).then(
      (f) => api.readBrief(brief, f.text).then((s) => setBefore(Object.fromEntries(Object.entries(s.entries).map(([k, e]) => [k, e.text])))),
      () => undefined,
    );
  useEffect(() => void readBrief(), [brief]);
  useEffect(() => {
    if (writing.answer?.brief) take(textsOf(writing.answer));
  }, [writing.answer]);
  const write = () => {
    if (brief) void writing.start(api.startJob("identify", file, {}, { ...question, brief }));
    else if (a) take(textsOf(a));
  };
  return (
    <Section id="identified" title="What the motor is">
      <p class="tools">
        <button type="button" onClick={() => run.start(api.startJob("identify", file, {}, question))} disabled={!!run.job}>
          Identify
        </button>
        <label>
          step of <input class="short" placeholder="12 V" value={voltage} onInput={(e) => setVoltage(e.currentTarget.value)} />
        </label>
        <span class="soft">where no column shows it; a voltage alone is that of an open winding of a rotor that is spun</span>
      </p>
      {run.job && <Progress job={run.job} />}
      {run.refusal && <Problems list={run.refusal.problems} />}
      {a?.problems && <Problems list={a.problems} />}
      {a?.parameters && (
        <>
          <Wide label="Figures of the motor">
            <table>
              <caption>Found from a {a.kind === "step" ? "voltage step on one winding" : "rotor that is spun"}</caption>
              <Head of={["Figure", right("Found"), right(`With ${percent(a.confidence)} confidence`), ...(brief ? [right("In the brief")] : [])]} />
              <tbody>
                {Object.entries(a.parameters).map(([name, p]) => (
                  <tr>
                    <th scope="row">{words(name)}</th>
                    <td class="n strong">{quantity(p.value, p.unit, 4)}</td>
                    <td class="n">
                      {quantity(p.low, p.unit, 4)} to {quantity(p.high, p.unit, 4)}
                    </td>
                    {brief && <td class="n">{before[`motor.${name}`] ?? "not given"}</td>}
                  </tr>
                ))}
              </tbody>
            </table>
          </Wide>
          {a.fit && (
            <figure class="wave">
              <figcaption>
                <Key names={["measured", "fitted"]} />
                <span class="soft">{quantity(a.residual.deviation, a.residual.unit)} standard deviation between them</span>
              </figcaption>
              <LinesPlot lines={a.fit} unit={a.residual.unit} label="Capture and fit over time" />
            </figure>
          )}
          {a.notes.length > 0 && (
            <ul class="soft">
              {a.notes.map((n) => (
                <li>{n}</li>
              ))}
            </ul>
          )}
          <p class="tools">
            <button type="button" class="main" onClick={write} disabled={!!writing.job}>
              {brief ? "Take into the brief and prove again" : "Try in this design and prove again"}
            </button>
            <span class="soft">{brief ? `${brief} keeps its comments and its order` : "the design's own file stays as it is until you keep the changed one"}</span>
          </p>
          {writing.job && <Progress job={writing.job} />}
          {writing.refusal && <Problems list={writing.refusal.problems} />}
          {writing.answer?.problems && <Problems list={writing.answer.problems} />}
          {writing.answer?.brief && (
            <p role="status">
              Written. This design is being proven with them; <a href={hrefOf("brief", brief)}>the brief</a> can be searched anew.
            </p>
          )}
        </>
      )}
    </Section>
  );
}
