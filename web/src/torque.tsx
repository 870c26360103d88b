// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Torque over step rate with the working point, and below it the rotor's greatest lag: where it
// rises, the motor resonates.
import { useAnswer } from "./answer";
import { api, type Changes, type TorqueAnswer } from "./api";
import { Head, Problems, Progress, right, Section, Wide } from "./bits";
import { quantity } from "./format";
import { ticks } from "./plot";

export function TorqueSpeed({ file, hash, changes }: { file: string; hash: string; changes: () => Changes }) {
  const curve = useAnswer<TorqueAnswer>(`torque ${hash}`);
  const a = curve.answer;
  return (
    <Section id="torque" title="Torque over speed">
      <p class="tools">
        <button type="button" onClick={() => curve.start(api.startJob("torque", file, changes()))} disabled={!!curve.job}>
          Draw
        </button>
        <span class="soft">what the design carries without losing a step, from a quarter to four times the rate</span>
      </p>
      {curve.job && <Progress job={curve.job} />}
      {curve.refusal && <Problems list={curve.refusal.problems} />}
      {a?.points && <Curve answer={a} />}
    </Section>
  );
}

const W = 640;
const [kLeft, kRight] = [78, 16];
const kLow = 0.25;
const kHigh = 4;

function Curve({ answer: a }: { answer: TorqueAnswer }) {
  const X = (rate: number) => kLeft + ((W - kLeft - kRight) * Math.log(rate / a.rate_steps_s / kLow)) / Math.log(kHigh / kLow);
  const most = Math.max(...a.points.map((p) => p.pull_out_Nm ?? 0), ...a.points.map((p) => p.pull_in_Nm ?? 0), a.load_Nm) * 1.1 || 1;
  const lagMost = Math.max(...a.points.map((p) => Math.min(p.lag_step ?? 0, 4)), 1) * 1.1;
  const T = (torque: number) => 190 - (170 * torque) / most;
  const L = (lag: number) => 300 - (70 * Math.min(lag, 4)) / lagMost;
  const line = (y: (p: TorqueAnswer["points"][number]) => number | null) =>
    a.points
      .filter((p) => y(p) !== null)
      .map((p) => `${X(p.rate_steps_s)},${y(p)}`)
      .join(" ");
  return (
    <figure>
      <Wide label="Torque and lag over rate, as lines">
        <svg class="torquecurve" viewBox={`0 0 ${W} 330`} role="img" aria-label="Pull-in and pull-out torque and greatest lag over step rate; the table below has the numbers">
          {a.resonance && (
            <g class="band">
              <rect x={X(a.resonance.from_steps_s) - 3} y="15" width={X(a.resonance.to_steps_s) - X(a.resonance.from_steps_s) + 6} height="285" />
              <text x={X(a.resonance.worst_steps_s)} y="216" text-anchor="middle">
                resonance
              </text>
            </g>
          )}
          <path class="axis" d={`M${kLeft} 15V190H${W - kRight}M${kLeft} 225V300H${W - kRight}`} />
          {ticks(0, most).map((m) => (
            <>
              <path class="grid" d={`M${kLeft} ${T(m)}H${W - kRight}`} />
              <text x={kLeft - 6} y={T(m) + 4} text-anchor="end">
                {quantity(m, "N m")}
              </text>
            </>
          ))}
          {[0, lagMost / 1.1].map((lag) => (
            <text x={kLeft - 6} y={L(lag) + 4} text-anchor="end">
              {quantity(lag, "steps")}
            </text>
          ))}
          <text x={kLeft + 6} y="12">
            torque carried
          </text>
          <text x={kLeft + 6} y="222">
            greatest lag
          </text>
          {[0.25, 0.5, 1, 2, 4].map((m) => (
            <text x={X(m * a.rate_steps_s)} y="320" text-anchor={m === 4 ? "end" : "middle"}>
              {quantity(m * a.rate_steps_s, "steps/s")}
            </text>
          ))}
          <polyline class="trace-1" points={line((p) => (p.pull_out_Nm === null ? null : T(p.pull_out_Nm)))} />
          <polyline class="trace-1" stroke-dasharray="7 4" points={line((p) => (p.pull_in_Nm === null ? null : T(p.pull_in_Nm)))} />
          <polyline class="trace-2" points={line((p) => (p.lag_step === null ? null : L(p.lag_step)))} />
          {a.points
            .filter((p) => (p.steps_lost ?? 1) > 0)
            .map((p) => (
              <path class="lost" d={`M${X(p.rate_steps_s) - 5} ${T(a.load_Nm) - 5}l10 10m0 -10l-10 10`} />
            ))}
          <g transform={`translate(${X(a.rate_steps_s)} ${T(a.load_Nm)})`} class="work">
            <circle r="6" />
            <text x="10" y="-8">
              working point, {quantity(a.load_Nm, "N m")}
            </text>
          </g>
        </svg>
      </Wide>
      <figcaption>
        Upper lines, at typical values: torque at the output shaft that is carried once a gentle ramp has led to the rate (pull-out); dashed,
        torque with which the motor starts and stops at the rate without a ramp (pull-in). Lower line: greatest lag of the rotor with the
        brief's own load, started and ramped as the brief does it; a step is lost beyond two. Crosses: rates at which the brief's load loses steps.{" "}
        {a.resonance
          ? `Shaded: resonance, worst at ${quantity(a.resonance.worst_steps_s, "steps/s")}.`
          : "No resonance stands out in this range."}{" "}
        {a.natural_Hz !== null && `By hand, small swings about a detent of the field go at ${quantity(a.natural_Hz, "Hz")}.`}
      </figcaption>
      <details>
        <summary>As numbers</summary>
        <Wide label="Torque over rate">
          <table>
            <Head of={[right("Rate"), right("Pull-in"), right("Pull-out"), right("Greatest lag"), right("Steps lost")]} />
            <tbody>
              {a.points.map((p) => (
                <tr>
                  <td class="n">{quantity(p.rate_steps_s, "steps/s")}</td>
                  <td class="n">{quantity(p.pull_in_Nm, "N m")}</td>
                  <td class="n">{quantity(p.pull_out_Nm, "N m")}</td>
                  <td class="n">{quantity(p.lag_step, "steps")}</td>
                  <td class="n">{p.steps_lost ?? "not known"}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </Wide>
      </details>
    </figure>
  );
}
