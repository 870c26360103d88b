// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "app/design_json.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "files/json_verdict.h"
#include "judgement/checks.h"

namespace pb::app {
namespace {

Json parts_json(const Design& d) {
  Json out = Json::array();
  for (const Place& p : d.wiring.places) {
    const auto part = d.parts.find(p.role);
    if (part == d.parts.end()) continue;
    out.push_back(Json{{"ref", p.ref},
                       {"role", p.role},
                       {"number", part->second.number},
                       {"quantity", 1},
                       {"unit_price", order_of(d, p.role).unit_price}});
  }
  return out;
}

/// Whether a circuit is bought whole.
bool has_chip(const Design& d) {
  return std::any_of(d.parts.begin(), d.parts.end(), [](const auto& role_part) {
    const PartClass* c = find_part_class(role_part.second.part_class);
    return c && is_bought_driver(*c);
  });
}

Json to_json(const Ranked& r, std::size_t rank) {
  const Goals goals = goals_of(r.design, r.proof, r.cost.total);
  Json out{{"rank", rank},
           {"template", r.design.wiring.id},
           {"wiring", r.design.wiring.title},
           {"has_chip", has_chip(r.design)},
           {"landed_cost", json_number(r.cost.total)},
           {"floor_cost", json_number(r.floor)},
           {"currency", r.design.brief.build.currency},
           {"hottest_degC", json_number(goals.hottest_degC)},
           {"board_area_m2", json_number(goals.board_area_m2)},
           {"energy_J", json_number(goals.energy_J)},
           {"design_file", nullptr},
           {"tightest_margin", tightest_json(r.proof.verdict)},
           {"parts", parts_json(r.design)},
           {"cost",
            {{"parts", r.cost.parts},
             {"attrition", r.cost.attrition},
             {"placement", r.cost.placement},
             {"setup", r.cost.setup},
             {"area", r.cost.area},
             {"test", r.cost.test},
             {"one_off", r.cost.one_off},
             {"scrap", r.cost.scrap}}}};
  return out;
}

}  // namespace

Json tightest_json(const Verdict& verdict) {
  const Check* c = tightest(verdict);
  if (!c) return nullptr;
  return {{"id", c->id}, {"subject", c->subject}, {"margin", json_number(c->margin)}};
}

Json to_json(const SearchResult& result, const std::string& currency) {
  Json out{{"designs", Json::array()},   {"nothing_cheaper", result.nothing_cheaper},
           {"claim", result.claim},      {"undecided", result.undecided},
           {"chips", Json::array()},     {"chip_wins", chip_wins(result)},
           {"rejected", Json::object()}, {"space", Json::object()}};
  for (const Ranked& r : result.designs)
    out["designs"].push_back(to_json(r, out["designs"].size() + 1));
  for (const ChipOffer& c : result.chips)
    out["chips"].push_back(
        Json{{"number", c.number},
             {"kind", c.kind},
             {"landed_cost", json_number(c.landed_cost)},
             {"currency", currency},
             {"board_area_m2",
              c.passes ? json_number(board_area_m2(cost_lines(c.design))) : Json(nullptr)},
             {"passes", c.passes},
             {"tightest_margin", c.passes ? tightest_json(c.proof.verdict) : Json(nullptr)},
             {"why", c.why},
             {"design_file", nullptr}});
  for (const auto& [id, n] : result.rejected) out["rejected"][id] = n.text();
  for (const auto& [id, s] : result.space)
    out["space"][id] = Json{{"total", s.total.text()},        {"screened", s.screened.text()},
                            {"grouped", s.grouped.text()},    {"beyond_cost", s.beyond_cost.text()},
                            {"failed", s.failed.text()},      {"passed", s.passed.text()},
                            {"undecided", s.undecided.text()}};
  if (!result.impossible_key.empty())
    out["impossible"] = Json{{"key", result.impossible_key}, {"why", result.impossible_why}};
  return out;
}

}  // namespace pb::app
