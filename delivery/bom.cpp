// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
#include "delivery/bom.h"

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "delivery/report_sections.h"
#include "delivery/values.h"
#include "files/csv.h"
#include "judgement/cost.h"
#include "judgement/package.h"

namespace pb::delivery {
namespace {

/// What an assembler must not turn round, by class. A class not named has no direction.
struct Direction {
  std::string_view part_class, note;
};
constexpr Direction kDirections[] = {
    {"diode", "band (cathode) as drawn"},
    {"zener", "band (cathode) as drawn"},
    {"electrolytic", "plus as drawn"},
    {"n-mosfet", "by its leads"},
    {"p-mosfet", "by its leads"},
    {"npn", "by its leads"},
    {"pnp", "by its leads"},
    {"bridge-chip", "pin 1 as drawn"},
    {"dual-bridge-chip", "pin 1 as drawn"},
    {"dual-chopper-chip", "pin 1 as drawn"},
    {"buffers", "pin 1 as drawn"},
    {"comparator", "pin 1 as drawn"},
};
std::string direction_of(const Part& part) {
  for (const Direction& d : kDirections)
    if (d.part_class == part.part_class) return std::string(d.note);
  return "either way";
}

std::string mounting_of(const Part& part) {
  const Package* p = find_package(part.package);
  if (p == nullptr) return "not known";
  return p->through_hole ? "through hole" : "surface";
}

std::vector<std::string> passing(const PartsLine& line, const Alternatives* alternatives) {
  std::vector<std::string> out;
  if (alternatives == nullptr) return out;
  for (const Trial& t : alternatives->parts)
    if (t.passes && t.replaces == line.part->number) out.push_back(t.part.number);
  return out;
}

std::string pieces_text(double n) { return significant(n, 9); }

/// What the build orders for a line.
std::string ordered(const Design& d, const PartsLine& line) {
  if (line.part->price_breaks.empty()) return "no price";
  return pieces_text(order_of(d, line.roles.front()).quantity);
}

void lines_section(Html& page, const Design& d, const Alternatives& a) {
  page.open("section", "id=\"lines\"").element("h2", "Lines");
  page.open_table("Parts of one board and of the whole order",
                  {"references", "number", "what", "package", "#on a board", "#to order", "placing",
                   "second sources"});
  for (const PartsLine& line : parts_lines(d)) {
    const std::string others = join(passing(line, &a), "\n");
    page.row({join(line.refs, " "), line.part->number, description(d, line.roles.front()),
              line.part->package, pieces_text(static_cast<double>(line.refs.size())),
              ordered(d, line), mounting_of(*line.part) + "; " + direction_of(*line.part),
              others.empty() ? "none found" : others});
  }
  page.close_table();
  page.element("p",
               "To order: with " + format_percent(d.brief.build.attrition) +
                   " lost in placing, and more where a better price asks for it. All parts stand "
                   "on the top side, as placement.svg has them; directions are those of "
                   "schematic.pdf. Surface parts come on tape and reel; parts through holes are "
                   "placed by hand and soldered by hand or wave.");
  page.close();
}

void trials_section(Html& page, const Alternatives& a) {
  page.open("section", "id=\"second\"").element("h2", "Second sources");
  const auto passed =
      std::count_if(a.parts.begin(), a.parts.end(), [](const Trial& t) { return t.passes; });
  page.element("p", std::to_string(a.parts.size()) +
                        " rows of the catalogue with the same footprint and class were put in and "
                        "proven in full, " +
                        std::to_string(passed) + " pass; " + std::to_string(a.left) +
                        " more were not tried. A row stands for its number wherever that is on "
                        "the board; two swaps at once were not tried.");
  if (!a.parts.empty()) {
    page.open_table("What was tried",
                    {"in place of", "number", "passes", "why not", "#tightest margin"});
    for (const Trial& t : a.parts)
      page.row({t.replaces, t.part.number, t.passes ? "yes" : "no", t.fails,
                t.passes ? format_percent(t.margin) : ""});
    page.close_table();
  }
  page.close();
}

}  // namespace

std::string bom_csv(const Design& design, const Alternatives* alternatives) {
  CsvWriter csv;
  for (const char* column : {"refs", "quantity", "number", "description", "package", "unit_price",
                             "line_cost", "currency", "alternatives", "source"})
    csv.text(column);
  csv.end_row();
  for (const PartsLine& line : parts_lines(design)) {
    const double count = static_cast<double>(line.refs.size());
    csv.text(join(line.refs, " ")).number(count).text(line.part->number);
    csv.text(description(design, line.roles.front())).text(line.part->package);
    csv.number(line.unit_price).number(line.unit_price * count).text(line.part->currency);
    csv.text(join(passing(line, alternatives), " ")).text(line.part->source);
    csv.end_row();
  }
  return csv.str();
}

std::string alternatives_csv(const Alternatives& a) {
  CsvWriter csv;
  for (const char* column :
       {"replaces", "number", "roles", "value_ohm", "passes", "fails", "tightest_margin"})
    csv.text(column);
  csv.end_row();
  for (const auto* list : {&a.parts, &a.values})
    for (const Trial& t : *list) {
      const auto margin = t.passes ? to_number(significant(t.margin, 5)) : std::nullopt;
      csv.text(t.replaces).text(t.part.number).text(join(t.roles, " ")).number(t.ohm);
      csv.text(t.passes ? "yes" : "no").text(t.fails).number(margin ? *margin : kNotGiven);
      csv.end_row();
    }
  return csv.str();
}

std::string assembly_html(const Design& d, const Alternatives& a, const std::string& version,
                          const std::string& input_sha256) {
  Html page;
  open_page(page, d.brief.title.empty() ? d.wiring.title : d.brief.title, "assembly",
            "What to order, how it is placed, and what may stand in for what.");
  lines_section(page, d, a);
  trials_section(page, a);
  values_section(page, a.values, d.brief.build.currency);
  cautions_section(page);
  close_page(page, version, input_sha256);
  return page.finish();
}

}  // namespace pb::delivery
