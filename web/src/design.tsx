// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// One design: its schematic and parts, sliders that its picture follows, and its proof.
import { useEffect, useMemo, useRef, useState } from "preact/hooks";
import { useAnswer } from "./answer";
import {
  api,
  type Changes,
  type CheckAnswer,
  type DesignView as View,
  downloadOf,
  type HandoffAnswer,
  latestWins,
  type Picture,
  Refusal,
  type Slider,
} from "./api";
import { Bench } from "./bench";
import { Problems, Progress } from "./bits";
import { Circuit } from "./circuit";
import { words } from "./format";
import { ProofPanel } from "./proof";
import { changesOf, isTried, kNothingTried, Sliders, type Tried } from "./sliders";
import { goTo, notice } from "./store";
import { Nominal, Strip } from "./strip";
import { WavesPanel } from "./waves";

type Tab = "circuit" | "waves" | "proof" | "capture";
const tabs: [Tab, string][] = [
  ["circuit", "Circuit and parts"],
  ["waves", "Waveforms"],
  ["proof", "Proof"],
  ["capture", "Bench"],
];
// Fewer points while a slider moves: a picture in time is worth more than a fine one.
const kDragPoints = 200;
const kRestPoints = 800;

// On a narrow screen the sliders wait behind their heading.
const isRoomy = window.matchMedia("(min-width: 821px)").matches;

/** The last proof asked for: its job while it runs, and its answer once it is there. */
function useProof(file: string) {
  const { start, answer, job } = useAnswer<CheckAnswer>();
  const ask = (changes: Changes) => start(api.startJob("check", file, changes));
  return { job, answer, ask };
}

export function DesignView({ file }: { file: string }) {
  const [view, setView] = useState<View | null>(null);
  const [picture, setPicture] = useState<Picture | null>(null);
  const [refusal, setRefusal] = useState<Refusal | null>(null);
  const [tried, setTried] = useState<Tried>(kNothingTried);
  const [tab, setTab] = useState<Tab>("circuit");
  const [time, setTime] = useState(0);
  const [corner, setCorner] = useState<{ name: string; picture: Picture } | null>(null);
  const [late, setLate] = useState<Refusal | null>(null);
  const base = useRef<Slider[]>([]);
  const proof = useProof(file);

  const draw = useMemo(
    () =>
      latestWins(
        ({ changes, points }: { changes: Changes; points: number }) => api.picture(file, changes, points, points <= kDragPoints),
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
  const current = useRef(tried);
  const changes = () => changesOf(sliders, current.current);
  const settle = () => {
    draw({ changes: changes(), points: kRestPoints });
    void show(changes());
    void proof.ask(changes());
  };
  const change = (more: Partial<Tried>) => {
    current.current = { ...current.current, ...more };
    setTried(current.current);
    setCorner(null); // it was the corner of other values
  };
  const tryNow = (more: Partial<Tried>) => {
    change(more);
    settle();
  };
  const swap = (role: string, number: string | null) => tryNow({ swapped: withOut(current.current.swapped, role, number) });
  const overlay = (at: Pick<Changes, "corner"> | Pick<Changes, "unit">, name: string) =>
    api.picture(file, { ...changes(), ...at }, kRestPoints).then(
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
          {isTried(tried) && <SaveAs file={file} changes={changes} />}
          {isTried(tried) && (
            <button type="button" onClick={() => tryNow(kNothingTried)}>
              Back to the file
            </button>
          )}
        </div>
      </div>
      {!isTried(tried) && <HandOver file={file} hash={view.input_sha256} />}
      {late && <Problems list={late.problems} title="These values give no picture" />}
      <Strip picture={picture} proof={proof.answer} job={proof.job} changed={isTried(tried)} />
      <div class="bench">
        <details class="try" open={isRoomy}>
          <summary>Try other values</summary>
          <p class="soft">The picture follows at typical values. Let go, and the proof runs anew.</p>
          <Sliders
            sliders={sliders}
            moved={tried.moved}
            move={(moved) => {
              change({ moved });
              draw({ changes: changes(), points: kDragPoints });
            }}
            settle={settle}
          />
          {picture && <Nominal picture={picture} />}
          {Object.entries(tried.swapped).map(([role, number]) => (
            <Undoable what={`${words(role)}: ${number}`} undo={() => swap(role, null)} />
          ))}
          {Object.entries(tried.taken).map(([key, text]) => (
            <Undoable what={`${words(key)}: ${text}`} undo={() => tryNow({ taken: withOut(tried.taken, key, null) })} />
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
            {tab === "proof" && <ProofPanel file={file} view={view} proof={proof} picture={picture} overlay={overlay} changes={changes} />}
            {tab === "capture" && <Bench file={file} view={view} picture={picture} changes={changes} take={(taken) => tryNow({ taken: { ...current.current.taken, ...taken } })} />}
          </div>
        </div>
      </div>
    </>
  );
}

/** The texts with one of them set, or taken out. */
function withOut(all: Record<string, string>, key: string, text: string | null): Record<string, string> {
  const { [key]: _, ...rest } = all;
  return text === null ? rest : { ...rest, [key]: text };
}

function Undoable({ what, undo }: { what: string; undo: () => void }) {
  return (
    <p class="swap">
      {what}{" "}
      <button type="button" class="quiet" onClick={undo}>
        undo
      </button>
    </p>
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
function HandOver({ file, hash }: { file: string; hash: string }) {
  const { start, job, answer, refusal } = useAnswer<HandoffAnswer>(`handoff ${file} ${hash}`);
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
