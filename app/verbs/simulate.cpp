// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// simulate: one move of one design at typical values, its waveforms and figures.
#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <optional>

#include "app/inputs.h"
#include "app/torque_curve.h"
#include "app/verbs/verbs.h"
#include "app/waves.h"
#include "base/quantity.h"
#include "base/text.h"
#include "files/json_verdict.h"
#include "files/toml_design.h"
#include "physics/run.h"

namespace pb::app {
namespace {

// Longer moves repeat themselves; their waveforms would fill the memory.
constexpr double kMostSteps = 1000;

struct SimulateArguments {
  DesignArguments design;
  std::string from, to, out;
  bool torque_curve = false;
};

struct Range {
  double from_s = -HUGE_VAL, to_s = HUGE_VAL;
};

void read_time(const std::string& text, const char* option, double& time_s, Problems& problems) {
  if (text.empty()) return;
  const auto time = parse_quantity(text, dim::time);
  if (time) {
    time_s = *time;
    return;
  }
  Problem p = to_problem(time.error());
  p.key = option;
  problems.push_back(std::move(p));
}

Checked<Range> read_range(const SimulateArguments& options) {
  Range range;
  Problems problems;
  read_time(options.from, "--from", range.from_s, problems);
  read_time(options.to, "--to", range.to_s, problems);
  if (problems.empty() && !(range.from_s < range.to_s))
    problems.push_back({.key = "--to", .expected = "a time after --from", .found = options.to});
  if (!problems.empty()) return std::unexpected(std::move(problems));
  return range;
}

std::string for_people(const physics::RunFigures& f, double dead_time_s) {
  const auto amps = [](double x) { return format_quantity(x, dim::current); };
  const auto volts = [](double x) { return format_quantity(x, dim::voltage); };
  std::string out = fmt::format(
      "Winding a   {} RMS, {} peak\nWinding b   {} RMS, {} peak\nSupply      {} mean, {} peak\n"
      "Rail        {} to {}\nDead time   {}\nRotor       {} steps commanded, {} made; stands {} "
      "steps from where it should\nEnergy      {} of the throughput is not accounted for\n",
      amps(f.winding_a.rms_A), amps(f.winding_a.peak_A), amps(f.winding_b.rms_A),
      amps(f.winding_b.peak_A), amps(f.supply_mean_A), amps(f.supply_peak_A), volts(f.rail_min_V),
      volts(f.rail_max_V), format_quantity(dead_time_s, dim::time), f.steps_commanded, f.steps_made,
      significant(f.settle_error_step, 2), format_percent(physics::energy_residual(f.ledger), 2));
  if (const double ripple = physics::speed_ripple(f); given(ripple))
    out += fmt::format("Speed       {} rad/s mean; ripple {}, from {} to {} rad/s\n",
                       significant(f.speed_mean_rad_s, 3), format_percent(ripple),
                       significant(f.speed_min_rad_s, 3), significant(f.speed_max_rad_s, 3));
  if (f.end_stop_Nm.value > 0)
    out += fmt::format("End stop    bears {} at the output shaft, which ends {} from its start\n",
                       format_quantity(f.end_stop_Nm.value, dim::torque),
                       format_quantity(f.output_end_rad, dim::angle));
  std::vector<std::pair<double, std::string>> losses;
  losses.reserve(f.parts.size());
  for (const auto& [ref, part] : f.parts) losses.emplace_back(-part.loss_W, ref);
  std::sort(losses.begin(), losses.end());
  out += "Losses      ";
  constexpr std::size_t kShown = 8;
  for (std::size_t i = 0; i < losses.size() && i < kShown; ++i)
    out += (i ? ", " : "") + losses[i].second + " " + format_quantity(-losses[i].first, dim::power);
  return out + "\n";
}

bool has_rows(const physics::Waveforms& waves, const Range& range) {
  return std::any_of(waves.rows.begin(), waves.rows.end(), [&](const std::vector<double>& row) {
    return row.front() >= range.from_s && row.front() <= range.to_s;
  });
}

Answer undecided(const physics::RunFigures& f) {
  Answer answer = refuse({{.message = "undecided: " + f.trouble}}, kUndecided);
  (*answer.json)["undecided"] = Json::array({f.trouble});
  return answer;
}

Answer write_output(Answer answer, const SimulateArguments& options, const Design& design,
                    const physics::RunFigures& figures, const Range& range,
                    const std::optional<TorqueSpeed>& curve) {
  OutputFiles files = {{"waveforms.csv", waveforms_csv(figures.waves, range.from_s, range.to_s)},
                       {"design.toml", pb::to_text(design)},
                       {"figures.json", whole_object(answer)}};
  answer.text += "Waveforms   " + options.out + "/waveforms.csv\n";
  if (curve) {
    files.emplace_back("torque.csv", torque_csv(*curve));
    answer.text += "Torque      " + options.out + "/torque.csv\n";
  }
  (*answer.json)["out"] = options.out;
  return write_folder(std::move(answer), options.out, files);
}

Answer simulate(const SimulateArguments& options, Session& session) {
  const auto range = read_range(options);
  if (!range) return refuse(range.error());
  const auto input = read_design_input(options.design);
  if (!input) return refuse(input.error());
  const Design& design = input->design;
  if (auto refused = refuse_place(options.out)) return std::move(*refused);

  const auto spreads = physics::spreads_of(design);
  const physics::Point point = physics::typical(spreads);
  double dead_time_s = design.settings.dead_time_s;
  if (!given(dead_time_s))
    dead_time_s = physics::computed_dead_time(design, spreads, point, design.settings.sequence);
  if (!given(dead_time_s)) {
    Answer never = refuse({{.key = "settings.dead_time",
                            .message = "a switch of this design never turns off, so no dead time "
                                       "is long enough; give one to simulate it all the same"}},
                          kUndecided);
    (*never.json)["undecided"] = Json::array({"dead_time"});
    return never;
  }
  const bool cut = design.brief.motion.move_steps > kMostSteps;
  const int steps = static_cast<int>(std::min(design.brief.motion.move_steps, kMostSteps));
  physics::RunRequest request;
  request.plan = physics::plan_move(
      design, physics::drive_table(design, design.settings.sequence, dead_time_s), steps);
  request.record = !options.out.empty();
  physics::Temperatures temperatures;  // everything as cold as its surroundings
  temperatures.winding_K = physics::value_of(spreads, point, "ambient");
  const auto figures = physics::run(design, spreads, point, temperatures, request, session.stop);
  if (session.stop.stop_requested()) return {};
  if (figures.outcome != physics::Outcome::reached_end) return undecided(figures);
  if (request.record && !has_rows(figures.waves, *range))
    return refuse({{.key = range->from_s > 0 ? "--from" : "--to",
                    .expected = "a time within the run, which ends at " +
                                format_quantity(figures.waves.rows.back().front(), dim::time),
                    .found = range->from_s > 0 ? options.from : options.to}});

  Answer answer;
  answer.json->update(answer_head(*input));
  answer.json->update(figures_json(figures, dead_time_s));
  answer.text = for_people(figures, dead_time_s);
  answer.text += fmt::format("Typical figures; windings and parts as cold as the air, {}.\n",
                             format_quantity(temperatures.winding_K, dim::temperature));
  if (cut) answer.text += fmt::format("The first {} steps of the move were simulated.\n", steps);
  std::optional<TorqueSpeed> curve;
  if (options.torque_curve) {
    curve = add_torque_curve(answer, design, dead_time_s, session);
    if (!curve) return {};
  }
  if (options.out.empty()) return answer;
  return write_output(std::move(answer), options, design, figures, *range, curve);
}

}  // namespace

Json figures_json(const physics::RunFigures& f, double dead_time_s) {
  Json losses = Json::object();
  for (const auto& [ref, part] : f.parts) losses[ref] = json_number(part.loss_W);
  const auto winding = [](const physics::WindingFigures& w) {
    return Json{{"rms", json_number(w.rms_A)}, {"peak", json_number(w.peak_A)}};
  };
  return Json{
      {"window", {{"from_s", f.window_from_s}, {"to_s", f.window_to_s}}},
      {"winding_a", winding(f.winding_a)},
      {"winding_b", winding(f.winding_b)},
      {"supply", {{"mean", json_number(f.supply_mean_A)}, {"peak", json_number(f.supply_peak_A)}}},
      {"rail", {{"min", json_number(f.rail_min_V)}, {"max", json_number(f.rail_max_V)}}},
      {"rotor",
       {{"steps_commanded", f.steps_commanded},
        {"steps_made", f.steps_made},
        {"steps_lost", f.steps_commanded - f.steps_made},
        {"theta_end_rad", json_number(f.theta_end_rad)},
        {"settle_error_step", json_number(f.settle_error_step)},
        {"speed_mean_rad_s", json_number(f.speed_mean_rad_s)},
        {"speed_min_rad_s", json_number(f.speed_min_rad_s)},
        {"speed_max_rad_s", json_number(f.speed_max_rad_s)},
        {"speed_ripple", json_number(physics::speed_ripple(f))}}},
      {"output",
       {{"turned_rad", json_number(f.output_end_rad)},
        {"end_stop_Nm", json_number(f.end_stop_Nm.value)}}},
      {"losses", std::move(losses)},
      {"ledger_J",
       {{"source", json_number(f.ledger.source_J)},
        {"loss", json_number(f.ledger.loss_J)},
        {"load", json_number(f.ledger.load_J)},
        {"stored", json_number(f.ledger.stored_J)},
        {"throughput", json_number(f.ledger.throughput_J)}}},
      {"energy_residual", json_number(physics::energy_residual(f.ledger))},
      {"dead_time_s", json_number(dead_time_s)}};
}

Run add_simulate(Command& command) {
  const auto options = std::make_shared<SimulateArguments>();
  add_design_arguments(command, options->design);
  command.option("--from", options->from, "waveforms from this time on").type("T");
  command.option("--to", options->to, "waveforms up to this time").type("T");
  command.flag("--torque-curve", options->torque_curve, kTorqueCurveHelp);
  command
      .option("--out", options->out,
              "folder for waveforms.csv, design.toml, figures.json; with --torque-curve torque.csv")
      .type("DIR");
  return [options](Session& session) { return simulate(*options, session); };
}

}  // namespace pb::app
