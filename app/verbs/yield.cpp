// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// yield: how many of many virtual units meet the brief, and what decides it.
#include "judgement/yield.h"

#include <fmt/core.h>

#include <nlohmann/json.hpp>

#include "app/inputs.h"
#include "app/verbs/verbs.h"
#include "base/text.h"
#include "files/json_verdict.h"

namespace pb::app {
namespace {

struct YieldArguments {
  DesignArguments design;
  YieldAsked asked;
};

constexpr long kMostUnits = 1000000;

YieldOptions yield_options(const YieldAsked& asked, Session& session) {
  YieldOptions o;
  o.units = asked.units, o.seed = asked.seed, o.lot = asked.lot;
  o.shape = asked.shape == "normal"      ? Shape::normal
            : asked.shape == "truncated" ? Shape::truncated
                                         : Shape::uniform;
  o.parallel = session.parallel, o.stop = session.stop;
  o.progress = [&session](double share) {
    session.progress(format_percent(share, 2));
    session.share(share);
  };
  return o;
}

/// What was assumed of the spread: part of every answer, as the numbers mean nothing without it.
Json spread_json(const YieldAsked& asked) {
  return Json{{"shape", asked.shape}, {"lot_correlation", asked.lot}};
}

Json to_json(const CheckSpread& s) {
  Json drivers = Json::array();
  for (const Driver& d : s.drivers)
    drivers.push_back(
        Json{{"figure", d.figure}, {"rank_correlation", json_number(d.rank_correlation)}});
  return Json{{"id", s.id},
              {"subject", s.subject},
              {"unit", s.unit},
              {"nominal", json_number(s.nominal_value)},
              {"mean", json_number(s.value.mean)},
              {"deviation", json_number(s.value.deviation)},
              {"worst", {{"value", json_number(s.worst_value)}, {"unit_number", s.worst_unit}}},
              {"margin",
               {{"nominal", json_number(s.nominal_margin)},
                {"mean", json_number(s.margin.mean)},
                {"deviation", json_number(s.margin.deviation)},
                {"worst", json_number(s.worst_margin)},
                {"sum", json_number(s.sum_margin)},
                {"root_sum_square", json_number(s.root_sum_square_margin)},
                {"corner", json_number(s.corner_margin)}}},
              {"histogram",
               {{"low", json_number(s.margins.low)},
                {"high", json_number(s.margins.high)},
                {"counts", s.margins.counts}}},
              {"share_by_margin", json_number(s.share_by_margin)},
              {"worse_than_corner", s.worse_than_corner},
              {"drivers", std::move(drivers)}};
}

Json to_json(const YieldResult& r, const YieldAsked& asked) {
  Json by_check = Json::object(), checks = Json::array(), undecided = Json::array();
  for (const auto& [id, count] : r.by_check) by_check[id] = count;
  for (const CheckSpread& s : r.checks) checks.push_back(to_json(s));
  if (!r.undecided.empty()) undecided.push_back(r.undecided);
  for (long unit : r.undecided_units) undecided.push_back(fmt::format("unit {}", unit));
  return Json{
      {"units", r.units},
      {"seed", asked.seed},
      {"spread", spread_json(asked)},
      {"failed", r.failed},
      {"failed_units", r.failed_units},
      {"yield", json_number(r.yield)},
      {"interval",
       {{"low", r.interval.low}, {"high", r.interval.high}, {"confidence", r.interval.confidence}}},
      {"by_check", std::move(by_check)},
      {"checks", std::move(checks)},
      {"undecided", std::move(undecided)}};
}

std::string for_people(const YieldResult& r) {
  std::string out =
      fmt::format("{} of {} units fail; yield {}, between {} and {} with {} confidence\n", r.failed,
                  r.units, format_percent(r.yield, 4), format_percent(r.interval.low, 4),
                  format_percent(r.interval.high, 4), format_percent(r.interval.confidence, 3));
  if (!r.undecided_units.empty())
    out += fmt::format("{} units have no answer\n", r.undecided_units.size());
  for (const auto& [id, count] : r.by_check) out += fmt::format("  {} fails in {}\n", id, count);
  out += fmt::format("\n{:18} {:18} {:>8} {:>8} {:>8} {:>8} {:>9}  {}\n", "least margins", "",
                     "nominal", "squares", "units", "corner", "fail est.", "driven by");
  for (const CheckSpread& s : r.checks) {
    std::string by;
    for (std::size_t k = 0; k < s.drivers.size() && k < 2; ++k)
      by += fmt::format("{}{} {}", k ? ", " : "", s.drivers[k].figure,
                        significant(s.drivers[k].rank_correlation, 2));
    out += fmt::format("{:18} {:18} {:>8} {:>8} {:>8} {:>8} {:>9}  {}{}\n", s.id, s.subject,
                       format_percent(s.nominal_margin, 3),
                       format_percent(s.root_sum_square_margin, 3),
                       format_percent(s.worst_margin, 3), format_percent(s.corner_margin, 3),
                       given(s.share_by_margin) ? significant(s.share_by_margin, 2) : "by trial",
                       by, s.worse_than_corner ? "; a unit is worse than the corner" : "");
  }
  return out +
         "\nMargins at typical values, at the root-sum-square of all spreads, of the worst "
         "unit built and\nat the corner that every figure's own effect points to; the share of "
         "units that would fail were "
         "margins normally\ndistributed; the figures a margin goes with, by correlation of ranks."
         "\nHow parts are spread between their limits is assumed, not known.\n";
}

bool corner_refuted(const YieldResult& r) {
  return std::any_of(r.checks.begin(), r.checks.end(),
                     [](const CheckSpread& s) { return s.worse_than_corner; });
}

int status_of(const YieldResult& r) {
  if (r.failed > 0 || corner_refuted(r)) return kDoesNotPass;
  return r.undecided.empty() && r.undecided_units.empty() ? kPasses : kUndecided;
}

/// One unit of the batch, opened again.
Answer one_unit(const YieldAsked& asked, const DesignInput& input, const YieldOptions& o) {
  Case c = case_of(input.design);
  c.dead_time_s = dead_time_of(c);
  Answer answer;
  answer.json->update(answer_head(input));
  Json &out = *answer.json, drawn = Json::object(), checks = Json::array();
  out["seed"] = asked.seed, out["unit"] = asked.unit, out["spread"] = spread_json(asked);
  const auto undecided = [&](const std::string& why) {
    Answer refused = refuse({{.message = "undecided: " + why}}, kUndecided);
    (*refused.json)["undecided"] = Json::array({why});
    return refused;
  };
  if (!given(c.dead_time_s)) return undecided("a switch does not turn off within half a step");
  const Evidence nominal = nominal_evidence(c, o.stop);
  if (o.stop.stop_requested()) return {};
  if (const std::string why = trouble_of(nominal); !why.empty()) return undecided(why);
  const SingleEffects effects = single_effects(c, nominal, o);
  const physics::Point point = unit_of(c, o, asked.unit);
  const UnitOutcome u = judge_group(
      c, effects, o,
      asked.unit / physics::kLanes)[static_cast<std::size_t>(asked.unit % physics::kLanes)];
  if (o.stop.stop_requested()) return {};
  if (!u.undecided.empty()) return undecided(u.undecided);
  for (std::size_t k = 0; k < c.spreads.size(); ++k)
    if (c.spreads[k].role.empty()) drawn[c.spreads[k].name] = json_number(point.value[k]);
  for (const auto& [name, value] : point.own) drawn[name] = json_number(value);
  answer.text =
      fmt::format("Unit {} of seed {} {}\n", asked.unit, asked.seed, u.fails ? "fails" : "passes");
  for (const UnitCheck& k : u.checks) {
    checks.push_back(Json{{"id", k.id},
                          {"subject", k.subject},
                          {"unit", k.unit},
                          {"value", json_number(k.value)},
                          {"limit", json_number(k.limit)},
                          {"margin", json_number(k.margin)},
                          {"passes", k.margin >= 0},
                          {"by_trial", k.by_trial}});
    if (k.margin < 0)
      answer.text += fmt::format("  {} of {}: {} {}, limit {}\n", k.id, k.subject,
                                 significant(k.value, 4), k.unit, significant(k.limit, 4));
  }
  out["passes"] = !u.fails;
  out["figures"] = std::move(drawn), out["checks"] = std::move(checks);
  answer.status = u.fails ? kDoesNotPass : kPasses;
  return answer;
}

Answer yield(const YieldArguments& options, Session& session) {
  const auto input = read_design_input(options.design);
  if (!input) return refuse(input.error());
  return answer_yield(*input, options.asked, session);
}

}  // namespace

Answer answer_yield(const DesignInput& input, const YieldAsked& asked, Session& session) {
  const YieldOptions o = yield_options(asked, session);
  if (asked.unit >= 0) return one_unit(asked, input, o);
  const YieldResult result = yield_of(input.design, o);
  if (result.cancelled) return {};
  Answer answer;
  answer.status = status_of(result);
  answer.json->update(answer_head(input));
  answer.json->update(to_json(result, asked));
  answer.text = result.undecided.empty() ? for_people(result) : "Undecided: " + result.undecided;
  return answer;
}

Run add_yield(Command& command) {
  const auto options = std::make_shared<YieldArguments>();
  add_design_arguments(command, options->design);
  command.option("--units", options->asked.units, "how many virtual units")
      .from_to(1L, kMostUnits)
      .shows_default();
  command.option("--seed", options->asked.seed, "the same seed draws the same units")
      .shows_default();
  command.option("--unit", options->asked.unit, "open this one unit again, alone")
      .from_to(0L, kMostUnits);
  command
      .option("--shape", options->asked.shape,
              "of parts and motor between their limits: uniform, normal, truncated")
      .one_of({"uniform", "normal", "truncated"})
      .shows_default();
  command
      .option("--lot", options->asked.lot, "correlation of one figure between parts from one reel")
      .from_to(0.0, 1.0)
      .shows_default();
  return [options](Session& session) { return yield(*options, session); };
}

}  // namespace pb::app
