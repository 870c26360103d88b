// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The style sheet of the report: light, dark and A4. Text has a contrast of at least 7:1 on its
// ground in both schemes, lines and bars at least 3:1 (WCAG 2.1, 1.4.6 and 1.4.11).
#pragma once

namespace pb::delivery {

inline constexpr const char* kReportStyle = R"(
:root { color-scheme: light dark; --ink: #1c2126; --soft: #424a52; --paper: #fdfdfb; --panel: #f1f2ee;
  --rule: #84898c; --good: #14507e; --bad: #9b1c1c;
  --trace-1: #14507e; --trace-2: #b4540a; --trace-3: #2f7d75; --trace-4: #7a2e6d; }
@media screen and (prefers-color-scheme: dark) {
  :root { --ink: #e9ebe6; --soft: #bcc2c0; --paper: #15191c; --panel: #20262a; --rule: #7d8587;
    --good: #8cc4f0; --bad: #ffa59b;
    --trace-1: #8cc4f0; --trace-2: #f0a35c; --trace-3: #74d0c4; --trace-4: #dd9fd4; } }
* { box-sizing: border-box; }
body { margin: 0 auto; max-width: 68rem; padding: 1.5rem; color: var(--ink); background: var(--paper);
  font: 16px/1.5 system-ui, "DejaVu Sans", sans-serif; }
h1 { font-size: 1.7rem; line-height: 1.2; margin: 0 0 .3rem; }
h2 { font-size: 1.2rem; margin: 2.2rem 0 .6rem; padding-bottom: .2rem; border-bottom: 2px solid var(--rule); }
h3 { font-size: 1rem; margin: 1.2rem 0 .3rem; }
p, li { max-width: 46rem; }
.verdict { font-size: 1.35rem; font-weight: 700; margin: .4rem 0; color: var(--good); }
.verdict.bad, .bad { color: var(--bad); }
.open { border-left: 4px solid var(--bad); padding-left: .7rem; }
.proven { border-left: 4px solid var(--good); padding-left: .7rem; }
.facts { display: grid; grid-template-columns: repeat(auto-fit, minmax(15rem, 1fr)); gap: .6rem; margin: 1rem 0; }
.facts div { background: var(--panel); padding: .5rem .7rem; }
.facts dt { color: var(--soft); font-size: .85rem; } .facts dd { margin: 0; font-weight: 600; }
.wide { overflow-x: auto; margin: .8rem 0; }
table { border-collapse: collapse; width: 100%; font-size: .9rem; }
caption { text-align: left; color: var(--soft); font-size: .92em; padding-bottom: .3rem; }
th, td { text-align: left; vertical-align: top; padding: .3rem 1rem .3rem 0; border-bottom: 1px solid var(--rule); }
thead th { color: var(--soft); font-weight: 600; } tbody th { font-weight: 600; overflow-wrap: anywhere; }
th:last-child, td:last-child { padding-right: 0; }
.n, thead th.n { text-align: right; font-variant-numeric: tabular-nums; white-space: nowrap; }
.note { color: var(--soft); font-size: .92em; font-weight: 400; display: block; overflow-wrap: anywhere; }
#margins tbody th { min-width: 15rem; } #margins td:last-child { min-width: 5.5rem; } .n .note { white-space: normal; min-width: 7rem; }
#nets tbody th, #nets td { white-space: nowrap; }
#lines td:nth-child(2), #lines td:last-child { white-space: nowrap; } #second td, #second tbody th { overflow-wrap: normal; }
figure { margin: .8rem 0; } figcaption { color: var(--soft); font-size: .85rem; }
svg { display: block; width: 100%; height: auto; } svg.margin { width: 5.5rem; height: .8rem; }
.dots { display: grid; grid-template-columns: repeat(auto-fit, minmax(18rem, 1fr)); gap: .6rem; } .dots figure { margin: 0; }
.cautions { border: 2px solid var(--bad); padding: 0 1rem .6rem; }
footer { margin-top: 2rem; color: var(--soft); font-size: .8rem; overflow-wrap: anywhere; }
@page { size: A4; margin: 14mm; }
@media print {
  :root { color-scheme: light; } body { max-width: none; padding: 0; font-size: 9.5pt; background: none; }
  h1 { font-size: 16pt; } h2 { font-size: 12pt; margin-top: 12pt; break-after: avoid; } h3 { font-size: 10pt; margin-top: 9pt; break-after: avoid; }
  thead { display: table-header-group; } tr, figure, .cautions, .facts div { break-inside: avoid; }
  .wide { overflow: visible; } table { font-size: 8pt; } svg.margin { width: 22mm; }
  .n { white-space: normal; } #margins tbody th, #margins td:last-child { min-width: 0; } #margins tbody th { width: 50%; } #margins svg.margin { width: 16mm; } .n .note { min-width: 0; } svg.plot { width: 88%; } figcaption { font-size: 8pt; }
  #faults td { white-space: nowrap; } #nets th, #nets td, #lines th, #lines td { padding-right: .45rem; } #nets th:last-child, #nets td:last-child { padding-right: 0; }
}
)";

}  // namespace pb::delivery
