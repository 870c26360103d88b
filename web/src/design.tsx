// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// One design: its schematic and parts, sliders that its picture follows, and its proof.
import { useEffect, useMemo, useRef, useState } from "preact/hooks";
import {
  type Alternatives,
  api,
  type Check,
  type CheckAnswer,
  downloadOf,
  type HandoffAnswer,
  type DesignView as View,
  type Job,
  type Keys,
  latestWins,
  type PartLine,
  type Picture,
  Refusal,
  type Slider,
  type Changes,
} from "./api";
import { Mark, Problems, Progress, Section, Wide } from "./bits";
import { money, percent, quantity, words } from "./format";
import { EnergyFlow, Proof } from "./proof";
import { changesOf, type Moved, Sliders } from "./sliders";
import { goTo, notice } from "./store";
import { TorqueSpeed } from "./torque";
import { Units, useAnswer } from "./units";
import { WavesPanel } from "./waves";

interface Props {
  file: string;
  keys: Keys;
}
type Tab = "circuit" | "waves" | "proof";
const tabs: [Tab, string][] = [
  ["circuit", "Circuit and parts"],
  ["waves", "Waveforms"],
  ["proof", "Proof"],
];
// Fewer points while a slider moves: a picture in time is worth more than a fine one.
const kDragPoints = 300;
const kRestPoints = 800;

// On a narrow screen the sliders wait behind their heading.
const isRoomy = window.matchMedia("(min-width: 821px)").matches;

/** The last proof asked for: its job while it runs, and its answer once it is there. */
function useProof(file: string) {
  const { start, answer, job } = useAnswer<CheckAnswer>();
  const ask = (changes: Changes) => start(api.startJob("check", file, changes));
  return { job, answer, ask };
}

export function DesignView({ file }: Props) {
  const [view, setView] = useState<View | null>(null);
  const [picture, setPicture] = useState<Picture | null>(null);
  const [refusal, setRefusal] = useState<Refusal | null>(null);
  const [moved, setMoved] = useState<Moved>({});
  const [swapped, setSwapped] = useState<Record<string, string>>({});
  const [tab, setTab] = useState<Tab>("circuit");
  const [time, setTime] = useState(0);
  const [corner, setCorner] = useState<{ name: string; picture: Picture } | null>(null);
  const [late, setLate] = useState<Refusal | null>(null);
  const base = useRef<Slider[]>([]);
  const proof = useProof(file);

  const draw = useMemo(
    () =>
      latestWins(
        ({ changes, points }: { changes: Changes; points: number }) => api.picture(file, changes, points),
        (p) => (setPicture(p), setLate(null)),
        (e) => e instanceof Refusal && setLate(e),
      ),
    [file],
  );
  const show = (changes: Changes) =>
    api.design(file, changes).then(setView, (e) => (base.current.length ? setLate(e) : setRefusal(e)));
  useEffect(() => {
    void show({});
    draw({ changes: {}, points: kRestPoints });
    void proof.ask({});
  }, [file]);
  useEffect(() => {
    if (view) document.title = `${view.title}: design`;
  }, [view?.title]);

  // Ends of the sliders are those of the design as it is in its file.
  if (view && base.current.length === 0) base.current = view.sliders;
  const deadTime = useRef<Slider | null>(null);
  if (picture && !deadTime.current) {
    const value = view?.dead_time_s ?? picture.dead_time_s;
    // A wiring whose pins turn no single switch off has none.
    deadTime.current = { kind: "dead_time", key: "dead_time", label: "dead time", unit: "s", value, low: 0, high: Math.max(4 * value, 2e-5) };
  }
  const sliders = deadTime.current && deadTime.current.value > 0 ? [...base.current, deadTime.current] : base.current;
  const isChanged = Object.keys(moved).length + Object.keys(swapped).length > 0;
  const current = useRef({ moved, swapped });
  const move = (next: Moved) => {
    current.current.moved = next;
    setMoved(next);
    setCorner(null); // it was the corner of other values
    draw({ changes: changesOf(sliders, next, current.current.swapped), points: kDragPoints });
  };
  const settle = () => {
    const changes = changesOf(sliders, current.current.moved, current.current.swapped);
    draw({ changes, points: kRestPoints });
    void show(changes);
    void proof.ask(changes);
  };
  const swap = (role: string, number: string | null) => {
    const next = { ...current.current.swapped };
    if (number === null) delete next[role];
    else next[role] = number;
    current.current.swapped = next;
    setSwapped(next);
    settle();
  };
  const reset = () => {
    current.current = { moved: {}, swapped: {} };
    setMoved({});
    setSwapped({});
    settle();
  };
  const overlay = (at: Record<string, string>, name: string) =>
    api.picture(file, { ...changesOf(sliders, moved, swapped), corner: at }, kRestPoints).then(
      (p) => {
        setCorner({ name, picture: p });
        setTab("waves");
      },
      (e) => e instanceof Refusal && setLate(e),
    );
  if (refusal) return <Problems list={refusal.problems} title={`${file} cannot be shown`} />;
  if (!view) return <p class="soft">Loading</p>;
  return (
    <>
      <div class="headline">
        <div>
          <h1>{view.title}</h1>
          <p class="lead">
            {view.wiring}, {view.sequence}. <span class="soft file">{file}</span>
          </p>
        </div>
        <div class="actions">
          {isChanged && <SaveAs file={file} changes={() => changesOf(sliders, moved, swapped)} />}
          {isChanged && (
            <button type="button" onClick={reset}>
              Back to the file
            </button>
          )}
        </div>
      </div>
      {!isChanged && <HandOver file={file} />}
      {late && <Problems list={late.problems} title="These values give no picture" />}
      <Strip picture={picture} proof={proof.answer} job={proof.job} changed={isChanged} />
      <div class="bench">
        <details class="try" open={isRoomy}>
          <summary>Try other values</summary>
          <p class="soft">The picture follows at typical values. Let go, and the proof runs anew.</p>
          <Sliders sliders={sliders} moved={moved} move={move} settle={settle} />
          {picture && <Nominal picture={picture} />}
          {Object.entries(swapped).map(([role, number]) => (
            <p class="swap">
              {words(role)}: {number}{" "}
              <button type="button" class="quiet" onClick={() => swap(role, null)}>
                undo
              </button>
            </p>
          ))}
        </details>
        <div class="panels">
          <div role="tablist" aria-label="Parts of the design" class="tabs">
            {tabs.map(([id, name], k) => (
              <button
                type="button"
                role="tab"
                id={`tab-${id}`}
                aria-selected={tab === id}
                aria-controls={`panel-${id}`}
                tabIndex={tab === id ? 0 : -1}
                onClick={() => setTab(id)}
                onKeyDown={(e) => {
                  const by = e.key === "ArrowRight" ? 1 : e.key === "ArrowLeft" ? -1 : 0;
                  if (!by) return;
                  const [next] = tabs[(k + by + tabs.length) % tabs.length];
                  setTab(next);
                  document.getElementById(`tab-${next}`)?.focus();
                }}
              >
                {name}
              </button>
            ))}
          </div>
          <div role="tabpanel" id={`panel-${tab}`} aria-labelledby={`tab-${tab}`} tabIndex={0}>
            {tab === "circuit" && <Circuit file={file} view={view} picture={picture} proof={proof.answer} time={time} setTime={setTime} swap={swap} />}
            {tab === "waves" &&
              (picture ? <WavesPanel
                  picture={picture}
                  outputs={view.outputs}
                  corner={corner && { ...corner, close: () => setCorner(null) }}
                  onTime={setTime}
                /> : <p class="soft">Running</p>)}
            {tab === "proof" && (
              <>
                {proof.job && <Progress job={proof.job} />}
                {proof.answer ? proof.answer.interrupted ? <p>The proof was stopped.</p> : <Proof answer={proof.answer} overlay={overlay} /> : null}
                <TorqueSpeed file={file} changes={() => changesOf(sliders, moved, swapped)} />
                <Units file={file} changes={() => changesOf(sliders, moved, swapped)} />
                {picture && (
                  <Section id="energy" title="Where the energy goes">
                    <EnergyFlow picture={picture} />
                  </Section>
                )}
              </>
            )}
          </div>
        </div>
      </div>
    </>
  );
}

/** The tightest check of each kind at typical values: a hint while dragging, not the proof. */
function Nominal({ picture }: { picture: Picture }) {
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
function Strip(props: { picture: Picture | null; proof: CheckAnswer | null; job: Job | undefined; changed: boolean }) {
  const { picture, proof, job } = props;
  const worst = [...(picture?.checks ?? [])].sort((a, b) => (a.margin ?? 0) - (b.margin ?? 0))[0];
  return (
    <dl class="strip" aria-live="off">
      <div>
        <dt>Landed cost</dt>
        <dd>
          {picture?.cost ? money(picture.cost.total, picture.cost.currency) : "not known"}
          <span class="soft">{picture?.cost ? `at ${picture.cost.quantity.toLocaleString("en")}` : ""}</span>
        </dd>
      </div>
      <div>
        <dt>Proof{props.changed ? " of these values" : ""}</dt>
        <dd>
          {job ? (
            <span class="soft">running {percent(job.share ?? 0)}</span>
          ) : proof?.checks ? (
            <Mark passes={proof.passes ? true : proof.undecided.length && proof.checks.every((c) => c.passes) ? null : false} />
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

function SaveAs({ file, changes }: { file: string; changes: () => Changes }) {
  const [name, setName] = useState<string | null>(null);
  if (name === null)
    return (
      <button type="button" class="main" onClick={() => setName(file.replace(/^.*\//, "").replace(/\.toml$/, "-changed.toml"))}>
        Keep as a new design
      </button>
    );
  const save = (e: Event) => {
    e.preventDefault();
    api.saveDesign(file, changes(), name).then(
      (made) => goTo("design", made.file),
      (error) => notice.set(error instanceof Refusal ? error.message : String(error)),
    );
  };
  return (
    <form class="saveas" onSubmit={save}>
      <label>
        File <input value={name} onInput={(e) => setName(e.currentTarget.value)} />
      </label>
      <button type="submit" class="main">
        Save
      </button>
      <button type="button" onClick={() => setName(null)}>
        Not now
      </button>
    </form>
  );
}

/** Everything the customer, the board house and the firmware author need, as one file. */
function HandOver({ file }: { file: string }) {
  const { start, job, answer, refusal } = useAnswer<HandoffAnswer>();
  return (
    <div class="handover">
      {job ? (
        <Progress job={job} />
      ) : answer?.out ? (
        <p>
          <a href={downloadOf(`${answer.out}/handoff.zip`)} download>
            Everything as one file
          </a>{" "}
          <span class="soft">
            {answer.files?.length} files, also in the folder <span class="file">{answer.out}</span>
          </span>
        </p>
      ) : (
        <p>
          <button type="button" onClick={() => start(api.startJob("handoff", file))}>
            Hand it over
          </button>{" "}
          <span class="soft">
            {answer && !answer.interrupted
              ? "It does not pass, so nothing was written."
              : "schematic, parts list, netlist, board data, drive code, test plan and report, once it is proven"}
          </span>
        </p>
      )}
      {refusal && <Problems list={refusal.problems} />}
      {answer?.problems && <Problems list={answer.problems} />}
    </div>
  );
}

interface CircuitProps {
  file: string;
  view: View;
  picture: Picture | null;
  proof: CheckAnswer | null;
  time: number;
  setTime: (t: number) => void;
  swap: (role: string, number: string | null) => void;
}

function Circuit({ file, view, picture, proof, time, setTime, swap }: CircuitProps) {
  const [picked, setPicked] = useState<string | null>(null);
  const line = view.parts.find((p) => picked !== null && p.refs.includes(picked));
  return (
    <>
      <Schematic view={view} picture={picture} time={time} setTime={setTime} picked={line?.refs ?? []} pick={setPicked} />
      {line && <Swap key={line.roles.join()} file={file} line={line} swap={swap} close={() => setPicked(null)} />}
      <Parts view={view} picture={picture} proof={proof} picked={picked} pick={setPicked} />
      {view.cost && <CostTable cost={view.cost} />}
    </>
  );
}

interface SchematicProps {
  view: View;
  picture: Picture | null;
  time: number;
  setTime: (t: number) => void;
  picked: string[];
  pick: (ref: string) => void;
}

function Schematic({ view, picture, time, setTime, picked, pick }: SchematicProps) {
  const box = useRef<HTMLDivElement>(null);
  const states = picture?.states ?? [];
  const at = Math.max(
    0,
    states.findIndex((s, k) => time >= s.t_s && time < (states[k + 1]?.t_s ?? Infinity)),
  );
  const state = states[at];
  useEffect(() => {
    for (const g of box.current?.querySelectorAll("[data-ref]") ?? []) {
      const ref = g.getAttribute("data-ref") ?? "";
      g.classList.toggle("picked", picked.includes(ref));
      g.classList.toggle("on", state?.on.includes(ref) ?? false);
    }
  }, [view.svg, picked.join(), state]);
  const click = (e: Event) => {
    const ref = (e.target as Element).closest("[data-ref]")?.getAttribute("data-ref");
    if (ref) pick(ref);
  };
  return (
    <figure class="drawing">
      <div class="wide" role="region" aria-label="Schematic" tabIndex={0} ref={box} onClick={click} dangerouslySetInnerHTML={{ __html: view.svg }} />
      {state && (
        <figcaption class="stepper">
          <button type="button" onClick={() => setTime(states[Math.max(0, at - 1)].t_s)} disabled={at === 0} aria-label="State before">
            ←
          </button>
          <span>
            State {at + 1} of {states.length}, from {quantity(state.t_s, "s", 4)}: winding a {flow(state.flow[0])}, b {flow(state.flow[1])}. On:{" "}
            {state.on.length ? state.on.join(" ") : "nothing"}.
          </span>
          <button type="button" onClick={() => setTime(states[Math.min(states.length - 1, at + 1)].t_s)} disabled={at === states.length - 1} aria-label="Next state">
            →
          </button>
        </figcaption>
      )}
    </figure>
  );
}

const flow = (sign = "0") => ({ "+": "forward", "-": "backward", "0": "open", b: "shorted" })[sign] ?? sign;

function worstOf(proof: CheckAnswer | null, refs: string[]): string {
  const own = (proof?.checks ?? []).filter((c) => refs.includes(c.subject)).sort((a, b) => (a.margin ?? 0) - (b.margin ?? 0))[0];
  return own ? `${percent(own.margin)} ${words(own.id)}` : "";
}

function Parts(props: { view: View; picture: Picture | null; proof: CheckAnswer | null; picked: string | null; pick: (ref: string | null) => void }) {
  const { view, picture, proof, picked } = props;
  const hottest = (refs: string[], of: "temperature_degC" | "hold_degC") => {
    const all = refs.map((r) => picture?.parts[r]?.[of]).filter((t): t is number => typeof t === "number");
    return all.length ? quantity(Math.max(...all), "degC") : "";
  };
  const loss = (refs: string[]) => quantity(Math.max(...refs.map((r) => picture?.parts[r]?.loss_W ?? 0)), "W");
  return (
    <Section id="parts" title="Parts">
      <Wide label="Parts">
        <table class="parts">
          <caption>
            Losses and junctions at typical values, the hottest of each line, while moving and at permanent hold; margins at the worst
            corner.{picture && ` Windings: ${quantity(picture.winding_degC, "degC")} moving, ${quantity(picture.hold_winding_degC, "degC")} held.`}
          </caption>
          <thead>
            <tr>
              <th scope="col">Refs</th>
              <th scope="col">Value</th>
              <th scope="col">What it is</th>
              <th scope="col" class="n">
                Price each
              </th>
              <th scope="col" class="n">
                Loss
              </th>
              <th scope="col" class="n">
                Moving
              </th>
              <th scope="col" class="n">
                Held for ever
              </th>
              <th scope="col">Tightest</th>
            </tr>
          </thead>
          <tbody>
            {view.parts.map((p) => {
              const is = picked !== null && p.refs.includes(picked);
              return (
                <tr class={is ? "picked" : undefined}>
                  <th scope="row">
                    <button type="button" class="link" aria-pressed={is} onClick={() => props.pick(is ? null : p.refs[0])}>
                      {p.refs.join(" ")}
                    </button>
                  </th>
                  <td>{p.value}</td>
                  <td>
                    {p.description}
                    <span class="soft"> {p.package}</span>
                  </td>
                  <td class="n">{money(p.unit_price)}</td>
                  <td class="n">{picture ? loss(p.refs) : ""}</td>
                  <td class="n">{hottest(p.refs, "temperature_degC")}</td>
                  <td class="n">{hottest(p.refs, "hold_degC")}</td>
                  <td>{worstOf(proof, p.refs)}</td>
                </tr>
              );
            })}
          </tbody>
        </table>
      </Wide>
    </Section>
  );
}

const kShown = 12;

function Swap({ file, line, swap, close }: { file: string; line: PartLine; swap: (role: string, number: string | null) => void; close: () => void }) {
  const [found, setFound] = useState<Alternatives | null>(null);
  const role = line.roles[0];
  useEffect(() => void api.alternatives(file, role).then(setFound, () => undefined), [file, role]);
  const names = Object.keys(found?.parts[0]?.figures ?? {}).slice(0, 5);
  return (
    <Section
      id="swap"
      title={`${line.refs.join(" ")}: other parts for the ${words(role)}`}
      aside={
        <button type="button" class="quiet" onClick={close}>
          Close
        </button>
      }
    >
      {!found ? (
        <p class="soft">Looking</p>
      ) : (
        <Wide label="Other parts">
          <table>
            <caption>Of the same class, cheapest first, priced for this build</caption>
            <thead>
              <tr>
                <th scope="col">Number</th>
                <th scope="col">Package</th>
                <th scope="col" class="n">
                  Price each
                </th>
                {names.map((n) => (
                  <th scope="col" class="n">
                    {words(n)}
                  </th>
                ))}
                <th scope="col">
                  <span class="hidden">Use</span>
                </th>
              </tr>
            </thead>
            <tbody>
              {found.parts.slice(0, kShown).map((p) => (
                <tr class={p.number === line.number ? "picked" : undefined}>
                  <th scope="row">{p.number}</th>
                  <td>{p.package}</td>
                  <td class="n">{money(p.unit_price)}</td>
                  {names.map((n) => (
                    <td class="n">{quantity(p.figures[n]?.value, p.figures[n]?.unit ?? "")}</td>
                  ))}
                  <td>
                    {p.number === line.number ? (
                      "in use"
                    ) : (
                      <button type="button" onClick={() => swap(role, p.number === found.used ? null : p.number)}>
                        Use
                      </button>
                    )}
                  </td>
                </tr>
              ))}
            </tbody>
          </table>
        </Wide>
      )}
    </Section>
  );
}

function CostTable({ cost }: { cost: NonNullable<View["cost"]> }) {
  const pieces = Object.entries(cost.pieces);
  const most = Math.max(...pieces.map(([, x]) => x), 1e-12);
  return (
    <Section id="cost" title="What one good board costs">
      <table class="ladder">
        <tbody>
          {pieces.map(([name, amount]) => (
            <tr>
              <th scope="row">{words(name)}</th>
              <td class="n">{money(amount)}</td>
              <td class="bar">
                <svg viewBox="0 0 100 8" preserveAspectRatio="none" aria-hidden="true">
                  <rect width={(100 * amount) / most} height="8" />
                </svg>
              </td>
            </tr>
          ))}
          <tr class="total">
            <th scope="row">landed, at {cost.quantity.toLocaleString("en")}</th>
            <td class="n">{money(cost.total, cost.currency)}</td>
            <td />
          </tr>
        </tbody>
      </table>
    </Section>
  );
}
