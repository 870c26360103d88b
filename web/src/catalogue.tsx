// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What there is to build with, and catalogues taken into the store: looked at first, written when
// asked for.
import { useEffect, useRef, useState } from "preact/hooks";
import { useAnswer } from "./answer";
import { api, type Catalogue, type Folder, type ImportAnswer, Refusal } from "./api";
import { Head, Problems, Progress, right, Section, Wide } from "./bits";
import { money, quantity, words } from "./format";

export function CatalogueView() {
  const [kind, setKind] = useState("n-mosfet");
  const [search, setSearch] = useState("");
  const [found, setFound] = useState<Catalogue | null>(null);
  const [refusal, setRefusal] = useState<Refusal | null>(null);
  const load = () => api.parts(kind, search).then(setFound, setRefusal);
  useEffect(() => {
    document.title = "Parts: Pennybridge desk";
  }, []);
  useEffect(() => {
    const timer = window.setTimeout(load, search ? 200 : 0);
    return () => window.clearTimeout(timer);
  }, [kind, search]);
  return (
    <>
      <h1>Parts to build with</h1>
      <p class="lead">
        Those of your store, and those that come with the program where the store has none of that number.{" "}
        {found && <span class="soft file">{found.store}</span>}
      </p>
      {refusal && <Problems list={refusal.problems} />}
      {found && (
        <Section id="parts" title="By class">
          <div class="tools classes" role="group" aria-label="Class of part">
            {found.classes.map((c) => (
              <button type="button" aria-pressed={c.class === kind} onClick={() => setKind(c.class)}>
                {words(c.class)} <span class="soft">{c.stored ? `${c.parts}, ${c.stored} yours` : c.parts}</span>
              </button>
            ))}
          </div>
          <p class="tools">
            <label>
              Number has <input value={search} spellcheck={false} onInput={(e) => setSearch(e.currentTarget.value)} />
            </label>
            <span class="soft">
              {found.found} {found.found === 1 ? "part" : "parts"}
              {found.found > found.parts.length && `, the first ${found.parts.length} shown`}
            </span>
          </p>
          <List found={found} />
        </Section>
      )}
      <Import imported={load} />
    </>
  );
}

const kFigures = 6;

function List({ found }: { found: Catalogue }) {
  const names = Object.keys(found.parts[0]?.figures ?? {}).slice(0, kFigures);
  if (found.parts.length === 0) return <p>None.</p>;
  return (
    <Wide label="Parts">
      <table class="list">
        <Head of={["Number", "Package", right("Price each at 1000"), ...names.map((n) => right(words(n))), "Source"]} />
        <tbody>
          {found.parts.map((p) => (
            <tr key={p.number}>
              <th scope="row">
                {p.number} {p.stored && <span class="tag">yours</span>} {p.lifecycle !== "active" && <span class="tag">{p.lifecycle}</span>}
              </th>
              <td>{p.package}</td>
              <td class="n">{money(p.unit_price_1k, p.currency)}</td>
              {names.map((n) => (
                <td class="n">{quantity(p.figures[n]?.value, p.figures[n]?.unit ?? "")}</td>
              ))}
              <td>{p.source}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </Wide>
  );
}

function Import({ imported }: { imported: () => void }) {
  const [folder, setFolder] = useState<Folder | null>(null);
  const [file, setFile] = useState("");
  const [map, setMap] = useState("");
  const [replace, setReplace] = useState(false);
  const [refusal, setRefusal] = useState<Refusal | null>(null);
  const input = useRef<HTMLInputElement>(null);
  const look = useAnswer<ImportAnswer>();
  const write = useAnswer<ImportAnswer>();
  const list = () => api.folder().then(setFolder, setRefusal);
  useEffect(() => void list(), []);
  useEffect(() => {
    if (write.answer?.added !== undefined) imported();
  }, [write.answer]);
  const ask = (dry_run: boolean) => (dry_run ? look : write).start(api.startJob("import", file, {}, { map, replace, dry_run }));
  const upload = async (files: FileList | null) => {
    if (!files?.[0]) return;
    try {
      const made = await api.upload(files[0]);
      await list();
      setFile(made.file);
    } catch (e) {
      if (e instanceof Refusal) setRefusal(e);
    }
  };
  const begin = () =>
    api.startMapping(file).then(async (made) => {
      await list();
      setMap(made.file);
    }, setRefusal);
  const a = look.answer;
  // What was looked at is what may be written: after any change it is looked at anew.
  const [lookedAt, setLookedAt] = useState("");
  const now = JSON.stringify([file, map, replace]);
  const isReady = !!a && !a.problems && a.added !== undefined && lookedAt === now;
  return (
    <Section id="import" title="Take in a catalogue">
      <p class="tools">
        <button type="button" onClick={() => input.current?.click()}>
          Bring in a CSV
        </button>
        <input ref={input} type="file" accept=".csv,text/csv" class="hidden" aria-label="Catalogue file" tabIndex={-1} onChange={(e) => upload(e.currentTarget.files)} />
        <label>
          or one of the folder{" "}
          <select value={file} onChange={(e) => setFile(e.currentTarget.value)}>
            <option value="">choose</option>
            {folder?.tables.map((t) => (
              <option value={t.file}>{t.file}</option>
            ))}
          </select>
        </label>
      </p>
      {refusal && <Problems list={refusal.problems} />}
      {file && (
        <>
          <p class="tools">
            <label>
              Its columns are{" "}
              <select value={map} onChange={(e) => setMap(e.currentTarget.value)}>
                <option value="">named as ours</option>
                {folder?.mappings.map((m) => (
                  <option value={m.file}>as {m.file} says</option>
                ))}
              </select>
            </label>
            <button type="button" onClick={begin}>
              Begin a mapping from its head line
            </button>
            <label>
              <input type="checkbox" checked={replace} onChange={(e) => setReplace(e.currentTarget.checked)} /> also replace parts another source
              brought
            </label>
          </p>
          {map && <MappingText key={map} file={map} />}
          <p class="tools">
            <button
              type="button"
              class={isReady ? undefined : "main"}
              onClick={() => {
                setLookedAt(now);
                void ask(true);
              }}
              disabled={!!look.job}
            >
              Look, write nothing
            </button>
            <button type="button" class={isReady ? "main" : undefined} onClick={() => ask(false)} disabled={!isReady || !!write.job}>
              Take it into the store
            </button>
            <span class="soft">whole or not at all</span>
          </p>
        </>
      )}
      {[look, write].map((run) => (
        <>
          {run.job && <Progress job={run.job} />}
          {run.refusal && <Problems list={run.refusal.problems} />}
        </>
      ))}
      {write.answer?.added !== undefined && (
        <p role="status" class="summary">
          In the store: {write.answer.added} added, {write.answer.changed} changed, {write.answer.same} as they were.
        </p>
      )}
      {a?.problems && <Problems list={a.problems.slice(0, 20)} title={`${a.problems.length} ${a.problems.length === 1 ? "problem" : "problems"}: nothing can be taken before they are mended`} />}
      {a?.classes && <Survey answer={a} />}
    </Section>
  );
}

/** A mapping is mended here; the file is saved when it is left or before it is used. */
function MappingText({ file }: { file: string }) {
  const [text, setText] = useState<string | null>(null);
  const [refusal, setRefusal] = useState<Refusal | null>(null);
  const base = useRef({ text: "", sha256: "" });
  useEffect(
    () =>
      void api.file(file).then((f) => {
        base.current = f;
        setText(f.text);
      }, setRefusal),
    [file],
  );
  const save = () => {
    if (text === null || text === base.current.text) return;
    api.save(file, text, base.current.sha256).then((s) => {
      base.current = { text, sha256: s.sha256 };
      setRefusal(null);
    }, setRefusal);
  };
  if (text === null) return refusal && <Problems list={refusal.problems} />;
  return (
    <>
      <textarea class="mapping" rows={14} spellcheck={false} aria-label={`The mapping ${file} as TOML`} value={text} onInput={(e) => setText(e.currentTarget.value)} onBlur={save} />
      {refusal && <Problems list={refusal.problems} title="Not saved: the file was changed by something else" />}
    </>
  );
}

function Survey({ answer: a }: { answer: ImportAnswer }) {
  return (
    <>
      <p>
        {a.rows} rows: {a.added} new, {a.changed} changed, {a.same} as they are already
        {a.kept.length > 0 && `, ${a.kept.length} left alone because another source has them`}.
      </p>
      <Wide label="What the catalogue has">
        <table class="ladder">
          <caption>By class; a part that lacks a figure can not be proven</caption>
          <Head of={["Class", right("Parts"), right("Lacking something"), "What"]} />
          <tbody>
            {Object.entries(a.classes).map(([name, c]) => (
              <tr>
                <th scope="row">{words(name)}</th>
                <td class="n">{c.rows}</td>
                <td class="n">{c.incomplete}</td>
                <td>
                  {Object.entries(c.missing)
                    .map(([figure, n]) => `${words(figure)} (${n})`)
                    .join(", ")}
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      </Wide>
      {a.left_out.length > 0 && <p class="soft">Columns that are not read: {a.left_out.join(", ")}.</p>}
      {a.notes.length > 0 && (
        <details>
          <summary>Notes: {a.notes.length}</summary>
          <ul>
            {a.notes.slice(0, 50).map((n) => (
              <li>{n}</li>
            ))}
          </ul>
        </details>
      )}
    </>
  );
}
