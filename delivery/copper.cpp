// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "delivery/copper.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "base/text.h"
#include "delivery/report_sections.h"
#include "delivery/svg.h"
#include "delivery/values.h"
#include "files/csv.h"

namespace pb::delivery {
namespace {

constexpr double kMm = 1e3;

std::string mm(double m) {
  constexpr double kThin_m = 0.01e-3;  // no one draws that thin
  return m > 0 && m < kThin_m ? "< 0.01 mm" : significant(m * kMm, 3) + " mm";
}

/// So many significant digits as a board is made to; the rest would be noise from machine to
/// machine.
double rounded(double x) {
  const auto read = std::isfinite(x) ? to_number(significant(x, 5)) : std::nullopt;
  return read ? *read : kNotGiven;
}

std::string name_of(const physics::NetEndFlow& e) {
  return e.terminal.empty() ? e.ref : e.ref + " " + e.terminal;
}

// --- the page
// -------------------------------------------------------------------------------------

void nets_section(Html& page, const Design& d, const CopperTable& table) {
  page.open("section", "id=\"nets\"").element("h2", "Nets");
  page.element(
      "p",
      "No piece of a net's copper, however it is routed, carries more than half the sum of "
      "what flows in and out of it: that is the current shown. It comes from the simulated "
      "move without pause and from every state held for ever, with the highest supply, the "
      "least winding resistance and everything at the lowest ambient temperature. The width "
      "is for the rms current and a rise of " +
          with_unit(d.brief.rules.trace_rise_K, "K") + " in copper of " +
          with_unit(d.brief.build.copper_thickness_m, "m") + ".");
  page.open_table("Current, width, vias and distance of each net",
                  {"net", "#mean", "#rms", "#peak", "most", "#outer width", "#inner width", "#draw",
                   "#vias", "#voltage", "#distance", "#bare"});
  for (const NetCopper& n : table.nets)
    page.row({n.net, with_unit(n.through.mean_A, "A"), with_unit(n.through.rms_A, "A"),
              with_unit(n.through.peak_A, "A"), n.most, mm(n.outer_m), mm(n.inner_m), mm(n.drawn_m),
              std::to_string(n.vias), with_unit(n.apart_V, "V"), mm(n.clearance.coated_m),
              mm(n.clearance.bare_m)});
  page.close_table();
  std::vector<std::string> beyond;
  for (const NetCopper& n : table.nets)
    if (!n.in_charts) beyond.push_back(n.net);
  page.open("ul");
  page.element(
      "li",
      "Width: IPC-2221A (2003) 6.2, I = k ΔT^0.44 A^0.725, k = 0.048 outer, 0.024 inner. "
      "Its charts end at 35 A outer and 17.5 A inner, 10 to 100 K, 10.16 mm, 0.5 to 3 oz. " +
          (beyond.empty() ? std::string("Every net is inside.")
                          : "Extrapolated: " + join(beyond, ", ") + "."));
  page.element("li",
               "IPC-2152 (2009) measured anew: inner traces cool about as well as outer ones, so "
               "half the current is caution, not physics; the outer formula is not always the "
               "careful one. The column rise_2152_K of copper.csv has the rise of the width drawn "
               "by a third party's fit to its charts.");
  page.element("li", "Draw at least " + mm(kFinestTrack_m) +
                         " (common practice, no source), in steps of 0.05 mm.");
  page.element("li", "Vias of " + mm(kViaHole_m) + " finished hole and " + mm(kViaPlating_m) +
                         " plating, the barrel judged as an inner trace (a convention): so many "
                         "wherever the net changes layers.");
  page.element("li",
               "Distance: IPC-2221A table 6-1, outer layer under solder mask, and bare, from "
               "memory, for the greatest voltage against any other net.");
  page.close();
  page.close();
}

void ends_section(Html& page, const CopperTable& table) {
  page.open("section", "id=\"ends\"").element("h2", "Leads of parts");
  page.element("p", "What flows into each part's lead; a mean below zero comes out of it.");
  page.open_table("Currents of each net's ends", {"net", "end", "#mean", "#rms", "#peak"});
  for (const NetCopper& n : table.nets)
    for (const physics::NetEndFlow& e : n.ends)
      page.row({n.net, name_of(e), with_unit(e.flow.mean_A, "A"), with_unit(e.flow.rms_A, "A"),
                with_unit(e.flow.peak_A, "A")});
  page.close_table();
  page.close();
}

void leads_section(Html& page, const CopperTable& table) {
  page.open("section", "id=\"leads\"").element("h2", "Connectors and wire");
  page.open_table("Every lead that leaves the board",
                  {"lead", "#rms", "#peak", "gauge", "#it may carry", "#drop a metre", "#rise",
                   "#contact for", "#contact loss"});
  for (const LeadCopper& l : table.leads)
    page.row({l.name, with_unit(l.flow.rms_A, "A"), with_unit(l.flow.peak_A, "A"),
              l.gauge > 0 ? "AWG " + std::to_string(l.gauge) : "thicker than AWG 16",
              with_unit(l.rated_A, "A"), with_unit(l.drop_V_per_m, "V"), with_unit(l.rise_K, "K"),
              with_unit(l.contact_A, "A"), with_unit(l.contact_loss_W, "W")});
  page.close_table();
  page.open("ul");
  page.element("li",
               "Gauge: ASTM B258, the thinnest from AWG 28 on whose current is not exceeded: "
               "MIL-STD-975M (1994) appendix A, insulation for 105 °C, its leads in one "
               "cable. The drop is of one conductor: twice that for a pair.");
  page.element("li",
               "Rise above still air of one wire alone: Churchill and Chu (1975) and "
               "radiation; warmer in a bundle.");
  page.element("li",
               "Contacts at half their rating (ECSS-Q-ST-30-11C rev. 2, table 6-10); loss at "
               "20 mΩ, from memory.");
  page.close();
  page.close();
}

std::string copper_text(const JunctionCopper& j) {
  if (j.footprint_suffices) return "none: passes with the bare footprint";
  if (!j.reachable) return "not reached by copper on one side";
  if (!given(j.area_m2)) return "not published: as the data sheet draws it";
  return j.area_m2 == 0 ? "none" : significant(j.area_m2 * 1e6, 3) + " mm²";
}

/// Junctions of which the same is to be said, with their references.
std::vector<std::pair<const JunctionCopper*, std::vector<std::string>>> alike(
    const std::vector<JunctionCopper>& junctions) {
  std::vector<std::pair<const JunctionCopper*, std::vector<std::string>>> out;
  for (const JunctionCopper& j : junctions) {
    const auto at = std::find_if(out.begin(), out.end(), [&](const auto& seen) {
      return seen.first->number == j.number && copper_text(*seen.first) == copper_text(j);
    });
    if (at == out.end())
      out.push_back({&j, {j.ref}});
    else
      at->second.push_back(j.ref);
  }
  return out;
}

void heat_section(Html& page, const CopperTable& table) {
  page.open("section", "id=\"heat\"").element("h2", "Copper that cools");
  page.element("p",
               "The proof takes each junction's thermal resistance from its data sheet's "
               "smallest footprint. Where others found that the package needs more copper for "
               "it, the whole proof was run again with what they found for the bare footprint: "
               "a junction that fails then needs the area shown.");
  page.open_table("Copper for the thermal resistance the proof rests on",
                  {"references", "number", "package", "#rests on", "#bare footprint",
                   "copper beyond the footprint"});
  std::map<std::string, std::string> sources;  // of a package
  for (const auto& [like, refs] : alike(table.junctions)) {
    const JunctionCopper& j = *like;
    page.row({join(refs, " "), j.number, j.package, with_unit(j.rth_K_W, "K/W"),
              given(j.footprint_K_W) ? with_unit(j.footprint_K_W, "K/W") : "not published",
              copper_text(j)});
    if (!j.source.empty()) sources[j.package] = j.source;
  }
  page.close_table();
  std::vector<std::string> told;
  told.reserve(sources.size());
  for (const auto& [package, source] : sources)
    told.push_back(fmt::format("{}: {}", package, source));
  if (!told.empty())
    page.element("p",
                 fmt::format("Sources: {}. The greatest of each; straight lines between, which ask "
                             "for more than the curve.",
                             join(told, "; ")),
                 "class=\"note\"");
  page.close();
}

void placement_section(Html& page, const Placement& p) {
  page.open("section", "id=\"placement\"").element("h2", "Placement");
  if (!p.trouble.empty()) {
    page.element("p", "No sketch: " + p.trouble + ".");
  } else {
    page.open("figure").markup(placement_svg(p));
    page.element("figcaption",
                 "A start for the layout, to scale, " + significant(p.width_mm, 3) + " mm by " +
                     significant(p.height_mm, 3) +
                     " mm: courtyards on one side, connectors as pin headers of 2.54 mm.");
    page.close();
    page.open_table("Loops in which current changes hands",
                    {"loop", "parts", "#area at the most", "#of the parts alone"});
    for (const CurrentLoop& l : p.loops)
      page.row({l.name, join(l.refs, " "), significant(l.area_mm2, 3) + " mm²",
                significant(l.least_mm2, 3) + " mm²"});
    page.close_table();
  }
  page.close();
}

// --- the sketch
// -----------------------------------------------------------------------------------

/// As large as fits the box, along its longer side.
void label(Svg& svg, const PlacedBox& b) {
  const bool upright = b.height_mm > b.width_mm;
  const double along = upright ? b.height_mm : b.width_mm,
               across = upright ? b.width_mm : b.height_mm;
  constexpr double kCharacter = 0.62, kFill = 0.85;  // width of a letter over its height
  const double size = std::min(
      {kFill * along / (kCharacter * static_cast<double>(b.ref.size())), kFill * across, 1.3});
  const XY middle{b.x_mm + 0.5 * b.width_mm, b.y_mm + 0.5 * b.height_mm};
  constexpr double kHalfCapital = 0.35;
  if (!upright) {
    svg.text({middle.x, middle.y + kHalfCapital * size}, b.ref, size, Anchor::middle);
    return;
  }
  svg.text({middle.x + kHalfCapital * size, middle.y}, b.ref, size, Anchor::middle,
           fmt::format("transform=\"rotate(-90 {} {})\"",
                       svg_number(middle.x + kHalfCapital * size), svg_number(middle.y)));
}

}  // namespace

std::string copper_csv(const CopperTable& table) {
  CsvWriter csv;
  csv.headings({"net", "mean_A", "rms_A", "peak_A", "most", "outer_width_mm", "inner_width_mm",
                "draw_mm", "in_ipc_2221_charts", "rise_2152_K", "ohm_per_m", "melts_at_peak_s",
                "vias", "voltage_V", "distance_coated_mm", "distance_bare_mm"});
  for (const NetCopper& n : table.nets) {
    csv.text(n.net).number(rounded(n.through.mean_A)).number(rounded(n.through.rms_A));
    csv.number(rounded(n.through.peak_A)).text(n.most).number(rounded(n.outer_m * kMm));
    csv.number(rounded(n.inner_m * kMm)).number(rounded(n.drawn_m * kMm));
    csv.text(n.in_charts ? "yes" : "no").number(rounded(n.rise_2152_K));
    csv.number(rounded(n.ohm_per_m)).number(rounded(n.melts_s)).number(n.vias);
    csv.number(rounded(n.apart_V)).number(rounded(n.clearance.coated_m * kMm));
    csv.number(rounded(n.clearance.bare_m * kMm));
    csv.end_row();
  }
  return csv.str();
}

std::string leads_csv(const CopperTable& table) {
  CsvWriter csv;
  csv.headings({"lead", "net", "mean_A", "rms_A", "peak_A", "awg", "may_carry_A", "ohm_per_m",
                "drop_V_per_m", "rise_K", "contact_rating_A", "contact_loss_W"});
  for (const LeadCopper& l : table.leads) {
    csv.text(l.name).text(l.net).number(rounded(l.flow.mean_A)).number(rounded(l.flow.rms_A));
    csv.number(rounded(l.flow.peak_A)).number(l.gauge > 0 ? l.gauge : kNotGiven);
    csv.number(rounded(l.rated_A)).number(rounded(l.ohm_per_m)).number(rounded(l.drop_V_per_m));
    csv.number(rounded(l.rise_K)).number(rounded(l.contact_A)).number(rounded(l.contact_loss_W));
    csv.end_row();
  }
  return csv.str();
}

std::string heat_copper_csv(const CopperTable& table) {
  CsvWriter csv;
  csv.headings({"ref", "number", "package", "rth_ja_K_W", "bare_footprint_K_W",
                "passes_on_bare_footprint", "copper_mm2", "reachable", "source"});
  for (const JunctionCopper& j : table.junctions) {
    csv.text(j.ref).text(j.number).text(j.package).number(j.rth_K_W).number(j.footprint_K_W);
    const bool bare = j.footprint_suffices || j.rth_K_W >= j.footprint_K_W;
    csv.text(bare ? "yes" : given(j.footprint_K_W) ? "no" : "");
    csv.number(j.footprint_suffices ? 0 : rounded(j.area_m2 * 1e6));
    csv.text(j.reachable || j.footprint_suffices ? "yes" : "no").text(std::string(j.source));
    csv.end_row();
  }
  return csv.str();
}

std::string placement_svg(const Placement& p) {
  Svg svg(0, 0, p.width_mm, p.height_mm, "Placement of the parts, to scale",
          "class=\"placement\" style=\"max-width:36rem\" font-family=\"monospace\" "
          "fill=\"currentColor\"");
  svg.rect(0, 0, p.width_mm, p.height_mm, {.stroke = "currentColor", .fill = "none", .width = 0.1});
  const char* colours[] = {"var(--trace-1, #14507e)", "var(--trace-2, #b4540a)",
                           "var(--trace-3, #2f7d75)", "var(--trace-4, #7a2e6d)"};
  const char* dashes[] = {"1 0.5", "2 0.6", "0.5 0.5", "2 0.5 0.5 0.5"};
  for (std::size_t k = 0; k < p.loops.size(); ++k) {
    std::vector<XY> points;
    points.reserve(p.loops[k].hull.size());
    for (const auto& c : p.loops[k].hull) points.push_back({c.x_mm, c.y_mm});
    svg.polygon(points,
                {.stroke = colours[k % 4], .fill = "none", .dash = dashes[k % 4], .width = 0.12});
  }
  for (const PlacedBox& b : p.boxes) {
    svg.rect(b.x_mm, b.y_mm, b.width_mm, b.height_mm,
             {.stroke = "currentColor", .fill = "none", .width = b.connector ? 0.12 : 0.06});
    label(svg, b);
  }
  return svg.finish();
}

std::string copper_html(const Design& d, const CopperTable& table, const Placement& placement,
                        const std::string& version, const std::string& input_sha256) {
  Html page;
  const std::string& title = d.brief.title.empty() ? d.wiring.title : d.brief.title;
  open_page(page, title, "copper", "What the board's copper, leads and contacts must carry.");
  if (!table.trouble.empty())
    page.element("p", "Undecided: " + table.trouble + ".", "class=\"verdict bad\"");
  nets_section(page, d, table);
  placement_section(page, placement);
  leads_section(page, table);
  heat_section(page, table);
  ends_section(page, table);
  cautions_section(page);
  close_page(page, version, input_sha256);
  return page.finish();
}

}  // namespace pb::delivery
