// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "files/json_verdict.h"

#include <cmath>
#include <nlohmann/json.hpp>

namespace pb {
namespace {

using Json = nlohmann::ordered_json;

/// (value - twin)/|twin|; null where there is no twin.
Json difference(const Check& c) {
  if (c.hand_formula.empty() || c.hand_value == 0) return nullptr;
  return json_number((c.value - c.hand_value) / std::abs(c.hand_value));
}

Json to_json(const Check& c) {
  Json corner = Json::object(), facts = Json::object(), inputs = Json::array();
  for (const auto& [figure, end] : c.corner) corner[figure] = end;
  for (const auto& [fact, value] : c.facts) facts[fact] = json_number(value);
  for (const Input& i : c.inputs)
    inputs.push_back({{"figure", i.figure}, {"end", i.end}, {"margin_change", i.margin_change}});
  return Json{{"id", c.id},
              {"subject", c.subject},
              {"value", json_number(c.value)},
              {"nominal", json_number(c.nominal)},
              {"limit", json_number(c.limit)},
              {"sense", c.sense == Sense::max ? "max" : "min"},
              {"unit", c.unit},
              {"margin", json_number(c.margin)},
              {"passes", c.passes},
              {"grade", letter(c.grade)},
              {"corner", std::move(corner)},
              {"allowance", json_number(c.allowance)},
              {"hand", Json{{"formula", c.hand_formula},
                            {"value", json_number(c.hand_value)},
                            {"difference", difference(c)}}},
              {"source", c.source},
              {"help", c.help},
              {"facts", std::move(facts)},
              {"inputs", std::move(inputs)}};
}

}  // namespace

nlohmann::ordered_json json_number(double x) { return std::isfinite(x) ? Json(x) : Json(nullptr); }

nlohmann::ordered_json to_json(const Verdict& v) {
  Json out{{"passes", v.passes},
           {"energy_residual", json_number(v.energy_residual)},
           {"checks", Json::array()},
           {"not_judged", v.not_judged},
           {"undecided", v.undecided}};
  for (const Check& c : v.checks) {
    out["checks"].push_back(to_json(c));
    if (!std::isfinite(c.value) || !std::isfinite(c.limit))
      out["undecided"].push_back(c.id + " " + c.subject + ": no number");
  }
  return out;
}

}  // namespace pb
