// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// One design: what it is, what a slider may move, its picture at typical values, other parts.
#include <algorithm>
#include <array>
#include <chrono>
#include <cmath>
#include <condition_variable>
#include <mutex>
#include <nlohmann/json.hpp>
#include <thread>

#include "app/server_routes.h"
#include "app/verbs/verbs.h"
#include "app/waves.h"
#include "base/math.h"
#include "base/preferred.h"
#include "base/quantity.h"
#include "base/text.h"
#include "delivery/schematic.h"
#include "delivery/values.h"
#include "files/atomic.h"
#include "files/json_verdict.h"
#include "files/toml_design.h"
#include "judgement/checks.h"
#include "physics/board_heat.h"
#include "physics/duty_heat.h"
#include "physics/moment.h"
#include "physics/plan.h"

namespace pb::app {
namespace {

// A page waits this long for a picture at most; a run that takes longer is given up.
constexpr std::chrono::seconds kPictureDeadline{20};

/// A key of the brief that a page may drag, from `low` to `high` times its value.
struct SliderRow {
  std::string_view key, label;
  double low, high;
  bool whole;
};
constexpr auto kSliders = std::to_array<SliderRow>({
    {"supply.voltage", "supply", 0.5, 2.0, false},
    {"controller.logic_voltage", "logic level", 0.5, 2.0, false},
    {"motion.rate", "step rate", 0.25, 4.0, false},
    {"load.torque", "load torque", 0.0, 3.0, false},
    {"ambient.max", "hottest ambient", 0.0, 0.0, false},
    {"build.quantity", "quantity", 0.1, 10.0, true},
});

const BriefKey* key_named(std::string_view name) {
  for (const BriefKey& key : brief_keys())
    if (full_name(key) == name) return &key;
  return nullptr;
}

/// Ends of a slider in SI.
std::pair<double, double> ends_of(const SliderRow& row, const BriefKey& key, Design& d,
                                  double value) {
  double low = row.low * value, high = row.high * value;
  if (key.dim == dim::temperature) {  // as far as parts are ever asked to go
    low = d.brief.ambient.min_K;
    high = celsius_to_kelvin(105);
  } else if (value == 0) {  // nothing to multiply: up to a quarter of what the motor holds
    high = 0.25 * std::numbers::sqrt2 * motor_constant(d.brief.motor) * d.brief.supply.voltage_V /
           d.brief.motor.winding_resistance_ohm;
  }
  return {std::max(low, key.low), std::min(high, key.high)};
}

/// What a resistor may be dragged to: preferred values from a tenth to ten times of what it is, and
/// what it is.
std::vector<double> resistances_about(double ohm) {
  if (!(ohm > 0)) return {ohm};
  std::vector<double> out;
  constexpr double kReach = 10;
  const double most = preferred_at_most(ohm * kReach, pb::Series::E12);
  for (double v = preferred_at_least(ohm / kReach, pb::Series::E12); v <= most;
       v = preferred_at_least(v * 1.02, pb::Series::E12))  // neighbours are a fifth apart
    out.push_back(v);
  const auto next = std::lower_bound(out.begin(), out.end(), ohm * (1 - 1e-9));
  if (next == out.end() || *next > ohm * (1 + 1e-9))
    out.insert(next, ohm);
  else
    *next = ohm;
  return out;
}

Json sliders_of(Design& d) {
  Json out = Json::array();
  for (const SliderRow& row : kSliders) {
    const BriefKey* key = key_named(row.key);
    const double value = key->number(d.brief);
    const auto [low, high] = ends_of(row, *key, d, value);
    const bool absolute = key->dim == dim::temperature;
    const double shift = absolute ? kZeroCelsius_K : 0.0;
    out.push_back(Json{{"kind", "set"},
                       {"key", std::string(row.key)},
                       {"label", std::string(row.label)},
                       {"unit", absolute    ? "degC"
                                : row.whole ? ""
                                            : si_unit(key->dim)},
                       {"value", value - shift},
                       {"low", low - shift},
                       {"high", high - shift},
                       {"whole", row.whole}});
  }
  for (const auto& [role, ohm] : d.settings.value) {
    const std::vector<double> values = resistances_about(ohm);
    out.push_back(Json{{"kind", "value"},
                       {"key", role},
                       {"label", delivery::words(role)},
                       {"unit", "ohm"},
                       {"value", ohm},
                       {"choices", values}});
  }
  return out;
}

Json parts_json(const Design& d) {
  Json out = Json::array();
  for (const delivery::PartsLine& line : delivery::parts_lines(d))
    out.push_back(Json{{"refs", line.refs},
                       {"roles", line.roles},
                       {"number", line.part->number},
                       {"class", line.part->part_class},
                       {"value", delivery::short_value(d, line.roles.front())},
                       {"description", delivery::description(d, line.roles.front())},
                       {"package", line.part->package},
                       {"source", line.part->source},
                       {"unit_price", json_number(line.unit_price)}});
  return out;
}

Json cost_json(const Design& d) {
  const auto lines = cost_lines(d);
  if (!cost_faults(d.brief, lines).empty()) return nullptr;
  const Cost c = landed_cost(d.brief, lines);
  return Json{{"total", c.total},
              {"currency", d.brief.build.currency},
              {"quantity", d.brief.build.quantity},
              {"pieces",
               {{"parts", c.parts},
                {"attrition", c.attrition},
                {"placement", c.placement},
                {"setup", c.setup},
                {"area", c.area},
                {"test", c.test},
                {"one_off", c.one_off},
                {"scrap", c.scrap}}}};
}

/// Each check at typical values; the worst subject's margin is what a page shows.
Json nominal_checks(const Picture& picture) {
  const Case c = [&] {
    Case made = case_of(picture.input.design);
    made.dead_time_s = picture.dead_time_s;
    return made;
  }();
  const physics::Point point = physics::typical(c.spreads);
  Json out = Json::array();
  for (const CheckRow& row : check_rows())
    for (const Measured& m : row.measure(c, point, picture.evidence)) {
      const double margin = margin_of(row.sense, m.value, m.limit);
      if (margin >= 0 && is_of_the_design(row.id)) continue;  // no slider moves it
      out.push_back(Json{{"id", std::string(row.id)},
                         {"subject", m.subject},
                         {"value", json_number(m.value)},
                         {"limit", json_number(m.limit)},
                         {"sense", row.sense == Sense::max ? "max" : "min"},
                         {"unit", std::string(row.unit)},
                         {"margin", json_number(margin)},
                         {"passes", margin >= 0}});
    }
  return out;
}

/// Losses and temperatures of the parts at typical values.
Json part_figures(const physics::RunFigures& f, const physics::RunFigures& hold) {
  const auto at = [](const physics::RunFigures& run, const std::string& ref) -> Json {
    const auto t = run.temperatures.junction_K.find(ref);
    if (t == run.temperatures.junction_K.end()) return nullptr;
    return kelvin_to_celsius(t->second);
  };
  Json out = Json::object();
  for (const auto& [ref, p] : f.parts) {
    out[ref] = Json{{"loss_W", json_number(p.loss_W)},
                    {"rms_A", json_number(p.rms_A)},
                    {"temperature_degC", at(f, ref)},
                    {"hold_degC", at(hold, ref)}};
  }
  return out;
}

/// Temperatures over one cycle of move, hold and rest, when cycles have followed each other for
/// long; of a drive that never rests, of its move.
Json duty_json(const Picture& picture) {
  const Design& d = picture.input.design;
  const physics::RunFigures& move = picture.evidence.move.figures;
  const Case c = case_of(d);
  const physics::Point typical = physics::typical(c.spreads);
  const double ambient_K = value_of(c.spreads, typical, "ambient");
  const auto rest = rest_of(c, typical, picture.evidence.hold);
  const physics::DutyCycle cycle =
      rest ? rest->cycle : physics::DutyCycle{.move_s = physics::move_duration_s(d.brief.motion)};
  constexpr int kPointsAPart = 40;  // of each part of the cycle
  std::vector<double> at_s{0.0};
  double from_s = 0;
  for (const double lasts_s : {cycle.move_s, cycle.hold_s, cycle.rest_s}) {
    for (int k = 1; k <= kPointsAPart && lasts_s > 0; ++k)
      at_s.push_back(from_s + lasts_s * k / kPointsAPart);
    from_s += lasts_s;
  }
  std::map<std::string, Json> degC;
  for (const double t_s : at_s) {
    const physics::Temperatures t =
        rest ? heated_at(d, ambient_K, move, *rest, t_s) : heated(d, ambient_K, move);
    for (const auto& [ref, T_K] : t.junction_K)
      degC[ref].push_back(json_number(kelvin_to_celsius(T_K)));
  }
  Json parts = Json::array();
  for (auto& [ref, line] : degC) parts.push_back(Json{{"ref", ref}, {"degC", std::move(line)}});
  return Json{{"move_s", cycle.move_s},
              {"hold_s", cycle.hold_s},
              {"rest_s", cycle.rest_s},
              {"holds", d.brief.motion.hold != "off"},
              {"ambient_degC", kelvin_to_celsius(ambient_K)},
              {"t", at_s},
              {"parts", std::move(parts)}};
}

/// When which switches are meant to be on.
Json states_json(const Picture& picture) {
  const Design& d = picture.input.design;
  const physics::Plan plan = physics::plan_move(
      d, physics::drive_table(d, d.settings.sequence, picture.dead_time_s), case_of(d).steps);
  Json out = Json::array();
  for (const physics::PlannedState& s : plan.states)
    out.push_back(Json{{"t_s", s.t_s}, {"flow", s.flow}, {"levels", s.levels}, {"on", s.on}});
  return out;
}

/// Asks the work to stop when it has taken too long.
class Deadline {
 public:
  Deadline() : thread_([this] { watch(); }) {}
  ~Deadline() {
    {
      const std::lock_guard lock(mutex_);
      done_ = true;
    }
    news_.notify_one();
    thread_.join();
  }
  Deadline(const Deadline&) = delete;
  Deadline& operator=(const Deadline&) = delete;
  StopToken token() const { return stop_.token(); }

 private:
  void watch() {
    std::unique_lock lock(mutex_);
    if (!news_.wait_for(lock, kPictureDeadline, [this] { return done_; })) stop_.request_stop();
  }
  StopSource stop_;
  std::mutex mutex_;
  std::condition_variable news_;
  bool done_ = false;
  std::thread thread_;
};

WaveRange range_of(const std::string& from, const std::string& to, const std::string& points) {
  WaveRange range;
  range.from_s = to_number(from).value_or(range.from_s);
  range.to_s = to_number(to).value_or(range.to_s);
  range.points = static_cast<int>(std::clamp(to_number(points).value_or(600.0), 50.0, 4000.0));
  return range;
}

Checked<DesignInput> asked_design(Desk& desk, const Json& body) {
  const std::string file = text_of(body, "file");
  const auto place = inside(desk, file, true);
  if (!place) return std::unexpected(place.error());
  const auto changes = read_changes(body.value("changes", Json::object()));
  if (!changes) return std::unexpected(changes.error());
  auto input = read_design_input({.file = file, .sets = {}});
  if (!input) return input;
  return changed_design(std::move(*input), *changes);
}

}  // namespace

HttpResponse show_design(Desk& desk, const HttpRequest& request) {
  const auto body = body_of(request);
  if (!body) return problem_response(body.error());
  auto input = asked_design(desk, *body);
  if (!input) return problem_response(input.error(), 422);
  Design& d = input->design;
  Json outputs = Json::array();
  for (const auto* winding : {&d.wiring.winding_a, &d.wiring.winding_b})
    for (const std::string& node : *winding)
      if (std::find(outputs.begin(), outputs.end(), node) == outputs.end()) outputs.push_back(node);
  Json out{{"input_sha256", input->sha256},
           {"outputs", std::move(outputs)},
           {"file", text_of(*body, "file")},
           {"title", d.brief.title},
           {"wiring", d.wiring.title},
           {"wins_when", d.wiring.wins_when},
           {"sequence", d.settings.sequence},
           {"stop", d.settings.stop},
           {"dead_time_s", json_number(d.settings.dead_time_s)},
           {"parts", parts_json(d)},
           {"cost", cost_json(d)},
           {"sliders", sliders_of(d)},
           {"svg", delivery::schematic_svg(d)}};
  return json_response(out);
}

HttpResponse show_picture(Desk& desk, const HttpRequest& request) {
  const auto body = body_of(request);
  if (!body) return problem_response(body.error());
  const std::string file = text_of(*body, "file");
  const auto place = inside(desk, file, true);
  if (!place) return problem_response(place.error(), 404);
  auto changes = read_changes(body->value("changes", Json::object()));
  if (!changes) return problem_response(changes.error(), 422);
  changes->quick = body->value("dragging", Json(false)) == Json(true);
  const Deadline deadline;
  const auto made = desk.pictures.make(file, *changes, deadline.token());
  if (!made) return problem_response(made.error(), 422);
  const Picture& picture = **made;
  const physics::RunFigures& f = picture.evidence.move.figures;
  Json out = figures_json(f, picture.dead_time_s);
  out["input_sha256"] = picture.input.sha256;
  out["run_ms"] = picture.run_ms;
  out["winding_degC"] = kelvin_to_celsius(f.temperatures.winding_K);
  out["parts"] = part_figures(f, picture.evidence.hold.figures);
  out["hold_winding_degC"] =
      kelvin_to_celsius(picture.evidence.hold.figures.temperatures.winding_K);
  out["checks"] = nominal_checks(picture);
  out["cost"] = cost_json(picture.input.design);
  out["states"] = states_json(picture);
  WaveRange range = range_of("", "", text_of(*body, "points"));
  range.losses = !changes->quick;
  out["waves"] = waves_json(f.waves, range);
  return json_response(out);
}

HttpResponse get_waves(Desk& desk, const HttpRequest& request) {
  const auto picture = desk.pictures.find(query_of(request, "picture"));
  if (!picture) return problem_response("that picture is no longer kept", 404);
  return json_response(waves_json(
      picture->evidence.move.figures.waves,
      range_of(query_of(request, "from"), query_of(request, "to"), query_of(request, "points"))));
}

HttpResponse get_duty(Desk& desk, const HttpRequest& request) {
  const auto picture = desk.pictures.find(query_of(request, "picture"));
  if (!picture) return problem_response("that picture is no longer kept", 404);
  return json_response(duty_json(*picture));
}

HttpResponse get_currents(Desk& desk, const HttpRequest& request) {
  const auto picture = desk.pictures.find(query_of(request, "picture"));
  if (!picture) return problem_response("that picture is no longer kept", 404);
  const double t_s = to_number(query_of(request, "t")).value_or(0.0);
  const Design& d = picture->input.design;
  Case c = case_of(d);
  c.dead_time_s = picture->dead_time_s;
  const Deadline deadline;
  const auto branches = physics::currents_at(d, c.spreads, physics::typical(c.spreads),
                                             picture->evidence.move.figures.temperatures,
                                             move_plan(c), t_s, deadline.token());
  if (branches.empty()) return problem_response("the run does not get there", 422);
  const auto list = [](const std::vector<double>& currents_A) {
    Json out = Json::array();
    for (const double x : currents_A) out.push_back(json_number(x));
    return out;
  };
  Json parts = Json::object();
  for (const Place& p : d.wiring.places)
    if (d.parts.contains(p.role))
      parts[p.ref] = list(physics::currents_into(branches, p.ref, p.nodes));
  parts["winding a"] = list(physics::currents_into(branches, "winding_a", d.wiring.winding_a));
  parts["winding b"] = list(physics::currents_into(branches, "winding_b", d.wiring.winding_b));
  return json_response(Json{{"t_s", t_s}, {"parts", std::move(parts)}});
}

HttpResponse get_alternatives(Desk& desk, const HttpRequest& request) {
  const std::string file = query_of(request, "file"), role = query_of(request, "role");
  const auto place = inside(desk, file, true);
  if (!place) return problem_response(place.error(), 404);
  const auto input = read_design_input({.file = file, .sets = {}});
  if (!input) return problem_response(input.error(), 422);
  const Design& d = input->design;
  const auto used = d.parts.find(role);
  if (used == d.parts.end()) return problem_response("the design has no part in that role", 404);
  const auto all = all_parts();
  if (!all) return problem_response(all.error(), 422);
  const auto of_role = [&](const Place& p) { return p.role == role; };
  const auto count = std::count_if(d.wiring.places.begin(), d.wiring.places.end(), of_role);
  const double need = std::ceil(d.brief.build.quantity * static_cast<double>(count) *
                                (1.0 + d.brief.build.attrition));
  const PartClass* kind = find_part_class(used->second.part_class);
  Json parts = Json::array();
  for (const Part& part : *all) {
    if (part.part_class != used->second.part_class || part.price_breaks.empty()) continue;
    Json figures = Json::object();
    for (std::size_t k = 0; k < kind->figures.size() && k < part.figures.size(); ++k)
      if (kind->figures[k].required && given(part.figures[k]))
        figures[std::string(kind->figures[k].name)] =
            Json{{"value", part.figures[k]}, {"unit", si_unit(kind->figures[k].dim)}};
    parts.push_back(Json{{"number", part.number},
                         {"package", part.package},
                         {"unit_price", cheapest_purchase(part, need).unit_price},
                         {"figures", std::move(figures)}});
  }
  std::stable_sort(parts.begin(), parts.end(), [](const Json& a, const Json& b) {
    return a["unit_price"].get<double>() < b["unit_price"].get<double>();
  });
  return json_response(
      Json{{"role", role}, {"used", used->second.number}, {"parts", std::move(parts)}});
}

HttpResponse save_design(Desk& desk, const HttpRequest& request) {
  const auto body = body_of(request);
  if (!body) return problem_response(body.error());
  const auto input = asked_design(desk, *body);
  if (!input) return problem_response(input.error(), 422);
  const std::string name = text_of(*body, "as");
  const auto place = inside(desk, name, false);
  if (!place) return problem_response(place.error(), 400);
  std::error_code error;
  if (place->extension() != ".toml" || std::filesystem::exists(*place, error))
    return problem_response("the name must end in .toml and be free", 409);
  if (const auto written = write_file(place->string(), pb::to_text(input->design)); !written)
    return problem_response({written.error().problem}, 500);
  return json_response(Json{{"file", name}});
}

}  // namespace pb::app
