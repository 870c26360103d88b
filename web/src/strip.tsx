// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A design in a few figures: those that matter most, and the tightest checks at typical values.
import type { Check, CheckAnswer, Job, Picture } from "./api";
import { Mark } from "./bits";
import { money, percent, quantity, words } from "./format";

/** The tightest check of each kind at typical values: a hint while dragging, not the proof. */
export function Nominal({ picture }: { picture: Picture }) {
  const worst = new Map<string, Check>();
  for (const c of [...picture.checks].sort((a, b) => (a.margin ?? 0) - (b.margin ?? 0))) if (!worst.has(c.id)) worst.set(c.id, c);
  const list = [...worst.values()].slice(0, 7);
  const fails = picture.checks.filter((c) => !c.passes).length;
  return (
    <>
      <h3>At typical values: {fails ? `${fails} checks fail` : "nothing fails"}</h3>
      <ul class="nominal">
        {list.map((c) => (
          <li class={c.passes ? undefined : "under"}>
            <span>
              {words(c.id)} {c.subject}
            </span>
            <span class="n">{percent(c.margin)}</span>
          </li>
        ))}
      </ul>
    </>
  );
}

/** The figures that matter most, nominal ones labelled so. */
export function Strip(props: { picture: Picture | null; proof: CheckAnswer | null; job: Job | undefined; changed: boolean }) {
  const { picture, proof, job } = props;
  const worst = [...(picture?.checks ?? [])].sort((a, b) => (a.margin ?? 0) - (b.margin ?? 0))[0];
  const proven = proof?.tightest_margin;
  return (
    <dl class="strip" aria-live="off">
      <div>
        <dt>Landed cost</dt>
        <dd>
          {picture?.cost ? money(picture.cost.total, picture.cost.currency) : "not known"}
          <span class="soft">{picture?.cost ? `at ${picture.cost.quantity.toLocaleString("en")}` : picture ? "a part lacks price, currency or package" : ""}</span>
        </dd>
      </div>
      <div>
        <dt>Proof{props.changed ? " of these values" : ""}</dt>
        <dd>
          {job ? (
            <span class="soft">running {percent(job.share ?? 0)}</span>
          ) : proof?.checks ? (
            <>
              <Mark passes={proof.passes ? true : proof.undecided.length && proof.checks.every((c) => c.passes) ? null : false} />
              {proven && (
                <span class="soft">
                  {percent(proven.margin)} in the worst corner: {words(proven.id)} {proven.subject}
                </span>
              )}
            </>
          ) : (
            <span class="soft">not run</span>
          )}
        </dd>
      </div>
      <div>
        <dt>Tightest, nominal</dt>
        <dd>
          {worst ? percent(worst.margin) : "…"}
          <span class="soft">{worst ? `${words(worst.id)} ${worst.subject}` : ""}</span>
        </dd>
      </div>
      <div>
        <dt>Winding, nominal</dt>
        <dd>
          {quantity(picture?.winding_a.rms, "A")}
          <span class="soft">RMS; {quantity(picture?.winding_a.peak, "A")} peak</span>
        </dd>
      </div>
      <div>
        <dt>Rotor, nominal</dt>
        <dd>
          {picture ? `${picture.rotor.steps_made} of ${picture.rotor.steps_commanded}` : "…"}
          <span class="soft">{picture?.rotor.steps_lost ? `${picture.rotor.steps_lost} steps lost` : "steps made"}</span>
        </dd>
      </div>
    </dl>
  );
}
