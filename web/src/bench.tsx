// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The bench: a capture brought in, held against the design, and asked what motor it shows.
import { useEffect, useRef, useState } from "preact/hooks";
import { api, type CaptureAsked, type CaptureLook, type Changes, type DesignView, type Picture, Refusal } from "./api";
import { Problems, Section } from "./bits";
import { Comparison } from "./compare";
import { quantity, unitName, words } from "./format";
import { Identified } from "./identify";
import { LinesPlot } from "./lines";
import { briefOf } from "./store";

interface Props {
  file: string;
  view: DesignView;
  picture: Picture | null;
  changes: () => Changes;
  /** Figures of the motor, by key of the brief. */
  take: (found: Record<string, string>) => void;
}

/** What a column of theirs is: a column of ours, and by what their numbers are multiplied. */
type Columns = Record<string, { ours: string; times: string }>;

const kRun: [string, string][] = [
  ["winding_a_A", "current of winding a"],
  ["winding_b_A", "current of winding b"],
  ["supply_A", "supply current"],
  ["rail_V", "rail"],
  ["theta_rad", "angle"],
  ["speed_rad_s", "speed"],
];
const kMotor: [string, string][] = [
  ["current_A", "current of one winding"],
  ["voltage_V", "voltage at one winding"],
];

function columnTexts(columns: Columns): string[] {
  return Object.entries(columns)
    .filter(([, c]) => c.ours)
    .map(([theirs, c]) => `${c.ours}=${theirs}${Number(c.times) === 1 ? "" : `*${c.times}`}`);
}

export function Bench({ file, view, picture, changes, take }: Props) {
  const [tables, setTables] = useState<string[]>([]);
  const [capture, setCapture] = useState("");
  const [look, setLook] = useState<CaptureLook | null>(null);
  const [columns, setColumns] = useState<Columns>({});
  const [refusal, setRefusal] = useState<Refusal | null>(null);
  const [busy, setBusy] = useState(false);
  const list = () => api.folder().then((f) => setTables(f.tables.map((t) => t.file)), setRefusal);
  useEffect(() => void list(), []);
  const choose = (name: string) => {
    setCapture(name);
    setLook(null);
    setColumns({});
    setRefusal(null);
    if (name) api.capture({ capture: name, columns: [] }).then(setLook, setRefusal);
  };
  const upload = async (files: FileList | null) => {
    if (!files?.[0]) return;
    setBusy(true);
    try {
      const made = await api.upload(files[0]);
      await list();
      choose(made.file);
    } catch (e) {
      if (e instanceof Refusal) setRefusal(e);
    }
    setBusy(false);
  };
  const asked: CaptureAsked = { capture, columns: columnTexts(columns) };
  return (
    <>
      <Section id="capture" title="Capture">
        <Choose tables={tables} capture={capture} choose={choose} upload={upload} busy={busy} />
        {refusal && <Problems list={refusal.problems} title={capture ? `${capture} cannot be read` : undefined} />}
        {look && <Look look={look} view={view} picture={picture} columns={columns} setColumns={setColumns} />}
      </Section>
      {look && (
        <>
          <Comparison key={capture} file={file} asked={asked} changes={changes} />
          <Identified key={`${capture} `} file={file} brief={briefOf(file)} asked={asked} take={take} />
        </>
      )}
    </>
  );
}

interface ChooseProps {
  tables: string[];
  capture: string;
  choose: (name: string) => void;
  upload: (files: FileList | null) => void;
  busy: boolean;
}

function Choose({ tables, capture, choose, upload, busy }: ChooseProps) {
  const input = useRef<HTMLInputElement>(null);
  return (
    <>
      <p class="tools">
        <button type="button" class={tables.length ? undefined : "main"} onClick={() => input.current?.click()} disabled={busy}>
          {busy ? "Bringing it in" : "Bring in a capture"}
        </button>
        <input ref={input} type="file" accept=".csv,.txt,.tsv,text/csv" class="hidden" aria-label="Capture file" tabIndex={-1} onChange={(e) => upload(e.currentTarget.files)} />
        {tables.length > 0 && (
          <label>
            or one of the folder{" "}
            <select value={capture} onChange={(e) => choose(e.currentTarget.value)}>
              <option value="">choose</option>
              {tables.map((t) => (
                <option value={t}>{t}</option>
              ))}
            </select>
          </label>
        )}
      </p>
      {!capture && (
        <p class="soft">
          CSV as the instrument writes it: head lines, any separator, decimal point or comma. Currents of the windings or the supply, the
          rail or outputs are held against the design; a voltage step on one winding, or the voltage of a motor spun by hand, tells what the
          motor is.
        </p>
      )}
    </>
  );
}

interface LookProps {
  look: CaptureLook;
  view: DesignView;
  picture: Picture | null;
  columns: Columns;
  setColumns: (columns: Columns) => void;
}

const kColumns = 4;

/** What is in the capture, and which of its columns is what. */
function Look({ look, view, picture, columns, setColumns }: LookProps) {
  const nodes = (picture?.waves.series ?? []).slice(7).filter((s) => s.unit === "V").map((s) => s.name); // losses no probe shows
  const known = new Set([...kRun, ...kMotor].map(([id]) => id));
  const set = (theirs: string, more: Partial<Columns[string]>) => setColumns({ ...columns, [theirs]: { ...(columns[theirs] ?? { ours: "", times: "1" }), ...more } });
  const all = look.channels.map((c, k) => ({ c, k }));
  const list = (channels: typeof all) => (
    <ul class="columns">
      {channels.map(({ c, k }) => {
        const own = `${c.name}_${c.unit}`;
        return (
          <li>
            <div>
              <strong>{c.name}</strong> <span class="soft">{c.unit ? `in ${unitName(c.unit)}` : "no unit"}</span>
            </div>
            <LinesPlot lines={{ ...look.waves, series: [look.waves.series[k]] }} unit={c.unit || "1"} height={90} label={`${c.name} over time`} />
            <div class="tools">
              <label>
                is{" "}
                <select value={columns[c.name]?.ours ?? ""} onChange={(e) => set(c.name, { ours: e.currentTarget.value })}>
                  <option value="">{known.has(own) || nodes.includes(c.name) ? `${words(own)}, by its name` : "nothing of ours"}</option>
                  <optgroup label="of the driver">
                    {kRun.map(([id, name]) => (
                      <option value={id}>{name}</option>
                    ))}
                    {nodes.map((n) => (
                      <option value={n}>
                        {view.outputs.includes(n) ? `output ${n}` : words(n)}
                      </option>
                    ))}
                  </optgroup>
                  <optgroup label="of the motor alone">
                    {kMotor.map(([id, name]) => (
                      <option value={id}>{name}</option>
                    ))}
                  </optgroup>
                </select>
              </label>
              <label>
                times <input class="short" inputMode="decimal" value={columns[c.name]?.times ?? "1"} onInput={(e) => set(c.name, { times: e.currentTarget.value })} />
              </label>
            </div>
          </li>
        );
      })}
    </ul>
  );
  return (
    <>
      <p>
        {look.rows.toLocaleString("en")} rows, {quantity(look.from_s, "s", 4)} to {quantity(look.to_s, "s", 4)}.
      </p>
      {list(all.slice(0, kColumns))}
      {all.length > kColumns && (
        <details>
          <summary>{all.length - kColumns} more columns</summary>
          {list(all.slice(kColumns))}
        </details>
      )}
      {look.notes.length > 0 && (
        <ul class="soft">
          {look.notes.map((n) => (
            <li>{n}</li>
          ))}
        </ul>
      )}
    </>
  );
}
