// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Two or three designs in columns, of single parts or chips; rows in which they differ are marked.
import { useEffect, useState } from "preact/hooks";
import { api, type DesignView, type Margin, type SearchAnswer } from "./api";
import { Wide } from "./bits";
import { area, costName, money, percent, quantity, words } from "./format";
import { hrefOf } from "./store";
import { measures, said } from "./trade";

interface Column {
  file: string;
  name: string;
  view: DesignView;
}
type Row = [string, (c: Column) => string];

export function Beside({ files, answer }: { files: string[]; answer: SearchAnswer }) {
  const [views, setViews] = useState<DesignView[]>([]);
  useEffect(() => {
    let stale = false;
    void Promise.all(files.map((f) => api.design(f, {}))).then(
      (all) => !stale && setViews(all),
      () => undefined,
    );
    return () => void (stale = true);
  }, [files.join()]);
  const columns = files.flatMap((file): Column[] => {
    const view = views.find((v) => v.file === file);
    return view ? [{ file, name: nameOf(file, answer), view }] : [];
  });
  if (columns.length < 2) return <p class="soft">Looking</p>;
  const rows = rowsOf(columns, answer);
  return (
    <Wide label="Designs side by side">
      <table class="beside">
        <caption>Rows in which they differ are marked with ≠.</caption>
        <thead>
          <tr>
            <th scope="col">Figure</th>
            {columns.map((c) => (
              <th scope="col">
                <a href={hrefOf("design", c.file)}>{c.name}</a>
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {rows.map(([name, of]) => {
            const differs = new Set(columns.map(of)).size > 1;
            return (
              <tr class={differs ? "differs" : undefined}>
                <th scope="row">
                  {differs ? "≠ " : ""}
                  {name}
                </th>
                {columns.map((c) => (
                  <td>{of(c)}</td>
                ))}
              </tr>
            );
          })}
        </tbody>
      </table>
    </Wide>
  );
}

function nameOf(file: string, answer: SearchAnswer): string {
  const ranked = answer.designs.find((d) => d.design_file === file);
  return ranked ? `Design ${ranked.rank}` : (answer.chips.find((c) => c.design_file === file)?.number ?? file);
}

function rowsOf(columns: Column[], answer: SearchAnswer): Row[] {
  const ranked = (c: Column) => answer.designs.find((d) => d.design_file === c.file);
  const front = (c: Column) => answer.pareto?.find((p) => p.design_file === c.file);
  const known = measures.filter((m) => m.ofRanked && m.id !== "area");
  const roles = [...new Set(columns.flatMap((c) => c.view.parts.flatMap((p) => p.roles)))].sort();
  const inRole = (c: Column, role: string) => {
    const line = c.view.parts.find((p) => p.roles.includes(role));
    if (!line) return "none";
    return `${line.refs.length} × ${line.number}${line.value === line.number ? "" : ` ${line.value}`}`;
  };
  const pieces = Object.keys(columns[0].view.cost?.pieces ?? {});
  const bare = (c: Column) => answer.chips.find((x) => x.design_file === c.file)?.board_area_m2 ?? ranked(c)?.board_area_m2;
  return [
    ["wiring", (c) => c.view.wiring],
    ["landed cost", (c) => money(c.view.cost?.total, c.view.cost?.currency)],
    ["pieces on the board", (c) => String(c.view.parts.reduce((n, p) => n + p.refs.length, 0))],
    ["board area", (c) => area(bare(c))],
    ["tightest check", (c) => tightest(answer.chips.find((x) => x.design_file === c.file) ?? ranked(c))],
    ...known.map((m): Row => [m.name, (c) => said(m, front(c), ranked(c))]),
    ["sequence", (c) => c.view.sequence],
    ["stop", (c) => c.view.stop],
    ["dead time", (c) => (c.view.dead_time_s === null ? "as computed" : quantity(c.view.dead_time_s, "s"))],
    ...pieces.map((k): Row => [`cost of ${costName(k)}`, (c) => money(c.view.cost?.pieces[k], c.view.cost?.currency)]),
    ...roles.map((role): Row => [words(role), (c) => inRole(c, role)]),
  ];
}

function tightest(d: { tightest_margin?: Margin | null } | undefined): string {
  const m = d?.tightest_margin;
  return m ? `${percent(m.margin)}, ${words(m.id)} ${m.subject}` : "see its proof";
}
