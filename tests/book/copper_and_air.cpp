// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>
#include <string>

#include "judgement/copper.h"
#include "physics/copper.h"
#include "physics/wire.h"
#include "tests/book/topics.h"
#include "tests/slow/small_design.h"

namespace pb::book {
namespace {

using namespace physics;

const Source kGauge{"ASTM B258, with 1/58 Ω·mm²/m of IEC 60028:1925: printed table",
                    Basis::published};
const Source kClear{"IPC-2221A (2003) table 6-1, columns B4 and B2, from memory",
                    Basis::remembered};
const Source kAirTable{"table of air at 1 atm, from memory", Basis::remembered};

void add_wires(std::vector<Row>& rows) {
  struct Gauge {
    const char* text;
    double gauge, mm;
  };
  for (const Gauge& g : {Gauge{"10", 10, 2.5882}, Gauge{"24", 24, 0.5106}, Gauge{"36", 36, 0.1270}})
    rows.push_back({std::string("gauge-") + g.text, std::string("Diameter of AWG ") + g.text,
                    kGauge, g.mm, "mm", within(2e-4),
                    [g](const Skew&) { return 1e3 * awg_diameter_m(g.gauge); }, 4});
  rows.push_back({"gauge-24-resistance", "Resistance of AWG 24 at 20 °C", kGauge, 84.215, "Ω/km",
                  within(2e-4),
                  [](const Skew&) { return 1e3 * copper_ohm_per_m(awg_area_m2(24), 293.15); }});
  rows.push_back({"trace-warm",
                  "Resistance of 50 mm of trace, 1 mm by 35 µm, at 85 °C",
                  {"1/58 Ω·mm²/m and 0.00393/K of IEC 60028:1925", Basis::published_law},
                  30.9224,
                  "mΩ",
                  within(2e-5),
                  [](const Skew&) { return 50 * copper_ohm_per_m(35e-9, 358.15); }});
}

void add_trace_widths(std::vector<Row>& rows) {
  rows.push_back({"rise-newer",
                  "Rise of an outer trace of 1 mm by 35 µm, 1 A, by the newer fit",
                  {"215.3 I² W^-1.15 Th^-1 (mil): Brooks, Adam, 2015, evaluated in another "
                   "language",
                   Basis::published_law},
                  2.2875,
                  "K",
                  within(1e-4),
                  [](const Skew&) { return outer_rise_2152_K(1, 1e-3, 35e-6); },
                  5});
  rows.push_back({"trace-melts",
                  "Time in which 10.1052 A melt that trace, from 25 °C",
                  {"Onderdonk's equation (Stauffacher, General Electric Review 31(6), 1928), "
                   "evaluated in another language",
                   Basis::published_law},
                  1.0,
                  "s",
                  within(1e-4),
                  [](const Skew&) { return melts_within_s(35e-9, 10.1052, 25); },
                  5});
  struct Apart {
    const char* text;
    double volts, coated_mm;
  };
  for (const Apart& a :
       {Apart{"30", 30, 0.05}, Apart{"30.5", 30.5, 0.13}, Apart{"100.5", 100.5, 0.4}})
    rows.push_back({std::string("apart-") + a.text,
                    std::string("Distance of conductors under solder mask at ") + a.text + " V",
                    kClear, a.coated_mm, "mm", within(2e-3),
                    [a](const Skew&) { return 1e3 * clearance_for(a.volts).coated_m; }, 3});
  for (const Apart& a :
       {Apart{"30", 30, 0.1}, Apart{"30.5", 30.5, 0.6}, Apart{"100.5", 100.5, 0.6}})
    rows.push_back({std::string("bare-apart-") + a.text,
                    std::string("Distance of bare conductors at ") + a.text + " V", kClear,
                    a.coated_mm, "mm", within(2e-3),
                    [a](const Skew&) { return 1e3 * clearance_for(a.volts).bare_m; }, 3});
}

void add_air(std::vector<Row>& rows) {
  struct Property {
    const char *id, *text, *unit;
    double factor;
    double Air::* of;
    double at_300, at_350;
  };
  for (const Property& p : {Property{"viscosity", "Kinematic viscosity", "mm²/s", 1e6,
                                     &Air::viscosity_m2_s, 15.89, 20.92},
                            Property{"diffusivity", "Thermal diffusivity", "mm²/s", 1e6,
                                     &Air::diffusivity_m2_s, 22.5, 29.9}}) {
    rows.push_back({std::string("air-") + p.id + "-300", std::string(p.text) + " of air at 300 K",
                    kAirTable, p.at_300, p.unit, within(3e-3),
                    [p](const Skew&) { return p.factor * (air_at(300).*p.of); }, 4});
    rows.push_back({std::string("air-") + p.id + "-350", std::string(p.text) + " of air at 350 K",
                    kAirTable, p.at_350, p.unit, within(3e-3),
                    [p](const Skew&) { return p.factor * (air_at(350).*p.of); }, 4});
  }
  rows.push_back({"air-conductivity-300", "Thermal conductivity of air at 300 K", kAirTable, 26.3,
                  "mW/(m·K)", within(3e-3),
                  [](const Skew&) { return 1e3 * air_at(300).conductivity_W_mK; }, 4});
  rows.push_back(
      {"air-conductivity-hot",
       "That at 450 K over that at 300 K",
       {"1.5^0.83; the table has 1.42: from memory", Basis::remembered},
       1.40009,
       "",
       within(2e-3),
       [](const Skew&) { return air_at(450).conductivity_W_mK / air_at(300).conductivity_W_mK; }});
  rows.push_back({"wire-film",
                  "Film coefficient of a level wire of 1 mm, 350 K in air of 300 K",
                  {"Churchill, Chu, Int. J. Heat Mass Transfer 18, 1975, evaluated in another "
                   "language",
                   Basis::published_law},
                  27.48628251771762,
                  "W/(m²·K)",
                  within(1e-6),
                  [](const Skew&) { return cylinder_film_W_m2K(1e-3, 350, 300); }});
  rows.push_back({"wire-radiates",
                  "What it radiates at 400 K into 300 K",
                  {"0.9 σ (T⁴ - T_a⁴), σ = 2π⁵k⁴/(15 h³c²) with k, h and c of the SI brochure, 9th "
                   "ed. 2019; 0.9 from memory",
                   Basis::closed_form},
                  0.9 * 2 * std::pow(std::numbers::pi, 5) * std::pow(1.380649e-23, 4) /
                      (15 * std::pow(6.62607015e-34, 3) * 299792458.0 * 299792458.0) *
                      (256e8 - 81e8),
                  "W/m²",
                  within(1e-6),
                  [](const Skew&) { return radiated_W_m2(400, 300); }});
}

/// Halfway between two published thermal resistances lies half the copper.
void add_areas(std::vector<Row>& rows) {
  const Source note{"published measurements: application note AN-994-1, table 1", Basis::published};
  const Source sheet{"published measurements: a package's sheet, 300 and 600 mm²",
                     Basis::published};
  struct Halfway {
    const char *id, *package;
    double K_W, mm2;
    Source source;
  };
  for (const Halfway& h :
       {Halfway{"sot23", "SOT-23", 0.5 * (342.6 + 230.0), 0.5 * 645.16, note},
        Halfway{"so8", "SO-8", 0.5 * (91.8 + 50.0), 0.5 * 645.16, note},
        Halfway{"dpak", "DPAK", 0.5 * (77.3 + 26.3), 0.5 * 645.16, note},
        Halfway{"sot223-less", "SOT-223", 0.5 * (164.3 + 81.2), 150, sheet},
        Halfway{"sot223-more", "SOT-223", 0.5 * (81.2 + 68.0), 450, sheet},
        Halfway{"sot323",
                "SOT-323",
                460,
                50,
                {"500 K/W bare, 420 K/W with 1 cm²: from memory", Basis::remembered}}})
    rows.push_back({std::string("area-") + h.id,
                    std::string("Copper with which a ") + h.package + " has " +
                        std::to_string(h.K_W).substr(0, 6) + " K/W",
                    h.source, h.mm2, "mm²", within(5e-3),
                    [h](const Skew&) { return 1e6 * copper_area_for(h.package, h.K_W).area_m2; },
                    5});
  rows.push_back({"footprint-sod123",
                  "Thermal resistance of a SOD-123 on its footprint",
                  {"Power Sources and Supplies (2007), table 12.3", Basis::published},
                  340.0,
                  "K/W",
                  within(1e-3),
                  [](const Skew&) { return copper_area_for("SOD-123", 100).footprint_K_W; },
                  4});
}

/// The copper of a small design that drives each winding through so many ohms, at 5 V; on motor
/// leads of four in a cable. A run: once for each.
const CopperTable& table_of(double winding_ohm) {
  static std::map<double, CopperTable> known;
  const auto at = known.find(winding_ohm);
  if (at != known.end()) return at->second;
  Design d = test::small_design(test::shipped().front());
  d.brief.motor.winding_resistance_ohm = winding_ohm;
  Case c = case_of(d);
  c.dead_time_s = d.settings.dead_time_s;
  return known[winding_ohm] = copper_table(c);
}
/// The first that leaves for the motor, or the supply.
const LeadCopper& lead(double winding_ohm, const std::string& to) {
  const auto& leads = table_of(winding_ohm).leads;
  return *std::find_if(leads.begin(), leads.end(),
                       [&](const LeadCopper& l) { return l.name.starts_with(to + " "); });
}
/// What the table rates those gauges, one after the other asked for by a winding's resistance;
/// not a number where another gauge is chosen.
struct Asked {
  int gauge;
  double ohm;
};
double rated_A(const std::vector<Asked>& gauges) {
  double sum = 0;
  for (const Asked& a : gauges) {
    const LeadCopper& l = lead(a.ohm, "motor");
    sum += l.gauge == a.gauge ? l.rated_A : std::nan("");
  }
  return sum;
}

void add_leads(std::vector<Row>& rows) {
  const Source wires{
      "MIL-STD-975M (1994), appendix A: single wires, half for insulation of 105 °C, "
      "(29 - N)/28 in a cable of N",
      Basis::published};
  rows.push_back({"leads-thin", "Ratings of AWG 28, 26 and 24 in a cable of four, together", wires,
                  (1.8 + 2.5 + 3.3) * 0.5 * 25 / 28, "A", within(1e-9),
                  [](const Skew&) { return rated_A({{28, 50}, {26, 5}, {24, 3.7}}); }});
  rows.push_back({"leads-thick", "Ratings of AWG 22, 20, 18 and 16 there, together", wires,
                  (4.5 + 6.5 + 9.2 + 13.0) * 0.5 * 25 / 28, "A", within(1e-9), [](const Skew&) {
                    return rated_A({{22, 2.7}, {20, 1.9}, {18, 1.3}, {16, 0.9}});
                  }});
  rows.push_back({"leads-cable", "Rating of a lead in a cable of two over that in one of four",
                  wires, 27.0 / 25, "", within(1e-9), [](const Skew&) {
                    return lead(50, "supply").rated_A / lead(50, "motor").rated_A;
                  }});
  rows.push_back(
      {"contact-rating",
       "Least rating of a lead's contact over its current",
       {"derated to a half: ECSS-Q-ST-30-11C rev. 2 (2021), table 6-10", Basis::published},
       2.0,
       "",
       within(1e-9),
       [](const Skew&) {
         const LeadCopper& l = lead(50, "motor");
         return l.contact_A / l.flow.rms_A;
       },
       2});
  rows.push_back({"contact-resistance",
                  "Its resistance",
                  {"20 mΩ, what most data sheets allow: from memory", Basis::remembered},
                  20.0,
                  "mΩ",
                  within(1e-9),
                  [](const Skew&) {
                    const LeadCopper& l = lead(50, "motor");
                    return 1e3 * l.contact_loss_W / (l.flow.rms_A * l.flow.rms_A);
                  },
                  2});
  rows.push_back({"finest-track",
                  "Narrowest width asked for, of a net that hardly carries anything",
                  {"0.2 mm in a raster of 0.05 mm: common practice, no source", Basis::remembered},
                  0.2,
                  "mm",
                  within(1e-9),
                  [](const Skew&) {
                    double least_m = 1;
                    for (const NetCopper& n : table_of(50).nets)
                      least_m = std::min(least_m, n.drawn_m);
                    return 1e3 * least_m;
                  },
                  2});
}

}  // namespace

Topic copper_and_air() {
  Topic t{"Copper, wires and air",
          "What carries current on the board and off it, and what cools it.",
          {}};
  add_wires(t.rows);
  add_trace_widths(t.rows);
  add_air(t.rows);
  add_areas(t.rows);
  add_leads(t.rows);
  return t;
}

}  // namespace pb::book
