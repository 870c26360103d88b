// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "app/torque_curve.h"

#include <fmt/core.h>

#include <nlohmann/json.hpp>

#include "base/quantity.h"
#include "base/text.h"
#include "files/csv.h"
#include "files/json_verdict.h"
#include "judgement/case.h"

namespace pb::app {
namespace {

std::string rate_text(double steps_s) { return significant(steps_s, 3) + " steps/s"; }

Json to_json(const TorqueSpeed& curve) {
  Json list = Json::array();
  for (const RatePoint& p : curve.points)
    list.push_back(Json{{"rate_steps_s", p.rate_steps_s},
                        {"pull_in_Nm", json_number(p.pull_in_Nm)},
                        {"pull_out_Nm", json_number(p.pull_out_Nm)},
                        {"ramp_Nm", json_number(p.ramp_Nm)},
                        {"lag_step", json_number(p.lag_step)},
                        {"steps_lost", json_number(p.lost)}});
  Json out{{"rate_steps_s", curve.rate_steps_s},
           {"load_Nm", curve.load_Nm},
           {"asked_Nm", curve.asked_Nm},
           {"natural_Hz", json_number(curve.natural_Hz)},
           {"resonance", nullptr},
           {"points", std::move(list)}};
  if (const auto& band = curve.resonance)
    out["resonance"] = Json{{"from_steps_s", band->from_steps_s},
                            {"worst_steps_s", band->worst_steps_s},
                            {"to_steps_s", band->to_steps_s}};
  return out;
}

std::string torque_text(const TorqueSpeed& curve) {
  const auto torque = [](double Nm) { return format_quantity(Nm, dim::torque); };
  std::string out = fmt::format("{:>14} {:>12} {:>12}\n", "rate, steps/s", "pull-in", "pull-out");
  for (const RatePoint& p : curve.points)
    if (given(p.pull_out_Nm))
      out += fmt::format("{:>14} {:>12} {:>12}\n", significant(p.rate_steps_s, 4),
                         torque(p.pull_in_Nm), torque(p.pull_out_Nm));
  out += fmt::format("Asked       {} with its margin at {}\n", torque(curve.asked_Nm),
                     rate_text(curve.rate_steps_s));
  if (const auto& band = curve.resonance)
    out += fmt::format("Resonance   from {} to {}, worst at {}\n", rate_text(band->from_steps_s),
                       rate_text(band->to_steps_s), rate_text(band->worst_steps_s));
  else
    out += fmt::format("Resonance   none stands out between {} and {}\n",
                       rate_text(curve.points.front().rate_steps_s),
                       rate_text(curve.points.back().rate_steps_s));
  return out;
}

TorqueSpeed torque_curve(const Design& design, double dead_time_s, Session& session) {
  return torque_speed(design, dead_time_s, session.parallel, session.stop, [&](double share) {
    session.progress("torque over speed: " + format_percent(share, 2));
    session.share(share);
  });
}

}  // namespace

std::string torque_csv(const TorqueSpeed& curve) {
  CsvWriter csv;
  for (const char* name :
       {"rate_steps_s", "pull_in_Nm", "pull_out_Nm", "ramp_Nm", "lag_step", "steps_lost"})
    csv.text(name);
  csv.end_row();
  for (const RatePoint& p : curve.points) {
    for (const double x :
         {p.rate_steps_s, p.pull_in_Nm, p.pull_out_Nm, p.ramp_Nm, p.lag_step, p.lost})
      csv.number(x);
    csv.end_row();
  }
  return csv.str();
}

std::optional<TorqueSpeed> add_torque_curve(Answer& answer, const Design& design,
                                            double dead_time_s, Session& session) {
  TorqueSpeed curve = torque_curve(design, dead_time_s, session);
  if (session.stop.stop_requested()) return std::nullopt;
  (*answer.json)["torque_curve"] = to_json(curve);
  answer.text += torque_text(curve);
  return curve;
}

Answer torque_curve(const DesignInput& input, Session& session) {
  const double dead_time_s = dead_time_of(case_of(input.design));
  if (!given(dead_time_s))
    return refuse({{.key = "settings.dead_time", .message = "a switch never turns off"}},
                  kUndecided);
  Answer answer;
  answer.json->update(answer_head(input));
  answer.json->update(to_json(torque_curve(input.design, dead_time_s, session)));
  return answer;
}

}  // namespace pb::app
