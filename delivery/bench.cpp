// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "delivery/bench.h"

#include <algorithm>
#include <cmath>
#include <set>

#include "base/text.h"
#include "delivery/report_sections.h"
#include "delivery/values.h"
#include "files/csv.h"

namespace pb::delivery {
namespace {

constexpr const char* kBox = "☐";
constexpr const char* kBlank = "________";

/// A micro of the least unit is nothing on any instrument, and would differ from machine to
/// machine.
double shown(double x) {
  constexpr double kNothing = 1e-9;
  if (!std::isfinite(x)) return kNotGiven;
  if (std::abs(x) < kNothing) return 0;
  const auto read = to_number(significant(x, 5));
  return read ? *read : kNotGiven;
}

std::string quantity(double x, const std::string& unit) { return with_unit(shown(x), unit); }
std::string band(double low, double high, const std::string& unit) {
  const std::string from = quantity(low, unit), to = quantity(high, unit);
  return from == to ? from : from + " to " + to;
}

void list(Html& page, const std::vector<std::string>& items) {
  page.open("ul");
  for (const std::string& i : items) page.element("li", i);
  page.close();
}

const std::string& title_of(const Design& d) {
  return d.brief.title.empty() ? d.wiring.title : d.brief.title;
}

void who_and_when(Html& page) {
  page.element("p", std::string("Board number ") + kBlank + kBlank + "   by " + kBlank + kBlank +
                        "   date " + kBlank + kBlank);
}

void omitted_list(Html& page, const std::vector<std::string>& omitted) {
  if (omitted.empty()) return;
  page.open("section", "id=\"omitted\"").element("h2", "Without an expected value");
  page.element("p", "The simulation of these came to no end: measure them, judge them yourself.");
  list(page, omitted);
  page.close();
}

void step_section(Html& page, const BenchStep& s, std::size_t number) {
  page.open("section").element("h2", std::to_string(number) + ". " + s.title);
  list(page, s.set_up);
  page.element("p", "Switch off at once if " + s.stop_if + ".", "class=\"open\"");
  std::set<std::string> triggers;  // said once, not in every row
  for (const BenchReading& b : s.readings)
    if (!b.trigger.empty()) triggers.insert(b.trigger);
  for (const std::string& t : triggers) page.element("p", "Trigger: " + t + ".");
  // A step of one state needs no column for it.
  const bool states = std::any_of(s.readings.begin(), s.readings.end(),
                                  [](const BenchReading& b) { return !b.state.empty(); });
  std::vector<std::string> heads = {"measure",   "where", "with",     "#range",
                                    "#expected", "#band", "measured", "good"};
  if (states) heads.insert(heads.begin(), "state");
  page.open_table(s.title, heads);
  for (const BenchReading& b : s.readings) {
    const Expectation& r = b.reading;
    std::vector<std::string> cells = {r.what,
                                      r.where,
                                      b.instrument + ", " + b.coupling,
                                      quantity(b.range, r.unit),
                                      quantity(r.expected, r.unit),
                                      band(r.low, r.high, r.unit),
                                      kBlank,
                                      kBox};
    if (states) cells.insert(cells.begin(), b.state);
    page.row(cells);
  }
  page.close_table().close();
}

void limits_table(Html& page, const ProductionTest& t) {
  page.open("section", "id=\"limits\"").element("h2", "Steps and limits");
  page.element(
      "p", std::string("Resistors of the winding's resistance") +
               (t.loads_have_inductance ? ", each in series with a choke of its inductance," : "") +
               " in place of the motor; the motor supply limited to " +
               quantity(t.supply_limit_A, "A") +
               ", twice the greatest current of a good board, and the logic supply likewise. "
               "Limits are the band of good boards, wider by "
               "the instrument's error; the tester drives the pins itself.");
  for (std::size_t k = 0; k < t.limits.size();) {
    const std::string& step = t.limits[k].step;
    page.element("h3", step);
    page.open_table("Limits: " + step, {"read", "where", "#typical", "#at least", "#at most",
                                        "#guard band", "measured", "good"});
    for (; k < t.limits.size() && t.limits[k].step == step; ++k) {
      const TestLimit& l = t.limits[k];
      const std::string& unit = l.reading.unit;
      page.row({l.reading.what, l.reading.where, quantity(l.reading.expected, unit),
                quantity(l.low, unit), quantity(l.high, unit), quantity(l.guard, unit), kBlank,
                kBox});
    }
    page.close_table();
  }
  page.close();
}

/// What each step adds: faults that no step before it shows.
void steps_section(Html& page, const ProductionTest& t) {
  page.open("section", "id=\"steps\"").element("h2", "What each step detects");
  std::vector<std::string> steps;
  for (const TestLimit& l : t.limits)
    if (steps.empty() || steps.back() != l.step) steps.push_back(l.step);
  page.open_table("Faults that a step is the first to show", {"step", "#faults", "on parts"});
  steps.emplace_back();
  for (const std::string& step : steps) {
    std::size_t count = 0;
    std::vector<std::string> parts;
    for (const FaultSeen& f : t.faults) {
      if (f.step != step || !f.undecided.empty()) continue;
      ++count;
      if (std::find(parts.begin(), parts.end(), f.part) == parts.end()) parts.push_back(f.part);
    }
    page.row({step.empty() ? "none: latent" : step, std::to_string(count), join(parts, ", ")});
  }
  page.close_table().close();
}

void coverage_section(Html& page, const ProductionTest& t) {
  page.open("section", "id=\"faults\"").element("h2", "What shows each fault");
  const std::size_t all = t.faults.size();
  page.element("p", std::to_string(t.detected) + " of " + std::to_string(all) +
                        " single faults are detected, " + std::to_string(t.latent) +
                        " stay latent, " + std::to_string(t.undecided) +
                        " have no answer. Each was put into the simulated board and taken through "
                        "all steps; the first reading beyond its limit is shown.");
  page.open_table("Single faults and the first reading that shows each",
                  {"part", "fault", "step", "read", "#shows", "#limits"});
  for (const FaultSeen& f : t.faults) {
    if (f.step.empty())
      page.row({f.part, f.fault, f.undecided.empty() ? "latent" : "no answer: " + f.undecided, "",
                "", ""});
    else
      page.row({f.part, f.fault, f.step, f.what + ", " + f.where, quantity(f.value, f.unit),
                band(f.low, f.high, f.unit)});
  }
  page.close_table().close();
}

}  // namespace

std::string bench_html(const Design& d, const BenchPlan& plan, const std::string& version,
                       const std::string& input_sha256) {
  Html page;
  open_page(page, title_of(d), "bench plan",
            "The first board on the bench, in the order that keeps parts alive.");
  who_and_when(page);
  page.element("p", "Bands are those of " + std::to_string(plan.units) +
                        " simulated boards with parts and motor anywhere within their limits, "
                        "supplies set to 0.5 %, air of 15 to 35 °C, wider by 15 % on either side. "
                        "Ranges are the next full scale of 1, 2 or 5. An isolated, current-limited "
                        "supply; one hand; take the charge off the capacitors between steps.");
  for (std::size_t k = 0; k < plan.steps.size(); ++k) step_section(page, plan.steps[k], k + 1);
  omitted_list(page, plan.omitted);
  cautions_section(page);
  close_page(page, version, input_sha256);
  return page.finish();
}

std::string bench_csv(const BenchPlan& plan) {
  CsvWriter csv;
  csv.headings({"step", "title", "state", "measure", "where", "instrument", "coupling", "trigger",
                "range", "expected", "low", "high", "unit", "measured"});
  int number = 0;
  for (const BenchStep& s : plan.steps) {
    ++number;
    for (const BenchReading& b : s.readings) {
      const Expectation& r = b.reading;
      csv.number(number).text(s.title).text(b.state).text(r.what).text(r.where).text(b.instrument);
      csv.text(b.coupling).text(b.trigger).number(b.range).number(shown(r.expected));
      csv.number(shown(r.low)).number(shown(r.high)).text(r.unit).text("");
      csv.end_row();
    }
  }
  return csv.str();
}

std::string production_html(const Design& d, const ProductionTest& test, const std::string& version,
                            const std::string& input_sha256) {
  Html page;
  open_page(page, title_of(d), "production test",
            "What every board is tested for, and which single faults that detects.");
  who_and_when(page);
  limits_table(page, test);
  steps_section(page, test);
  coverage_section(page, test);
  omitted_list(page, test.omitted);
  cautions_section(page);
  close_page(page, version, input_sha256);
  return page.finish();
}

std::string production_csv(const ProductionTest& test) {
  CsvWriter csv;
  csv.headings({"step", "read", "where", "typical", "good_low", "good_high", "guard", "limit_low",
                "limit_high", "unit"});
  for (const TestLimit& l : test.limits) {
    csv.text(l.step).text(l.reading.what).text(l.reading.where).number(shown(l.reading.expected));
    csv.number(shown(l.reading.low)).number(shown(l.reading.high)).number(shown(l.guard));
    csv.number(shown(l.low)).number(shown(l.high)).text(l.reading.unit);
    csv.end_row();
  }
  return csv.str();
}

std::string coverage_csv(const ProductionTest& test) {
  CsvWriter csv;
  csv.headings({"part", "fault", "detected_by", "read", "where", "value", "limit_low", "limit_high",
                "unit"});
  for (const FaultSeen& f : test.faults) {
    csv.text(f.part).text(f.fault);
    csv.text(!f.step.empty() ? f.step : f.undecided.empty() ? "latent" : "no answer");
    csv.text(f.what).text(f.where).number(shown(f.value)).number(shown(f.low));
    csv.number(shown(f.high)).text(f.unit);
    csv.end_row();
  }
  return csv.str();
}

}  // namespace pb::delivery
