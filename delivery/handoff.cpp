// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "delivery/handoff.h"

#include <algorithm>

#include "base/check.h"
#include "delivery/bench.h"
#include "delivery/bom.h"
#include "delivery/copper.h"
#include "delivery/netlist.h"
#include "delivery/pdf.h"
#include "delivery/report.h"
#include "delivery/schematic.h"
#include "files/toml_design.h"

namespace pb::delivery {

std::string standalone_svg(std::string svg) {
  constexpr std::string_view kStart = "<svg ";
  PB_CHECK(svg.starts_with(kStart), svg.substr(0, 20));
  svg.insert(kStart.size(), "xmlns=\"http://www.w3.org/2000/svg\" ");
  return svg;
}

std::vector<TextFile> handoff_files(const HandoffInput& in) {
  const Design& d = in.design;
  const std::string svg = schematic_svg(d);
  const std::string title = d.brief.title.empty() ? d.wiring.title : d.brief.title;
  std::vector<TextFile> out = {
      {"assembly.html", assembly_html(d, in.alternatives, in.version, in.input_sha256)},
      {"bom.csv", bom_csv(d, &in.alternatives)},
      {"bom_alternatives.csv", alternatives_csv(in.alternatives)},
      {"bench_plan.csv", bench_csv(in.bench)},
      {"bench_plan.html", bench_html(d, in.bench, in.version, in.input_sha256)},
      {"copper.csv", copper_csv(in.copper)},
      {"copper.html", copper_html(d, in.copper, in.placement, in.version, in.input_sha256)},
      {"copper_heat.csv", heat_copper_csv(in.copper)},
      {"copper_leads.csv", leads_csv(in.copper)},
      {"design.toml", to_text(d)},
      {"netlist.csv", netlist_csv(d)},
      {"netlist.edif", netlist_edif(d)},
      {"production_faults.csv", coverage_csv(in.production)},
      {"production_test.csv", production_csv(in.production)},
      {"production_test.html", production_html(d, in.production, in.version, in.input_sha256)},
      {"report.html", report_html(CheckedInput{.design = d,
                                               .proof = in.proof,
                                               .cost = in.cost,
                                               .version = in.version,
                                               .input_sha256 = in.input_sha256})},
      {"schematic.pdf",
       pdf_of(svg, "Schematic: " + title,
              title + ". " + d.wiring.title + ". Input SHA-256 " + in.input_sha256.substr(0, 16))},
      {"schematic.svg", standalone_svg(svg)},
      {"verdict.json", in.verdict_json},
      {"drive/pin_writes.csv", pin_writes_csv(d, in.proof.plan)},
  };
  if (in.placement.trouble.empty())
    out.push_back({"placement.svg", standalone_svg(placement_svg(in.placement))});
  for (TextFile& f : drive_code(d, in.proof.dead_time_s))
    out.push_back({"drive/" + f.name, std::move(f.text)});
  std::sort(out.begin(), out.end(),
            [](const TextFile& a, const TextFile& b) { return a.name < b.name; });
  return out;
}

}  // namespace pb::delivery
