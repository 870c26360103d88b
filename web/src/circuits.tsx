// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What a search found: the decision first, then the designs by cost, against chips, and why nothing
// cheaper passed.
import { useEffect, useState } from "preact/hooks";
import { api, type Chip, downloadOf, type NearMiss, type RankedDesign, Refusal, type SearchAnswer } from "./api";
import { Beside } from "./beside";
import { Head, Problems, right, Section, unseen, Wide } from "./bits";
import { area, measured, money, percent, words } from "./format";
import { Ladder } from "./ladder";
import { hrefOf, jobs, notice, pollJobs, useValue } from "./store";
import { Trade } from "./trade";

export function CircuitsView({ file }: { file: string }) {
  const [answer, setAnswer] = useState<SearchAnswer | null>(null);
  const [refusal, setRefusal] = useState<Refusal | null>(null);
  const [chosen, setChosen] = useState<string[]>([]);
  const done = useValue(jobs).filter((j) => j.file === file && j.phase === "done").length;
  useEffect(() => {
    document.title = `${file}: circuits`;
    api.result(file).then(
      (a) => (setAnswer(a), setRefusal(null)),
      (e) => setRefusal(e),
    );
  }, [file, done]);
  if (!answer)
    return refusal ? (
      <>
        <h1>Circuits</h1>
        <Problems list={refusal.problems} />
        <p>
          <a href={hrefOf("brief", file)}>To the brief</a>
        </p>
      </>
    ) : (
      <p class="soft">Loading</p>
    );
  const toggle = (design: string) =>
    setChosen((c) => (c.includes(design) ? c.filter((x) => x !== design) : [...c, design].slice(-3)));
  return (
    <>
      <Decision answer={answer} file={file} />
      {answer.designs.length + answer.chips.length > 0 && (
        <Section id="ranked" title={rankedTitle(answer)}>
          <Ranked answer={answer} chosen={chosen} toggle={toggle} />
        </Section>
      )}
      {chosen.length > 1 && (
        <Section id="beside" title="Side by side">
          <Beside files={chosen} answer={answer} />
        </Section>
      )}
      {(answer.designs.length > 1 || (answer.pareto?.length ?? 0) > 1) && (
        <Section id="trade" title="What more money buys">
          <Trade answer={answer} />
        </Section>
      )}
      {answer.ladder && answer.ladder.lines.length > 0 && (
        <Section id="ladder" title="Landed cost over the quantity built">
          <Ladder ladder={answer.ladder} currency={answer.designs[0]?.currency ?? answer.chips[0]?.currency ?? ""} />
        </Section>
      )}
      <Section id="cheaper" title="Why nothing cheaper">
        <WhyNot answer={answer} file={file} />
      </Section>
      <Section id="files" title="Files">
        <Files answer={answer} />
      </Section>
    </>
  );
}

function Decision({ answer, file }: { answer: SearchAnswer; file: string }) {
  const best = answer.designs[0];
  const bought = answer.chip_wins ? cheapestChip(answer.chips) : undefined;
  const decided = bought ?? best;
  return (
    <div class="headline">
      <div>
        <h1>
          {decided ? (
            <>
              {bought ? "Buy the chip: " : "Build it for "}
              <span class="figure">{money(decided.landed_cost, decided.currency)}</span> a board
            </>
          ) : answer.impossible ? (
            "No driver can do this"
          ) : (
            "No design passes"
          )}
        </h1>
        <p class="lead">
          {bought && (
            <>
              {bought.kind}: <span class="file">{bought.number}</span>
              {bought.tightest_margin && (
                <>
                  ; tightest: {words(bought.tightest_margin.id)} {bought.tightest_margin.subject}, {percent(bought.tightest_margin.margin)} to spare
                </>
              )}
              .{" "}
            </>
          )}
          {best && (
            <>
              {bought ? `Of single parts: ${titleOf(best)}, ${money(best.landed_cost, best.currency)}.` : `${titleOf(best)}.`}{" "}
              {best.tightest_margin && (
                <>
                  Tightest: {words(best.tightest_margin.id)} {best.tightest_margin.subject}, {percent(best.tightest_margin.margin)} to spare.{" "}
                </>
              )}
            </>
          )}
          {answer.impossible && `${words(answer.impossible.key)}: ${answer.impossible.why}. `}
          {answer.claim && <span class="claim">{sentence(answer.claim)}</span>}
        </p>
        {answer.stale && (
          <p class="summary open">
            The brief has changed since this search. <a href={hrefOf("brief", file)}>Search again from the brief.</a>
          </p>
        )}
      </div>
      {decided?.design_file && (
        <div class="actions">
          <a class="button main" href={hrefOf("design", decided.design_file)}>
            Open the design
          </a>
        </div>
      )}
    </div>
  );
}

/** Undecided is not refuted. */
function rankedTitle(answer: SearchAnswer): string {
  if (answer.designs.length) return answer.chips.length ? "Designs proven to work, then chips; each by landed cost" : "Designs proven to work, by landed cost";
  return answer.undecided.length ? "No design of single parts was proven in the time; chips" : "No design of single parts passes; chips";
}

const sentence = (text: string) => text.charAt(0).toUpperCase() + text.slice(1) + (/[.!?]$/.test(text) ? "" : ".");
const cheapestChip = (chips: Chip[]) => chips.filter((c) => c.passes).sort((a, b) => a.landed_cost - b.landed_cost)[0];
const titleOf = (d: RankedDesign) => d.wiring || words(d.template);

function Ranked(props: { answer: SearchAnswer; chosen: string[]; toggle: (design: string) => void }) {
  const { answer } = props;
  return (
    <Wide label="Designs by landed cost">
      <table class="ranked">
        <caption>Everything in, for one good board: parts, parts lost, placing, set-up, board, test, one-off work, scrap.</caption>
        <Head of={["Design", right("Landed cost"), right("Parts on it"), right("Board area"), "Tightest check", right("To spare"), "Compare"]} />
        <tbody>
          {answer.designs.map((d) => (
            <tr>
              <th scope="row">
                {d.rank}. {d.design_file ? <a href={hrefOf("design", d.design_file)}>{titleOf(d)}</a> : titleOf(d)}{" "}
                {d.has_chip && <span class="tag">chip</span>}
              </th>
              <td class="n strong">{money(d.landed_cost, d.currency)}</td>
              <td class="n">{d.parts.length}</td>
              <td class="n">{area(d.board_area_m2)}</td>
              <td>{d.tightest_margin ? `${words(d.tightest_margin.id)} ${d.tightest_margin.subject}` : ""}</td>
              <td class="n">{percent(d.tightest_margin?.margin)}</td>
              <td>
                <Choose file={d.design_file} name={`design ${d.rank}`} {...props} />
              </td>
            </tr>
          ))}
          {answer.chips.map((c) => (
            <tr class="chip">
              <th scope="row">
                {c.design_file ? <a href={hrefOf("design", c.design_file)}>{c.number}</a> : c.number} <span class="tag">chip</span> <span class="soft">{c.kind}</span>
              </th>
              <td class="n strong">{money(c.landed_cost, c.currency)}</td>
              <td class="n">{answer.pareto?.find((p) => p.design_file === c.design_file)?.parts}</td>
              <td class="n">{c.passes ? area(c.board_area_m2) : ""}</td>
              <td>{c.passes ? (c.tightest_margin ? `${words(c.tightest_margin.id)} ${c.tightest_margin.subject}` : "") : c.why ? `fails ${words(c.why)}` : "does not pass"}</td>
              <td class="n">{percent(c.tightest_margin?.margin)}</td>
              <td>
                <Choose file={c.design_file} name={c.number} {...props} />
              </td>
            </tr>
          ))}
        </tbody>
      </table>
      {answer.chips.length === 0 && !answer.designs.some((d) => d.has_chip) && <p class="soft">Chips were not priced against these.</p>}
    </Wide>
  );
}

const spaceNames: [string, string][] = [
  ["total", "candidates"],
  ["screened", "ruled out on paper"],
  ["grouped", "same as another"],
  ["beyond_cost", "dearer anyway"],
  ["failed", "failed the proof"],
  ["passed", "passed"],
  ["undecided", "undecided"],
];

/** Takes a design into the comparison, or out of it. */
function Choose({ file, name, chosen, toggle }: { file: string | null; name: string; chosen: string[]; toggle: (design: string) => void }) {
  if (!file) return null;
  return <input type="checkbox" aria-label={`Compare ${name}`} checked={chosen.includes(file)} onChange={() => toggle(file)} />;
}

function WhyNot({ answer, file }: { answer: SearchAnswer; file: string }) {
  const rejected = Object.entries(answer.rejected)
    .map(([id, n]) => ({ id, n: Number(n) }))
    .filter((r) => r.n > 0)
    .sort((a, b) => b.n - a.n);
  const most = Math.max(...rejected.map((r) => Math.log10(1 + r.n)), 1);
  return (
    <>
      <p>
        {answer.nothing_cheaper
          ? "Every candidate that could have cost less was ruled out on paper or failed a finished proof."
          : "Nothing cheaper was found, but some candidates that might cost less were left undecided: the search ended in time, not at the end."}{" "}
        {answer.undecided.length > 0 && <LookLonger file={file} />}
      </p>
      <NearMisses list={answer.why_not_cheaper ?? []} currency={answer.designs[0]?.currency ?? answer.chips[0]?.currency ?? ""} best={answer.designs[0]?.landed_cost} />
      {rejected.length > 0 && (
        <Wide label="Checks that rejected candidates">
          <table class="reasons">
            <caption>What candidates failed on; bars on a logarithmic scale.</caption>
            <Head of={["Check", right("Candidates"), unseen("as a bar")]} />
            <tbody>
              {rejected.map((r) => (
                <tr>
                  <th scope="row">{words(r.id)}</th>
                  <td class="n">{r.n.toLocaleString("en")}</td>
                  <td class="bar">
                    <svg viewBox="0 0 100 8" preserveAspectRatio="none" aria-hidden="true">
                      <rect width={(100 * Math.log10(1 + r.n)) / most} height="8" />
                    </svg>
                  </td>
                </tr>
              ))}
            </tbody>
          </table>
        </Wide>
      )}
      <Wide label="Candidates by wiring">
        <table>
          <caption>What became of the candidates, by wiring</caption>
          <thead>
            <tr>
              <th scope="col">Wiring</th>
              {spaceNames.map(([, name]) => (
                <th scope="col" class="n">
                  {name}
                </th>
              ))}
            </tr>
          </thead>
          <tbody>
            {Object.entries(answer.space).map(([id, counts]) => (
              <tr>
                <th scope="row">{answer.wirings?.[id] ?? words(id)}</th>
                {spaceNames.map(([key]) => (
                  <td class="n">{big(counts[key])}</td>
                ))}
              </tr>
            ))}
          </tbody>
        </table>
      </Wide>
      {answer.undecided.length > 0 && (
        <details>
          <summary>What was left undecided</summary>
          <ul>
            {answer.undecided.map((u) => (
              <li>{u}</li>
            ))}
          </ul>
        </details>
      )}
    </>
  );
}

/** The same search with more patience; its progress is where that of all work is. */
function LookLonger({ file }: { file: string }) {
  const busy = useValue(jobs).some((j) => j.file === file && j.kind === "design" && j.phase !== "done");
  const start = async () => {
    try {
      await api.startJob("design", file, {}, { patience: 600 });
      await pollJobs();
    } catch (e) {
      notice.set(e instanceof Refusal ? e.message : String(e));
    }
  };
  return (
    <button type="button" onClick={start} disabled={busy}>
      Look for up to ten minutes
    </button>
  );
}

/** The cheapest of each wiring that failed: by how much, and what would have saved it. */
function NearMisses({ list, currency, best = Infinity }: { list: NearMiss[]; currency: string; best?: number }) {
  if (list.length === 0) return null;
  const saved = (m: NearMiss) =>
    m.would_pass_with
      ? `would pass with ${m.would_pass_with.text} (by ${m.would_pass_with.judged_by})`
      : m.changes_tried > 0
        ? `none of ${m.changes_tried} single changes of the brief would save it`
        : "changes of the brief were not tried";
  return (
    <Wide label="Nearest misses">
      <table class="misses">
        <caption>The cheapest of each wiring that failed: on what, by how much, and the smallest change of the brief that would save it.</caption>
        <Head of={["Wiring", right("Would cost"), "Fails on", right("Worst"), right("Limit"), "What would save it"]} />
        <tbody>
          {list.map((m) => (
            <tr>
              <th scope="row">{m.wiring}</th>
              <td class="n strong">
                {money(m.floor_cost, currency)}
                {m.floor_cost >= best && <div class="soft">dearer anyway</div>}
              </td>
              <td>
                {words(m.check.id)} <span class="soft">{m.check.subject}</span>
              </td>
              <td class="n">{measured(m.check.value, m.check.unit)}</td>
              <td class="n">{measured(m.check.limit, m.check.unit)}</td>
              <td>{saved(m)}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </Wide>
  );
}

/** Counts beyond a million as powers of ten. */
function big(text = "0"): string {
  const n = Number(text);
  if (n < 1e6) return n.toLocaleString("en");
  const [size, power] = n.toExponential(1).split("e+");
  return `${size} × 10${[...power].map((d) => "⁰¹²³⁴⁵⁶⁷⁸⁹"[Number(d)]).join("")}`;
}

function Files({ answer }: { answer: SearchAnswer }) {
  const folder = answer.folder ?? "";
  return (
    <ul class="files">
      <li>
        <a href={downloadOf(`${folder}/report.html`)} target="_blank" rel="noopener">
          Report
        </a>{" "}
        <span class="soft">to read and print</span>
      </li>
      {answer.designs.length > 0 && (
        <li>
          <a href={downloadOf(`${folder}/bom.csv`)} download>
            Bill of materials
          </a>{" "}
          <span class="soft">CSV, of the cheapest</span>
        </li>
      )}
      {answer.designs.map(
        (d) =>
          d.design_file && (
            <li>
              <a href={downloadOf(d.design_file)} download>
                Design {d.rank}
              </a>{" "}
              <span class="soft">TOML, everything in one file</span>
            </li>
          ),
      )}
      <li>
        <a href={downloadOf(`${folder}/design.json`)} download>
          The whole answer
        </a>{" "}
        <span class="soft">JSON</span>
      </li>
    </ul>
  );
}
