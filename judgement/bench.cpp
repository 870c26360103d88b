// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/bench.h"

#include <algorithm>
#include <cmath>
#include <functional>
#include <set>

#include "base/preferred.h"
#include "base/quantity.h"
#include "base/text.h"
#include "judgement/fault_inject.h"
#include "judgement/fault_list.h"

namespace pb {
namespace {

using namespace physics;

constexpr double kOhmmeter_V = 0.2;      // below any junction's knee; common practice, no source
constexpr double kMost_ohm = 1e6;        // above it a board is as good as open
constexpr double kVoltmeter_ohm = 10e6;  // common practice, no source
// Of a switch that is off, at room temperature: a tenth of what data sheets guarantee. Common
// practice, no source; catalogues do not carry it.
constexpr double kLeak_A = 100e-9;

std::string state_text(const std::string& flow) {
  return flow == "bb" ? "brake" : flow == "00" ? "off" : flow;
}

/// A hand-held meter: what it cannot tell from nothing, and its lowest range. Common practice, no
/// source.
struct Meter {
  double least, lowest_range;
};
Meter meter_for(const std::string& unit) {
  if (unit == "V") return {5e-3, 0.2};
  if (unit == "A") return {50e-6, 1e-3};
  return {1.0, 200.0};
}

class Planner {
 public:
  Planner(const Case& c, const BenchOptions& o) : c_(c), d_(c.design), o_(o) {
    for (const Leg& l : d_.wiring.legs) outputs_.push_back(l.output);
    if (outputs_.empty()) {
      std::set<std::string> seen;
      for (const auto* w : {&d_.wiring.winding_a, &d_.wiring.winding_b})
        for (const std::string& n : *w)
          if (seen.insert(n).second) outputs_.push_back(n);
    }
    for (const Place& p : d_.wiring.places) {
      const auto part = d_.parts.find(p.role);
      if (part != d_.parts.end() && part->second.part_class.ends_with("-mosfet") &&
          std::find(gates_.begin(), gates_.end(), p.nodes[1]) == gates_.end())
        gates_.push_back(p.nodes[1]);
    }
  }

  BenchPlan plan() {
    out_.units = o_.units;
    unpowered();
    lone_supply(false);
    lone_supply(true);
    in_reset();
    for (int w : {0, 1}) on_a_resistor(w);
    without_motor();
    holding();
    moving();
    return std::move(out_);
  }

 private:
  BenchStep& step(const std::string& title, std::vector<std::string> set_up,
                  const std::string& stop_if) {
    out_.steps.push_back({title, std::move(set_up), {}, stop_if});
    return out_.steps.back();
  }

  /// The same scene with every output's high side leaking.
  Scene leaking(Scene scene) const {
    const double ohm = d_.brief.supply.voltage_V / kLeak_A;
    scene.request.alter = [alter = scene.request.alter, nets = outputs_, ohm](Circuit& c) {
      alter(c);
      for (const std::string& n : nets) inject::bridge(c, kRail, n, ohm, "leakage");
    };
    return scene;
  }

  /// Reads a scene without the motor: what leaks may move what nothing but the meter holds.
  void read_open(BenchStep& s, const Scene& scene, const std::vector<Probe>& probes,
                 const std::string& state = "") {
    const Seen leaky = see(c_, bench_nominal(c_), leaking(scene), o_.stop);
    std::vector<Expectation> readings = readings_of(c_, scene, probes, o_);
    for (std::size_t k = 0; k < probes.size() && leaky.ended; ++k) {
      Expectation& r = readings[k];
      const double value = probes[k].value(leaky);
      if (given(r.low) && given(value))
        r.low = std::min(r.low, value), r.high = std::max(r.high, value);
    }
    add(s, std::move(readings), state);
  }

  void read(BenchStep& s, const Scene& scene, const std::vector<Probe>& probes,
            const std::string& state = "") {
    add(s, readings_of(c_, scene, probes, o_), state);
  }

  /// The meter's range is the greatest of the band's.
  void add(BenchStep& s, std::vector<Expectation> readings, const std::string& state) {
    for (Expectation& r : readings) {
      if (!given(r.expected) || !given(r.low)) {
        out_.omitted.push_back(s.title + (state.empty() ? "" : ", " + state) + ": " + r.what +
                               ", " + r.where);
        continue;
      }
      const Meter m = meter_for(r.unit);
      constexpr double kNothing = 1e-3;  // of what the meter can tell
      if (std::abs(r.expected) < kNothing * m.least) r.expected = 0;
      r.low -= m.least, r.high += m.least;
      BenchReading b;
      b.instrument = "meter", b.coupling = "DC", b.state = state;
      b.range = std::max(m.lowest_range, range_for(std::max(std::abs(r.low), std::abs(r.high))));
      b.reading = std::move(r);
      s.readings.push_back(std::move(b));
    }
  }

  Scene standing(const std::string& name, const PowerUp& power) const {
    Scene s{name, standing_request(c_, power, 0.02, 1.0)};
    return s;
  }

  std::vector<Probe> volts(const std::vector<std::string>& nodes) const {
    std::vector<Probe> out;
    out.reserve(nodes.size());
    for (const std::string& n : nodes) out.push_back(node_voltage(n));
    return out;
  }
  static std::vector<Probe> joined(std::vector<Probe> a, const std::vector<Probe>& b) {
    a.insert(a.end(), b.begin(), b.end());
    return a;
  }
  bool uses_logic() const {
    return std::any_of(d_.wiring.places.begin(), d_.wiring.places.end(), [&](const Place& p) {
      return d_.parts.contains(p.role) &&
             std::find(p.nodes.begin(), p.nodes.end(), kLogic) != p.nodes.end();
    });
  }

  static void open_windings(Circuit& c) {
    for (std::size_t w : {0u, 1u}) inject::open_winding(c, w);
  }

  /// Without the motor, a voltmeter on each of the nets: what floats is held by it alone. One at a
  /// time on the bench, but no net's meter is another's current.
  static std::function<void(Circuit&)> metered(std::vector<std::string> nets) {
    return [nets = std::move(nets)](Circuit& c) {
      open_windings(c);
      for (const std::string& n : nets) inject::bridge(c, n, kGround, kVoltmeter_ohm, "meter");
    };
  }

  std::string amperes(double a) const { return format_quantity(a, dim::current, 3); }
  std::string volts_text(double v) const { return format_quantity(v, dim::voltage, 4); }

  void unpowered() {
    BenchStep& s = step("No supply: resistance of the motor supply's input",
                        {"Motor and controller unplugged, both supplies off.",
                         "Ohmmeter, plus on supply +, minus on ground; wait until it stands."},
                        "it reads less than a tenth of the band: look for a bridge of solder");
    Scene scene = standing("ohmmeter", {});
    scene.request.power.logic = false;
    scene.request.alter = [](Circuit& c) {
      open_windings(c);
      for (double& v :
           c.nodes[static_cast<std::size_t>(c.find_node("inside supply"))].voltage_V.value)
        if (v != 0) v = kOhmmeter_V;
    };
    const Probe current = supply_current();
    read(s, scene,
         {{"resistance; 1 Mohm and above count as 1 Mohm", "supply + to ground", "ohm",
           [current](const Seen& seen) {
             const double a = current.value(seen);
             return a > 0 ? std::min(kOhmmeter_V / a, kMost_ohm) : kMost_ohm;
           }}});
  }

  /// With the other one missing, pins in reset.
  void lone_supply(bool motor) {
    const Brief& b = d_.brief;
    PowerUp power;
    power.in_reset = true;
    (motor ? power.logic : power.rail) = false;
    Scene scene = standing(motor ? "motor supply alone" : "logic alone", power);
    scene.request.alter = metered(outputs_);
    std::vector<Probe> probes = {supply_current()};
    if (!motor) probes = {node_voltage(kRail)};
    if (!motor && uses_logic()) probes.insert(probes.begin(), logic_current());
    constexpr double kLimit_A = 0.1;  // enough for any leakage, too little for any part to burn
    BenchStep& s =
        step(motor ? "Motor supply alone" : "Logic supply alone",
             {"Motor unplugged. " + std::string(motor ? "Logic supply off." : "Motor supply off."),
              "Set the " + std::string(motor ? "motor" : "logic") + " supply to " +
                  volts_text(motor ? b.supply.voltage_V : b.controller.logic_voltage_V) +
                  ", limited to " + amperes(kLimit_A) + "; controller in reset."},
             "the supply limits");
    read_open(s, scene, joined(probes, volts(outputs_)));
  }

  void in_reset() {
    PowerUp power;
    power.in_reset = true;
    Scene scene = standing("reset", power);
    scene.request.alter = metered(outputs_);
    BenchStep& s =
        step("Both supplies, controller in reset",
             {"Motor unplugged; both supplies limited to 100 mA.",
              "Logic first, then the motor's: measure. Off. The motor's first, then logic: measure "
              "again; both must read the same."},
             "a supply limits in either order");
    read_open(s, scene, joined(joined({supply_current()}, volts(outputs_)), volts(gates_)));
  }

  void on_a_resistor(int winding) {
    const double ohm = dummy_ohm(d_.brief), volts_V = d_.brief.supply.voltage_V;
    const std::string name = winding == 0 ? "a" : "b";
    const auto& leads = winding == 0 ? d_.wiring.winding_a : d_.wiring.winding_b;
    BenchStep& s =
        step("Bridge " + name + " on a resistor",
             {format_quantity(ohm, dim::resistance, 3) + ", at least " +
                  format_quantity(2 * volts_V * volts_V / ohm, dim::power, 2) + ", between " +
                  leads[0] + " and " + leads[1] + " in place of the winding; the other one open.",
              "Motor supply limited to " + amperes(3 * volts_V / ohm + 0.05) +
                  "; stand in each state shown."},
             "the supply limits");
    std::set<char> seen;
    for (const RunRequest& held : states_held(c_)) {
      const std::string& flow = held.plan.states.front().flow;
      const char sign = flow[static_cast<std::size_t>(winding)];
      if ((sign != '+' && sign != '-') || !seen.insert(sign).second) continue;
      Scene scene{"resistor " + flow, held};
      scene.request.alter = [ohm, winding](Circuit& c) {
        inject::open_winding(c, static_cast<std::size_t>(1 - winding));
        c.windings.at(static_cast<std::size_t>(winding)).resistance_ohm = ohm;
      };
      read(s, scene,
           {supply_current(), voltage_between(leads[0], leads[1]), node_voltage(leads[0]),
            node_voltage(leads[1])},
           state_text(flow));
    }
  }

  void without_motor() {
    BenchStep& s = step("Every state, without the motor",
                        {"Motor unplugged; motor supply limited to 100 mA.",
                         "Step slowly by hand through all states."},
                        "the supply limits in any state");
    for (const RunRequest& held : states_held(c_)) {
      Scene scene{"open", held};
      scene.request.alter = metered(outputs_);
      read_open(s, scene, joined({supply_current()}, volts(outputs_)),
                state_text(held.plan.states.front().flow));
    }
  }

  void holding() {
    std::vector<std::string> set_up{
        "Motor plugged in, its shaft free; motor supply limited to one and a half times the "
        "current expected.",
        "Cold: read within a second of switching on. Then off again."};
    if (chops_by_itself(d_)) set_up.emplace_back("Analog outputs as high as in the move.");
    BenchStep& s =
        step("The motor, standing", std::move(set_up), "anything smells or is too hot to touch");
    for (const RunRequest& held : states_frozen(c_)) {
      const std::string& flow = held.plan.states.front().flow;
      if (flow.find_first_of("+-") == std::string::npos) continue;
      read(s, {"hold", held},
           {supply_current(), winding_current(d_.wiring, 0), winding_current(d_.wiring, 1),
            node_voltage(kRail)},
           state_text(flow));
    }
  }

  void moving() {
    Scene scene{"move", {}};
    scene.request.plan = move_plan(c_);
    scene.request = on_latches(c_, std::move(scene.request));
    BenchStep& s = step(
        "The motor, moving",
        {"Motor and load as in use. A tenth of the rate first, by ear and eye; then the move at " +
             format_quantity(d_.brief.motion.rate_steps_s, dim::step_rate, 3) + ".",
         "Current probe on the first lead of each winding, voltage probe on the rail."},
        "the motor stalls or a reading is twice what is expected");
    const auto figure = [](const char* what, const char* where, const char* unit,
                           const std::function<double(const RunFigures&)>& of) {
      return Probe{what, where, unit, [of](const Seen& seen) { return of(seen.figures); }};
    };
    const std::size_t first = s.readings.size();
    read(s, scene,
         {figure("winding current, peak", "winding a", "A",
                 [](const RunFigures& f) { return f.winding_a.peak_A; }),
          figure("winding current, peak", "winding b", "A",
                 [](const RunFigures& f) { return f.winding_b.peak_A; }),
          figure("winding current, rms", "winding a", "A",
                 [](const RunFigures& f) { return f.winding_a.rms_A; }),
          figure("winding current, rms", "winding b", "A",
                 [](const RunFigures& f) { return f.winding_b.rms_A; }),
          figure("rail, lowest", "rail", "V", [](const RunFigures& f) { return f.rail_min_V; }),
          figure("rail, highest; at the stop too", "rail", "V",
                 [](const RunFigures& f) { return f.rail_max_V; }),
          figure("motor supply's current, mean", "supply +", "A",
                 [](const RunFigures& f) { return f.supply_mean_A; })});
    for (std::size_t k = first; k < s.readings.size(); ++k) {
      BenchReading& r = s.readings[k];
      if (r.reading.what.find("mean") != std::string::npos) continue;
      r.instrument = "oscilloscope";
      r.trigger = "rising edge of pin " + d_.wiring.pins.front().name + " at " +
                  volts_text(0.5 * d_.brief.controller.logic_voltage_V);
    }
  }

  const Case& c_;
  const Design& d_;
  const BenchOptions& o_;
  std::vector<std::string> outputs_, gates_;
  BenchPlan out_;
};

}  // namespace

double range_for(double value) {
  constexpr double kSpare = 1.2;
  const double need = kSpare * std::abs(value);
  if (!(need > 0)) return 1e-3;
  const double decade = std::pow(10.0, std::floor(std::log10(need)));
  for (double k : {1.0, 2.0, 5.0})
    if (need <= k * decade * (1 + 1e-12)) return k * decade;
  return 10.0 * decade;
}

double dummy_ohm(const Brief& brief) {
  const double ohm = 10.0 * brief.motor.winding_resistance_ohm;
  const double unchopped_ohm =
      measures_current(brief) ? 2.0 * brief.supply.voltage_V / regulated_current(brief) : 0.0;
  return nearest_preferred(std::max(ohm, unchopped_ohm), Series::E12);
}

BenchPlan bench_plan(const Case& c, const BenchOptions& o) { return Planner(c, o).plan(); }

}  // namespace pb
