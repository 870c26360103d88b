// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The study of the cost, as JSON.
#include <nlohmann/json.hpp>

#include "app/design_json.h"
#include "base/math.h"
#include "files/json_verdict.h"
#include "model/pair.h"

namespace pb::app {
namespace {

Json ladder_json(const PriceLadder& ladder) {
  // The search was made at the brief's quantity; elsewhere these are the prices of its results.
  Json out{{"searched_again", false},
           {"quantities", ladder.quantities},
           {"lines", Json::array()},
           {"break_even", Json::array()}};
  for (const LadderLine& line : ladder.lines) {
    Json with = Json::array(), without = Json::array();
    for (const Cost& c : line.costs) {
      with.push_back(json_number(c.total));
      without.push_back(json_number(c.total - c.one_off));
    }
    out["lines"].push_back(Json{{"name", line.name},
                                {"kind", line.kind},
                                {"bought", line.bought},
                                {"passes", line.passes},
                                {"why", line.why},
                                {"landed_cost", std::move(with)},
                                {"without_one_off", std::move(without)}});
  }
  for (const BreakEven& b : ladder.break_even)
    out["break_even"].push_back(Json{{"against", b.against},
                                     {"with_one_off", json_number(b.with_one_off)},
                                     {"without_one_off", json_number(b.without_one_off)}});
  return out;
}

Json tornado_json(const std::vector<TornadoBar>& bars) {
  Json out = Json::array();
  for (const TornadoBar& b : bars)
    out.push_back(Json{{"input", b.input},
                       {"value", json_number(b.value)},
                       {"unit", b.unit},
                       {"low", b.low},
                       {"high", b.high},
                       {"cost_low", json_number(b.cost_low)},
                       {"cost_high", json_number(b.cost_high)}});
  return out;
}

Json pareto_json(const std::vector<ParetoPoint>& front) {
  Json out = Json::array();
  for (const ParetoPoint& p : front)
    out.push_back(Json{{"template", p.design->wiring.id},
                       {"wiring", p.design->wiring.title},
                       {"landed_cost", json_number(p.goals.landed_cost)},
                       {"hottest_degC", json_number(p.goals.hottest_degC)},
                       {"board_area_m2", json_number(p.goals.board_area_m2)},
                       {"parts", p.goals.parts},
                       {"energy_J", json_number(p.goals.energy_J)},
                       {"design_file", nullptr}});
  return out;
}

Json save_json(const Save& save) {
  if (!save.found) return nullptr;
  const bool absolute = save.change.key == "ambient.min" || save.change.key == "ambient.max";
  const auto shown = [&](double x) { return json_number(absolute ? kelvin_to_celsius(x) : x); };
  return Json{{"key", save.change.key},
              {"text", save.change.text},
              {"from", shown(save.change.from)},
              {"to", shown(save.change.to)},
              {"judged_by", save.proven ? "the whole proof" : "a trial"}};
}

Json misses_json(const std::vector<NearMiss>& misses, const std::vector<Save>& saves) {
  Json out = Json::array();
  for (std::size_t k = 0; k < misses.size(); ++k) {
    const NearMiss& m = misses[k];
    out.push_back(
        Json{{"template", m.design.wiring.id},
             {"wiring", m.template_title},
             {"floor_cost", json_number(m.floor)},
             {"check",
              {{"id", m.check_id},
               {"subject", m.subject},
               {"value", json_number(m.value)},
               {"limit", json_number(m.limit)},
               {"unit", m.unit}}},
             {"changes_tried", k < saves.size() ? saves[k].tried : 0},
             {"would_pass_with", k < saves.size() ? save_json(saves[k]) : Json(nullptr)}});
  }
  return out;
}

void add_outcome(Json& to, const TrialOutcome& o) {
  to["tried"] = o.tried, to["proven"] = o.proven, to["passes"] = o.passes, to["fails"] = o.fails;
  to["margin"] = json_number(o.margin);
}

Json pairs_json(const std::vector<PairTrial>& trials) {
  Json out = Json::array();
  for (const PairTrial& t : trials) {
    out.push_back(Json{{"number", t.pair.number},
                       {"class", t.pair.part_class},
                       {"package", t.pair.package},
                       {"roles", t.plan.roles},
                       {"places", t.plan.places},
                       {"mutual_K_W", json_number(mutual_K_W(t.pair))},
                       {"landed_cost", json_number(t.landed_cost)},
                       {"saves", json_number(t.saves)}});
    add_outcome(out.back(), t);
  }
  return out;
}

Json values_json(const std::vector<Trial>& trials) {
  Json out = Json::array();
  for (const Trial& t : trials) {
    out.push_back(Json{{"roles", t.roles},
                       {"ohm", json_number(t.ohm)},
                       {"landed_cost", json_number(t.landed_cost)},
                       {"saves", json_number(t.saves)}});
    add_outcome(out.back(), t);
  }
  return out;
}

}  // namespace

void add_study(Json& answer, const SearchResult& result, const CostStudy& study) {
  answer["ladder"] = ladder_json(study.ladder);
  answer["tornado"] = tornado_json(study.tornado);
  answer["pareto"] = pareto_json(study.pareto);
  answer["alternatives"] =
      Json{{"pairs", pairs_json(study.pairs)}, {"values", values_json(study.values)}};
  answer["why_not_cheaper"] = misses_json(result.near_misses, study.saves);
}

}  // namespace pb::app
