// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The brief as a specification sheet, with its text beside it. The text is what there is; the sheet
// reads it and changes single regions of it.
import { useCallback, useEffect, useRef, useState } from "preact/hooks";
import { api, type BriefKey, type BriefState, type Keys, type Problem, problemText, Refusal } from "./api";
import { Problems } from "./bits";
import { unitName, words } from "./format";
import { History } from "./history";
import { goTo, hrefOf, jobs, notice, pollJobs, useValue } from "./store";

const sectionNames: Record<string, string> = {
  "": "What is being built",
  motor: "Motor",
  load: "Load",
  motion: "Motion",
  regulation: "Regulation of the current",
  supply: "Supply",
  controller: "Controller",
  ambient: "Surroundings",
  build: "Build and money",
  rules: "Rules of the proof",
};
const kSave_ms = 500;
const kWatch_ms = 3000;

interface Props {
  file: string;
  keys: Keys;
}

/** The text, what the engine reads in it, and its file. */
function useBrief(file: string) {
  const [state, setState] = useState<BriefState | null>(null);
  const [refusal, setRefusal] = useState<Refusal | null>(null);
  const [theirs, setTheirs] = useState<{ text: string; sha256: string } | null>(null);
  const [saved, setSaved] = useState(true);
  const history = useRef(new History(""));
  const base = useRef("");
  const text = useRef("");
  const reading = useRef<AbortController | null>(null);
  const timer = useRef(0);
  const dirty = useRef(false);
  const saving = useRef<Promise<boolean> | null>(null);

  const read = useCallback(
    (next: string) => {
      reading.current?.abort();
      const mine = (reading.current = new AbortController());
      api.readBrief(file, next, mine.signal).then(
        (s) => !mine.signal.aborted && setState(s),
        (e) => !mine.signal.aborted && e instanceof Refusal && setRefusal(e),
      );
    },
    [file],
  );

  const write = useCallback(async (): Promise<boolean> => {
    if (!dirty.current) return true;
    const sending = text.current;
    try {
      base.current = (await api.save(file, sending, base.current)).sha256;
      if (sending === text.current) {
        dirty.current = false;
        setSaved(true);
      }
      return true;
    } catch (e) {
      if (e instanceof Refusal && e.status === 409) setTheirs(e.body as { text: string; sha256: string });
      else if (e instanceof Refusal) setRefusal(e);
      return false;
    }
  }, [file]);

  // One after the other, however slow the server: each names the text that it replaces.
  const save = useCallback(async (): Promise<boolean> => {
    window.clearTimeout(timer.current);
    while (saving.current) await saving.current;
    const mine = (saving.current = write());
    try {
      return await mine;
    } finally {
      saving.current = null;
    }
  }, [write]);

  const show = useCallback(
    (next: string, known?: BriefState) => {
      text.current = next;
      dirty.current = true;
      setSaved(false);
      if (known) {
        reading.current?.abort();
        setState(known);
      } else {
        setState((s) => (s ? { ...s, text: next } : s));
        read(next);
      }
      window.clearTimeout(timer.current);
      timer.current = window.setTimeout(() => void save(), kSave_ms);
    },
    [read, save],
  );

  const load = useCallback(
    (from: { text: string; sha256: string }) => {
      base.current = from.sha256;
      text.current = from.text;
      dirty.current = false;
      history.current = new History(from.text);
      setTheirs(null);
      setSaved(true);
      read(from.text);
    },
    [read],
  );

  useEffect(() => {
    api.file(file).then(load, setRefusal);
    const watch = window.setInterval(() => {
      if (document.hidden || saving.current) return;
      const known = base.current;
      api.file(file).then(
        (now) => {
          // What we saved ourselves meanwhile is no news.
          if (saving.current || now.sha256 === base.current || known !== base.current) return;
          // Nothing of ours is at stake: follow. Else ask.
          if (dirty.current) setTheirs(now);
          else load(now);
        },
        () => undefined,
      );
    }, kWatch_ms);
    return () => {
      window.clearInterval(watch);
      if (dirty.current) void save();
    };
  }, [file]);

  const edit = (next: string, known?: BriefState) => {
    history.current.add(next);
    show(next, known);
  };
  return {
    state,
    refusal,
    theirs,
    saved,
    save,
    edit,
    setKey: (key: string, value: string) =>
      api.editBrief(file, text.current, key, value).then(
        (s) => edit(s.text, s),
        (e) => notice.set(e instanceof Refusal ? e.message : String(e)),
      ),
    undo: () => history.current.undo((t) => show(t)),
    redo: () => history.current.redo((t) => show(t)),
    canUndo: history.current.canUndo,
    canRedo: history.current.canRedo,
    takeTheirs: () => theirs && load(theirs),
    keepOurs: () => {
      if (theirs) base.current = theirs.sha256;
      setTheirs(null);
      void save();
    },
  };
}

export function BriefView({ file, keys }: Props) {
  const brief = useBrief(file);
  const { state } = brief;
  const [started, setStarted] = useState<number | null>(null);
  const list = useValue(jobs);
  const job = list.find((j) => j.id === started);
  const title = state?.entries.title?.text || file;
  useEffect(() => {
    document.title = `${title}: brief`;
  }, [title]);
  useEffect(() => {
    if (job?.phase !== "done") return;
    setStarted(null);
    if (job.status === 130) notice.set("Stopped");
    else goTo("circuits", file);
  }, [job?.phase]);
  useEffect(() => {
    const onKey = (e: KeyboardEvent) => {
      if (!(e.ctrlKey || e.metaKey) || e.altKey) return;
      const key = e.key.toLowerCase();
      if (key === "z" && !e.shiftKey) brief.undo();
      else if (key === "y" || (key === "z" && e.shiftKey)) brief.redo();
      else return;
      e.preventDefault();
    };
    window.addEventListener("keydown", onKey);
    return () => window.removeEventListener("keydown", onKey);
  });
  if (brief.refusal) return <Problems list={brief.refusal.problems} title={`${file} cannot be shown`} />;
  if (!state) return <p class="soft">Loading</p>;
  const design = async () => {
    if (!(await brief.save())) return;
    try {
      setStarted((await api.startJob("design", file)).id);
      await pollJobs();
    } catch (e) {
      notice.set(e instanceof Refusal ? e.message : String(e));
    }
  };
  return (
    <>
      <div class="headline">
        <div>
          <h1>{title}</h1>
          <p class="soft file">
            {file} · {brief.saved ? "saved" : "saving"}
          </p>
        </div>
        <div class="actions">
          <button type="button" class="quiet" onClick={brief.undo} disabled={!brief.canUndo} title="Ctrl Z">
            Undo
          </button>
          <button type="button" class="quiet" onClick={brief.redo} disabled={!brief.canRedo} title="Ctrl Shift Z">
            Redo
          </button>
          <button type="button" class="main" onClick={design} disabled={state.problems.length > 0 || !!job}>
            Find the cheapest driver
          </button>
        </div>
      </div>
      {brief.theirs && (
        <div class="problems" role="alert">
          <p>The file was changed by something else while it was edited here.</p>
          <button type="button" onClick={brief.takeTheirs}>
            Take the file's text
          </button>{" "}
          <button type="button" onClick={brief.keepOurs}>
            Write mine over it
          </button>
        </div>
      )}
      <Summary state={state} file={file} />
      <div class="briefs">
        <Sheet keys={keys.brief} state={state} setKey={brief.setKey} />
        <Source state={state} edit={brief.edit} />
      </div>
    </>
  );
}

function Summary({ state, file }: { state: BriefState; file: string }) {
  const n = state.problems.length;
  const result = useValue(jobs).some((j) => j.file === file && j.kind === "design" && j.phase === "done" && j.status !== 130);
  return (
    <p class={n ? "summary open" : "summary"} role="status">
      {n === 0
        ? "The brief is complete."
        : `${n} ${n === 1 ? "entry needs" : "entries need"} mending before parts can be searched.`}{" "}
      {result && <a href={hrefOf("circuits", file)}>To the circuits found</a>}
    </p>
  );
}

function Sheet(props: { keys: BriefKey[]; state: BriefState; setKey: (key: string, value: string) => void }) {
  const sections = [...new Set(props.keys.map((k) => k.section))];
  // A text that cannot be read for a moment does not empty the sheet.
  const read = useRef(props.state.entries);
  if (props.state.is_toml) read.current = props.state.entries;
  return (
    <form class="spec" aria-label="Brief" onSubmit={(e) => e.preventDefault()}>
      {!props.state.is_toml && <Problems list={props.state.problems} title="The text is not TOML; the sheet waits until it is." />}
      {sections.map((section) => (
        <fieldset disabled={!props.state.is_toml}>
          <legend>{sectionNames[section] ?? words(section)}</legend>
          {props.keys
            .filter((k) => k.section === section)
            .map((k) => (
              <Field
                key={k.key}
                row={k}
                value={read.current[k.key]?.text}
                problems={props.state.is_toml ? props.state.problems.filter((p) => p.key === k.key) : []}
                setKey={props.setKey}
              />
            ))}
        </fieldset>
      ))}
    </form>
  );
}

interface FieldProps {
  row: BriefKey;
  value: string | undefined;
  problems: Problem[];
  setKey: (key: string, value: string) => void;
}

function Field({ row, value, problems, setKey }: FieldProps) {
  const id = `key-${row.key}`;
  const isGiven = value !== undefined;
  const [draft, setDraft] = useState<string | null>(null);
  // What was typed shows at once; the text follows when typing pauses or the field is left.
  const timer = useRef(0);
  const commit = (next: string) => {
    window.clearTimeout(timer.current);
    timer.current = 0;
    if (next !== (value ?? "")) setKey(row.key, next);
  };
  useEffect(() => () => window.clearTimeout(timer.current), []);
  useEffect(() => {
    if (timer.current === 0) setDraft(null);
  }, [value]);
  const typed = (next: string) => {
    setDraft(next);
    window.clearTimeout(timer.current);
    timer.current = window.setTimeout(() => commit(next), 250);
  };
  const leave = () => {
    if (draft !== null) commit(draft);
    setDraft(null);
  };
  const bad = problems.length > 0;
  const need = row.need === "required" && !isGiven ? "needed" : row.need === "defaulted" && !isGiven ? "assumed" : "";
  const shared = {
    id,
    "aria-invalid": bad ? ("true" as const) : undefined,
    "aria-describedby": `${id}-note`,
  };
  return (
    <div class={`field ${need} ${bad ? "bad" : ""}`}>
      <label for={id}>{words(row.name)}</label>
      {row.kind === "choice" ? (
        <select {...shared} value={value ?? ""} onChange={(e) => setKey(row.key, e.currentTarget.value)}>
          <option value="">{row.assumed}</option>
          {row.choices.map((c) => (
            <option value={c}>{c}</option>
          ))}
        </select>
      ) : (
        <input
          {...shared}
          type="text"
          autocomplete="off"
          spellcheck={false}
          value={draft ?? value ?? ""}
          placeholder={row.need === "defaulted" ? row.assumed : row.unit ? `in ${unitName(row.unit)}` : ""}
          required={row.need === "required"}
          onInput={(e) => typed(e.currentTarget.value)}
          onBlur={leave}
          onKeyDown={(e) => e.key === "Enter" && leave()}
        />
      )}
      <span class="need">{need}</span>
      <p id={`${id}-note`} class="note">
        {bad ? (
          problems.map((p) => <span class="wrong">{problemText({ ...p, key: "" })}</span>)
        ) : (
          <>
            {row.doc}
            {row.kind === "quantity" && (
              <span class="range">{row.range}</span>
            )}
          </>
        )}
      </p>
    </div>
  );
}

function Source({ state, edit }: { state: BriefState; edit: (text: string) => void }) {
  const area = useRef<HTMLTextAreaElement>(null);
  const gutter = useRef<HTMLDivElement>(null);
  const lines = state.text.split("\n").length;
  const wrong = new Set(state.problems.map((p) => p.line));
  const goToLine = (line: number) => {
    const box = area.current;
    if (!box) return;
    const all = state.text.split("\n");
    const start = all.slice(0, line - 1).reduce((n, l) => n + l.length + 1, 0);
    box.focus();
    box.setSelectionRange(start, start + (all[line - 1]?.length ?? 0));
  };
  return (
    <section class="source" aria-labelledby="source-title">
      <h2 id="source-title">As text</h2>
      <div class="editor">
        <div class="gutter" ref={gutter} aria-hidden="true">
          {Array.from({ length: lines }, (_, k) => (
            <div class={wrong.has(k + 1) ? "wrong" : undefined}>{k + 1}</div>
          ))}
        </div>
        <textarea
          ref={area}
          aria-label="The brief as TOML"
          spellcheck={false}
          wrap="off"
          value={state.text}
          onInput={(e) => edit(e.currentTarget.value)}
          onScroll={(e) => gutter.current && (gutter.current.scrollTop = e.currentTarget.scrollTop)}
        />
      </div>
      {state.problems.length > 0 && (
        <ol class="messages" aria-label="Problems">
          {state.problems.map((p, k) => (
            <li>
              {p.line > 0 ? (
                <button type="button" class="link" onClick={() => goToLine(p.line)}>
                  {state.lines[k]}
                </button>
              ) : (
                state.lines[k]
              )}
            </li>
          ))}
        </ol>
      )}
    </section>
  );
}
