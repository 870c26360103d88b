// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// faults: what one failed part, pin or wire, or one mistake, does.
#include "judgement/faults.h"

#include <fmt/core.h>

#include <nlohmann/json.hpp>

#include "app/inputs.h"
#include "app/verbs/verbs.h"
#include "base/math.h"
#include "base/text.h"
#include "files/json_verdict.h"
#include "physics/heat.h"

namespace pb::app {
namespace {

std::string contain_text(const FaultCase& f) {
  const std::string value = significant(f.contain_value, 3);
  switch (f.contain) {
    case Containment::nothing_to_contain:
      return "nothing to contain";
    case Containment::fuse_in_place:
      return "the fuse, within " + value + " s";
    case Containment::little_power:
      return "no more than " + value + " W there";
    case Containment::smaller_fuse:
      return "would be: a fuse of at most " + value + " A";
    case Containment::limited_supply:
      break;
  }
  return "would be: a supply that gives at most " + value + " W; no fuse that carries the motor";
}

Json case_json(const FaultCase& f) {
  Json harmed = Json::array();
  for (const Harm& h : f.harmed) harmed.push_back(Json{{"subject", h.subject}, {"by", h.what}});
  if (!f.undecided.empty())
    return Json{{"part", f.part},         {"fault", f.fault},       {"class", nullptr},
                {"peak_A", nullptr},      {"peak_degC", nullptr},   {"fuse_s", nullptr},
                {"available_W", nullptr}, {"detected_by", nullptr}, {"contain", nullptr}};
  return Json{{"part", f.part},
              {"fault", f.fault},
              {"class", name_of(f.outcome)},
              {"peak_A", json_number(f.peak_A)},
              {"peak_degC", json_number(kelvin_to_celsius(f.peak_K))},
              {"melts", f.peak_K >= physics::kMelted_K},
              {"fuse_s", json_number(f.fuse_s)},
              {"available_W", json_number(f.available_W)},
              {"detected_by", f.detected_by},
              {"contain", contain_text(f)},
              {"hottest", f.hottest},
              {"supply_A", json_number(f.supply_A)},
              {"harmed", std::move(harmed)}};
}

Json faults_json(const FaultsResult& r) {
  Json cases = Json::array(), undecided = Json::array();
  Json by_class = Json::object();
  for (FaultClass c : {FaultClass::works_on, FaultClass::stops_safely,
                       FaultClass::destroyed_contained, FaultClass::hazard})
    by_class[name_of(c)] = 0;
  if (!r.undecided.empty()) undecided.push_back(r.undecided);
  for (const FaultCase& f : r.cases) {
    cases.push_back(case_json(f));
    if (f.undecided.empty())
      by_class[name_of(f.outcome)] = by_class[name_of(f.outcome)].get<int>() + 1;
    else
      undecided.push_back(f.part + " " + f.fault + ": " + f.undecided);
  }
  return Json{{"by_class", std::move(by_class)},
              {"cases", std::move(cases)},
              {"undecided", std::move(undecided)}};
}

std::string peak_text(const FaultCase& f) {
  return (f.peak_K < physics::kMelted_K ? "" : ">") + significant(kelvin_to_celsius(f.peak_K), 3);
}

std::string row(const FaultCase& f) {
  return fmt::format("  {:12} {:26} {:>8} {:>6} {:6} {:>8} {:>8}  {:34} {}\n", f.part, f.fault,
                     significant(f.peak_A, 3), peak_text(f), f.hottest,
                     given(f.fuse_s) ? significant(f.fuse_s, 2) : "-",
                     significant(f.available_W, 3), f.detected_by, contain_text(f));
}

std::string for_people(const FaultsResult& r) {
  std::string out;
  for (FaultClass c : {FaultClass::hazard, FaultClass::destroyed_contained,
                       FaultClass::stops_safely, FaultClass::works_on}) {
    std::string rows;
    int count = 0;
    for (const FaultCase& f : r.cases)
      if (f.undecided.empty() && f.outcome == c) rows += row(f), ++count;
    if (count == 0) continue;
    out += fmt::format("{}: {}\n  {:12} {:26} {:>8} {:>6} {:6} {:>8} {:>8}  {:34} {}\n", name_of(c),
                       count, "part", "fault", "peak A", "degC", "of", "fuse s", "W there",
                       "detected by", "contained by");
    out += rows + "\n";
  }
  for (const FaultCase& f : r.cases)
    if (!f.undecided.empty())
      out += fmt::format("undecided: {} {}: {}\n", f.part, f.fault, f.undecided);
  return out +
         "One fault at a time, at the highest supply and ambient. A calculation, not a "
         "certificate.\n";
}

int status_of(const FaultsResult& r) {
  bool open = !r.undecided.empty();
  for (const FaultCase& f : r.cases) {
    if (!f.undecided.empty())
      open = true;
    else if (f.outcome == FaultClass::hazard)
      return kDoesNotPass;
  }
  return open ? kUndecided : kPasses;
}

struct FaultsArguments {
  DesignArguments design;
  std::string part;
};

Answer faults(const FaultsArguments& options, Session& session) {
  const auto input = read_design_input(options.design);
  if (!input) return refuse(input.error());
  return answer_faults(*input, options.part, session);
}

}  // namespace

Answer answer_faults(const DesignInput& input, const std::string& part, Session& session) {
  FaultsOptions o;
  o.parallel = session.parallel, o.stop = session.stop;
  o.progress = [&session](double share) {
    session.progress(format_percent(share, 2));
    session.share(share);
  };
  if (!part.empty()) o.wanted = [&](const Situation& s) { return s.part == part; };
  const FaultsResult result = single_faults(input.design, o);
  if (result.cancelled) return {};
  if (result.undecided.empty() && result.cases.empty())
    return refuse({{.key = "--part",
                    .expected = "a part, \"pin NAME\", \"winding a\", \"motor\", \"lead NODE\", "
                                "\"program\", \"rotor\" or \"supplies\"",
                    .found = pb::quoted(part)}});
  Answer answer;
  answer.status = status_of(result);
  answer.json->update(answer_head(input));
  answer.json->update(faults_json(result));
  answer.text =
      result.undecided.empty() ? for_people(result) : "Undecided: " + result.undecided + "\n";
  return answer;
}

Run add_faults(Command& command) {
  const auto options = std::make_shared<FaultsArguments>();
  add_design_arguments(command, options->design);
  command.option("--part", options->part, "only what fails at this part: Q2, \"pin a1\", motor");
  return [options](Session& session) { return faults(*options, session); };
}

}  // namespace pb::app
