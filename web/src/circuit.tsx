// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The circuit of a design: its schematic, its parts with other parts for each, and what it costs.
import { useEffect, useState } from "preact/hooks";
import { type Alternatives, api, type CheckAnswer, type DesignView as View, downloadOf, exportOf, type PartLine, type Picture } from "./api";
import { Head, right, Section, Wide } from "./bits";
import { costName, money, percent, quantity, words } from "./format";
import { Schematic, tightestOf } from "./schematic";

interface CircuitProps {
  file: string;
  view: View;
  picture: Picture | null;
  proof: CheckAnswer | null;
  time: number;
  setTime: (t: number) => void;
  swap: (role: string, number: string | null) => void;
}

export function Circuit({ file, view, picture, proof, time, setTime, swap }: CircuitProps) {
  const [picked, setPicked] = useState<string | null>(null);
  const line = view.parts.find((p) => picked !== null && p.refs.includes(picked));
  return (
    <>
      <Schematic view={view} picture={picture} proof={proof} time={time} setTime={setTime} picked={line?.refs ?? []} pick={setPicked} />
      {line && <Swap key={line.roles.join()} file={file} line={line} currency={view.cost?.currency} swap={swap} close={() => setPicked(null)} />}
      <Parts view={view} picture={picture} proof={proof} picked={picked} pick={setPicked} />
      {view.cost && <CostTable cost={view.cost} />}
      {picture && <Files file={file} hash={picture.input_sha256} />}
    </>
  );
}

function worstOf(proof: CheckAnswer | null, refs: string[]): string {
  const own = tightestOf(proof, refs);
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
          <Head of={["Refs", "Value", "What it is", right(view.cost ? `${view.cost.currency} each` : "Price each"), right("Loss"), right("Moving"), right("Held for ever"), "Tightest"]} />
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

interface SwapProps {
  file: string;
  line: PartLine;
  currency: string | undefined;
  swap: (role: string, number: string | null) => void;
  close: () => void;
}

function Swap({ file, line, currency, swap, close }: SwapProps) {
  const [found, setFound] = useState<Alternatives | null>(null);
  const [all, setAll] = useState(false);
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
                  {currency ? `${currency} each` : "Price each"}
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
              {(all ? found.parts : found.parts.slice(0, kShown)).map((p) => (
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
          {!all && found.parts.length > kShown && (
            <button type="button" onClick={() => setAll(true)}>
              Show all {found.parts.length}
            </button>
          )}
        </Wide>
      )}
    </Section>
  );
}

/** What is shown, with the values tried, as files. */
function Files({ file, hash }: { file: string; hash: string }) {
  const own: [string, string, string][] = [
    ["bom.csv", "Bill of materials", "CSV"],
    ["design.toml", "Design file", "TOML, everything in one file"],
    ["waveforms.csv", "Waveforms", "CSV, every step of the run"],
    ["schematic.svg", "Schematic", "SVG"],
  ];
  const report = file.match(/^(.*\.result)\/[^/]+$/);
  return (
    <Section id="files" title="Files">
      <ul class="files">
        {own.map(([as, name, kind]) => (
          <li>
            <a href={exportOf(hash, as)} download={as}>
              {name}
            </a>{" "}
            <span class="soft">{kind}</span>
          </li>
        ))}
        {report && (
          <li>
            <a href={downloadOf(`${report[1]}/report.html`)} target="_blank" rel="noopener">
              Report
            </a>{" "}
            <span class="soft">of the search this design came from</span>
          </li>
        )}
      </ul>
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
              <th scope="row">{costName(name)}</th>
              <td class="n">{money(amount, cost.currency)}</td>
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
