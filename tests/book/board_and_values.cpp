// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include <cmath>
#include <numbers>
#include <numeric>

#include "base/preferred.h"
#include "base/quantity.h"
#include "judgement/checks_parts.h"
#include "judgement/copper.h"
#include "physics/copper.h"
#include "tests/book/one_part.h"
#include "tests/book/topics.h"
#include "tests/slow/small_design.h"

namespace pb::book {
namespace {

using namespace physics;

const Source kIpc{"IPC-2221A (2003) 6.2, figure 6-4, curve fit as in published texts",
                  Basis::published_law};
const Source kSeries{"IEC 60063:2015, sum of the printed table", Basis::published};
const Source kMarking{"IEC 60062:2016, letter code", Basis::published};
const Source kSi{"definition: SI brochure, 9th ed. 2019", Basis::published};

constexpr double kFoil_m = 35e-6;

void add_traces(std::vector<Row>& rows) {
  const auto current = [](const Skew& k, double width_m, double rise_K, double constant) {
    return trace_current_A(width_m * kFoil_m, rise_K, constant * k.trace_constant);
  };
  const auto width = [](const Skew& k, double i_A, double rise_K, double constant) {
    return 1e3 * trace_area_m2(i_A, rise_K, constant * k.trace_constant) / kFoil_m;
  };
  rows.push_back({"trace-1mm", "Outer trace 1 mm by 35 µm, 10 K", kIpc, 2.3916, "A", within(5e-5),
                  [current](const Skew& k) { return current(k, 1e-3, 10, kOuterTrace); }, 5});
  rows.push_back({"trace-10mil", "Outer trace 0.254 mm, 20 K", kIpc, 1.2013, "A", within(5e-5),
                  [current](const Skew& k) { return current(k, 0.254e-3, 20, kOuterTrace); }, 5});
  rows.push_back({"trace-inner", "Inner trace 2 mm, 10 K", kIpc, 1.9765, "A", within(5e-5),
                  [current](const Skew& k) { return current(k, 2e-3, 10, kInnerTrace); }, 5});
  rows.push_back({"width-1A", "Outer width for 1 A, 10 K", kIpc, 0.3004, "mm", within(2e-4),
                  [width](const Skew& k) { return width(k, 1, 10, kOuterTrace); }, 4});
  rows.push_back({"width-3A", "Outer width for 3 A, 20 K", kIpc, 0.8976, "mm", within(1e-4),
                  [width](const Skew& k) { return width(k, 3, 20, kOuterTrace); }, 4});
  rows.push_back({"width-inner", "Inner width for 2 A, 10 K", kIpc, 2.0329, "mm", within(5e-5),
                  [width](const Skew& k) { return width(k, 2, 10, kInnerTrace); }, 5});
  rows.push_back({"via", "Barrel of a via, 0.3 mm finished hole, 25 µm plating, as inner, 10 K",
                  kIpc, 0.9512, "A", within(1e-4),
                  [](const Skew& k) {
                    return trace_current_A(via_area_m2(kViaHole_m, kViaPlating_m), 10,
                                           kInnerTrace * k.trace_constant);
                  },
                  4});
  rows.push_back({"trace-ratio",
                  "Inner over outer cross-section for the same current and rise",
                  {"2^(1/0.725), of the fit's exponent", Basis::closed_form},
                  std::pow(2.0, 1 / 0.725),
                  "",
                  within(1e-9),
                  [](const Skew&) {
                    return trace_area_m2(1, 10, kInnerTrace) / trace_area_m2(1, 10, kOuterTrace);
                  }});
  rows.push_back({"trace-newer",
                  "Outer trace 1 mm by 35 µm, 20 K, against a newer fit",
                  {"ΔT = 215.3 I² W^-1.15 Th^-1 (mil): Brooks, Adam, 2015, of IPC-2152 (2009)",
                   Basis::published_law},
                  std::sqrt(20 * std::pow(1 / 0.0254, 1.15) * (0.035 / 0.0254) / 215.3),
                  "A",
                  within(0.15),
                  [current](const Skew& k) { return current(k, 1e-3, 20, kOuterTrace); },
                  3});
  /// What the check of that name allows the first of its subjects, at 10 K.
  const auto limit = [](auto check) {
    Design d = test::small_design(test::shipped().front());
    d.brief.rules.trace_rise_K = 10;
    const Case c = case_of(d);
    return check(c, typical(c.spreads), Evidence{}).front().limit;
  };
  rows.push_back({"via-two", "Two of them, as a proof judges the rail's and the outputs'", kIpc,
                  2 * 0.9512, "A", within(1e-4),
                  [limit](const Skew&) { return limit(checks::via); }, 5});
  rows.push_back({"routed",
                  "Width that a proof takes the layout to give rail and outputs",
                  {"1 mm: common practice, no source", Basis::remembered},
                  1.0,
                  "mm",
                  within(1e-9),
                  [limit](const Skew&) { return 1e3 * limit(checks::trace); },
                  2});
  rows.push_back({"wire-26",
                  "Greatest current of a single lead of AWG 26",
                  {"MIL-STD-975M (1994), appendix A", Basis::published},
                  2.5,
                  "A",
                  within(1e-9),
                  [limit](const Skew&) { return limit(checks::wire); },
                  2});
  rows.push_back(
      {"fuse-melting",
       "Melting I²t of the supply's time-lag fuse, 1 A",
       {"IEC 60127-2 sheet 3, ten times the rating for 20 ms, from memory", Basis::remembered},
       2.0,
       "A²s",
       within(1e-9),
       [](const Skew&) {
         Design d = test::small_design(test::shipped().front());
         d.brief.supply.current_limit_A = 1;
         const Case c = case_of(d);
         Evidence e;
         e.has_windows = true;
         return checks::supply_inrush(c, typical(c.spreads), e).front().limit;
       },
       2});
}

/// Where the charts of traces end: of 1 A, 1 mm and 35 um, at 10 K, one is taken further. [SI]
void add_charts(std::vector<Row>& rows) {
  const Source charts{"axes of IPC-2221A (2003) figure 6-4, from memory", Basis::remembered};
  const auto ends = [](double low, double high, auto inside) {
    return solved(low, high, 0.5, [&](double x) { return inside(x) ? 0.0 : 1.0; });
  };
  rows.push_back({"chart-current", "Greatest current in the charts of outer traces", charts, 35.0,
                  "A", within(1e-9),
                  [ends](const Skew&) {
                    return ends(1, 100, [](double i_A) {
                      return in_chart_range(i_A, 10, 1e-3, kFoil_m, kOuterTrace);
                    });
                  },
                  3});
  rows.push_back({"chart-width", "Greatest width in them", charts, 10.16, "mm", within(1e-9),
                  [ends](const Skew&) {
                    return 1e3 * ends(1e-3, 1, [](double width_m) {
                             return in_chart_range(1, 10, width_m, kFoil_m, kOuterTrace);
                           });
                  },
                  4});
  rows.push_back({"chart-thick", "Thickest foil in them: 3 oz, and 3 % for rounding", charts,
                  3.1 * 34.17, "µm", within(1e-9),
                  [ends](const Skew&) {
                    return 1e6 * ends(kFoil_m, 1e-3, [](double foil_m) {
                             return in_chart_range(1, 10, 1e-3, foil_m, kOuterTrace);
                           });
                  },
                  5});
  rows.push_back({"chart-thin", "Thinnest: half an ounce, and 2 %", charts, 0.49 * 34.17, "µm",
                  within(1e-9),
                  [ends](const Skew&) {
                    return -1e6 * ends(-kFoil_m, 0, [](double minus_m) {
                      return in_chart_range(1, 10, 1e-3, -minus_m, kOuterTrace);
                    });
                  },
                  4});
}

void add_series(std::vector<Row>& rows) {
  struct Table {
    const char* name;
    Series series;
    double sum;
  };
  for (const Table& t : {Table{"E6", Series::E6, 19.5}, Table{"E12", Series::E12, 42.9},
                         Table{"E24", Series::E24, 90.1}, Table{"E48", Series::E48, 183.13},
                         Table{"E96", Series::E96, 370.70}})
    rows.push_back({std::string("series-") + t.name, std::string("Sum of a decade of ") + t.name,
                    kSeries, t.sum, "", within(1e-12),
                    [t](const Skew&) {
                      const auto m = preferred_mantissas(t.series);
                      return std::accumulate(m.begin(), m.end(), 0) / 100.0;
                    },
                    5});
  rows.push_back({"series-exceptions",
                  "Values of E24 that are not 10^(i/24) rounded",
                  {"IEC 60063:2015, E24", Basis::published},
                  8,
                  "",
                  by(0),
                  [](const Skew&) {
                    int odd = 0;
                    for (int i = 0; i < 24; ++i)
                      if (preferred_mantissas(Series::E24)[static_cast<std::size_t>(i)] !=
                          10 * std::lround(10 * std::pow(10.0, i / 24.0)))
                        ++odd;
                    return static_cast<double>(odd);
                  },
                  1});
}

double read(const char* text, Dim dim) {
  const auto value = parse_quantity(text, dim);
  return value ? *value : std::nan("");
}

void add_quantities(std::vector<Row>& rows) {
  struct Code {
    const char* text;
    double ohm;
    int digits;
  };
  for (const Code& c :
       {Code{"R47", 0.47, 2}, Code{"4R7", 4.7, 2}, Code{"4K7", 4700, 4}, Code{"4M7", 4.7e6, 7}})
    rows.push_back({std::string("marking-") + c.text, std::string("A resistor marked ") + c.text,
                    kMarking, c.ohm, "Ω", within(1e-12),
                    [c](const Skew&) { return read(c.text, dim::resistance); }, c.digits});
  rows.push_back({"unit-rpm", "120 rpm", kSi, 4 * std::numbers::pi, "rad/s", within(1e-12),
                  [](const Skew&) { return read("120 rpm", dim::angular_speed); }});
  rows.push_back({"unit-inertia", "54 g cm2", kSi, 5.4e-6, "kg·m²", within(1e-12),
                  [](const Skew&) { return read("54 g cm2", dim::inertia); }, 3});
  rows.push_back({"unit-celsius", "-40 degC", kSi, 233.15, "K", within(1e-12),
                  [](const Skew&) { return read("-40 degC", dim::temperature); }, 5});
  const Source nist{"NIST SP 811 (2008), B.9, from memory", Basis::remembered};
  rows.push_back({"unit-gram-force", "100 gf cm", nist, 9.80665, "mN·m", within(1e-7),
                  [](const Skew&) { return 1e3 * read("100 gf cm", dim::torque); }});
  rows.push_back({"unit-ounce-force", "1 ozf in", nist, 7.061552, "mN·m", within(1e-7),
                  [](const Skew&) { return 1e3 * read("1 ozf in", dim::torque); }, 7});
  rows.push_back({"unit-pound-force", "1 lbf in", nist, 0.1129848, "N·m", within(1e-6),
                  [](const Skew&) { return read("1 lbf in", dim::torque); }, 7});
  rows.push_back({"unit-mil", "100 mil", nist, 2.54, "mm", within(1e-12),
                  [](const Skew&) { return 1e3 * read("100 mil", dim::length); }, 3});
  rows.push_back({"unit-degree", "1.8 deg", kSi, std::numbers::pi / 100, "rad", within(1e-12),
                  [](const Skew&) { return read("1.8 deg", dim::angle); }});
  rows.push_back({"unit-hour", "0.5 h", kSi, 1800, "s", within(1e-12),
                  [](const Skew&) { return read("0.5 h", dim::time); }, 4});
}

}  // namespace

Topic board_and_values() {
  Topic t{"Board, leads, preferred values, units",
          "Figures of standards. The standards of traces differ by more than their digits: the row "
          "against the newer fit shows by how much.",
          {}};
  add_traces(t.rows);
  add_charts(t.rows);
  add_series(t.rows);
  add_quantities(t.rows);
  return t;
}

}  // namespace pb::book
