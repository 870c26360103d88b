// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "tests/slow/scene_circuit.h"

#include <time.h>  // NOLINT(modernize-deprecated-headers): clock_gettime is POSIX's

#include <algorithm>
#include <cmath>
#include <string>
#include <string_view>

#include "base/check.h"
#include "physics/settle.h"

namespace pb::scenes {
namespace {

using namespace physics;

struct Switch {
  int leg;  // 0 a1, 1 a2, 2 b1, 3 b2
  bool high;
  std::vector<std::pair<double, bool>> commands;  // time, on
};

Profile constant(double v) { return {{0.0}, {v}}; }

/// Which switch conducts in state k of ++ -+ -- +-: winding sign -> leg 1 high and leg 2 low, or
/// the reverse.
bool meant_on(int leg, bool high, int state) {
  static constexpr int kSigns[4][2] = {{1, 1}, {-1, 1}, {-1, -1}, {1, -1}};
  const int sign = kSigns[state % 4][leg / 2];
  const bool first = leg % 2 == 0;
  return high == ((sign > 0) == first);
}

Profile gate_profile(const ref::Scene& s, int leg, bool high) {
  const double on = high ? s.p_on_V : s.n_on_V, off = high ? s.p_off_V : s.n_off_V;
  Profile p = constant(meant_on(leg, high, 0) ? on : off);
  bool is_on = meant_on(leg, high, 0);
  const auto set = [&](double t, bool to) {
    if (to == is_on) return;
    p.hold_then_go(t, s.edge_s, to ? on : off);
    is_on = to;
  };
  const double end = s.all_off_s >= 0 ? s.all_off_s : s.end_s;
  for (int k = 0; k * s.step_s < end; ++k) {
    const bool want = meant_on(leg, high, k), had = k > 0 && meant_on(leg, high, k - 1);
    const double t0 = k * s.step_s, t1 = std::min((k + 1) * s.step_s, end);
    const bool coasts = k > 0 && s.coast_s > 0.0;
    if (k > 0 && (!want || coasts)) set(t0, false);
    if (!want) continue;
    const double front = t0 + (coasts ? s.coast_s : k > 0 && !had ? s.dead_s : 0.0);
    if (high || s.pwm_Hz <= 0) {
      set(front, true);
      continue;
    }
    const double period = 1.0 / s.pwm_Hz;
    for (int j = static_cast<int>(std::floor(t0 / period + 1e-9)); j * period < t1 - 1e-12; ++j) {
      const double on_at = std::max(j * period, front), off_at = j * period + s.pwm_duty * period;
      if (off_at <= on_at) continue;
      set(on_at, true);
      if (off_at < t1) set(off_at, false);
    }
  }
  if (s.all_off_s >= 0) set(s.all_off_s, false);
  return p;
}

int driven(Circuit& c, const std::string& name, Profile p) {
  const int n = c.add_node(name);
  c.nodes[n].driven = true;
  c.nodes[n].voltage_V = std::move(p);
  return n;
}

void add_switch(Circuit& c, const ref::Scene& s, int leg, bool high, int rail, int out) {
  const std::string ref = (high ? "h" : "l") + std::to_string(leg);
  const int d = c.add_node("d" + ref), g = c.add_node("g" + ref), source = high ? rail : 0;
  const int pin = driven(c, "p" + ref, gate_profile(s, leg, high));
  c.resistors.push_back({"rs_" + ref, d, out, 1.0 / s.series_ohm});
  c.resistors.push_back({"rg_" + ref, pin, g, 1.0 / s.gate_ohm});
  c.capacitors.push_back({"cgs", g, source, s.Cgs_F});
  c.capacitors.push_back({"cgd", g, d, s.Cgd_F});
  c.capacitors.push_back({"cds", d, source, s.Cds_F});
  c.mosfets.push_back(
      {ref, d, g, source, {high ? -1.0 : 1.0, s.VT0_V, s.K_A_V2, s.n_channel, s.UT_V}});
  const Junction body = prepared({s.body_Is_A, s.body_n * s.UT_V, s.body_ohm, 0});
  const Junction schottky = prepared({s.schottky_Is_A, s.schottky_n * s.UT_V, s.schottky_ohm, 0});
  c.diodes.push_back({"body_" + ref, high ? d : 0, high ? rail : d, body, 0, {}});
  c.diodes.push_back({"free_" + ref, high ? out : 0, high ? rail : out, schottky, 0, {}});
}

}  // namespace

Circuit circuit_of(const ref::Scene& s) {
  Circuit c;
  driven(c, "gnd", constant(0.0));
  const int source = driven(c, "source", constant(s.supply_V));
  const int after = c.add_node("after"), rail = c.add_node("rail"), bulk = c.add_node("bulk");
  c.diodes.push_back({"supply",
                      source,
                      after,
                      prepared({s.supply_diode_Is_A, s.supply_diode_n * s.UT_V, s.supply_ohm, 0}),
                      0,
                      {}});
  c.resistors.push_back({"leak", source, after, 1.0 / s.supply_diode_leak_ohm});
  c.inductors.push_back({"cable", after, rail, s.supply_H, 0.0});
  c.resistors.push_back({"esr", rail, bulk, 1.0 / s.bulk_esr_ohm});
  c.capacitors.push_back({"bulk", bulk, 0, s.bulk_F});
  c.capacitors.push_back({"ceramic", rail, 0, s.ceramic_F});
  const double clamp_is = s.clamp_ref_A * std::exp(-s.clamp_V / s.clamp_slope_V);
  c.diodes.push_back(
      {"clamp", rail, 0, prepared({clamp_is, s.clamp_slope_V, s.clamp_ohm, 0}), 0, {}});
  for (int leg = 0; leg < 4; ++leg) {
    const int out = c.add_node("out" + std::to_string(leg));
    add_switch(c, s, leg, true, rail, out);
    add_switch(c, s, leg, false, rail, out);
  }
  for (int w = 0; w < 2; ++w)
    c.windings.push_back({c.find_node("out" + std::to_string(2 * w)),
                          c.find_node("out" + std::to_string(2 * w + 1)), s.winding_ohm,
                          s.winding_H});
  c.rotor = {s.Nr, s.Km_Vs_rad, s.J_kgm2, s.B_Nms_rad, s.detent_Nm, s.load_Nm, 0.0, false};
  c.theta0_rad = kPi / (4.0 * s.Nr);
  return c;
}

namespace {

/// From a resting state on, the supply diode fills the bulk ever more slowly; windings wait at no
/// current.
constexpr double kRests_s = 1.0, kFilled_s = 101.0;

TransientOptions of_filling() {
  TransientOptions options;
  options.max_step_s = 20.0;
  options.atol_V = 1e-6, options.rtol = 1e-6;
  return options;
}

Circuit before_the_drive(Circuit c) {
  for (Node& n : c.nodes)  // up from nothing in 10 us, then rest; windings too slow to move
    if (n.driven) n.voltage_V = {{0.0, 1e-5}, {0.0, n.voltage_V.value.front()}};
  for (auto& w : c.windings) w.inductance_H = 1e9;
  c.rotor.locked = true;
  return c;
}

std::vector<double> resting(System& system) {
  std::vector<double> x(static_cast<std::size_t>(system.size()), 0.0);
  system.turn_to(x, system.start_angle_rad());
  const bool rests = settle(system, kRests_s, x);
  PB_CHECK(rests, rests);
  return x;
}

void without_currents(const System& system, std::vector<double>& x) {
  x[system.winding_unknown(0)] = x[system.winding_unknown(1)] = 0.0;
}

}  // namespace

std::vector<double> start_state(const Circuit& circuit) {
  System system(before_the_drive(circuit));
  Transient filling(system, of_filling());
  filling.start(kRests_s, resting(system));
  filling.run_to(kFilled_s);
  std::vector<double> x = filling.state();
  without_currents(system, x);
  return x;
}

namespace {

double thread_cpu_s() {
  timespec t{};
  clock_gettime(CLOCK_THREAD_CPUTIME_ID, &t);
  return static_cast<double>(t.tv_sec) + 1e-9 * static_cast<double>(t.tv_nsec);
}

/// Cubic through a step of one unknown: values and slopes at both ends.
struct Cubic {
  double x0, d0, x1, d1;
  double at(double t0, double h, double t) const {
    const double u = (t - t0) / h, v = 1.0 - u;
    return v * v * (1.0 + 2.0 * u) * x0 + u * u * (1.0 + 2.0 * v) * x1 +
           h * u * v * (v * d0 - u * d1);
  }
};

/// What is sampled, and its slope: both winding currents and the angle.
struct Now {
  double t_s, value[3], slope[3];
};

/// Samples at whole multiples of dt, read off the steps as the engine takes them.
class Sampler {
 public:
  Sampler(double dt_s, long count, Samples& out) : dt_s_(dt_s), count_(count), out_(out) {}

  void begin(const Now& now) {
    before_ = now;
    put(now.t_s, now.value);
    next_ = 1;
  }
  void step(const Now& now) {
    for (; next_ <= count_ && static_cast<double>(next_) * dt_s_ <= now.t_s * (1.0 + 1e-12);
         ++next_) {
      const double t = static_cast<double>(next_) * dt_s_, h = now.t_s - before_.t_s;
      double value[3];
      for (int k = 0; k < 3; ++k)
        value[k] = Cubic{before_.value[k], before_.slope[k], now.value[k], now.slope[k]}.at(
            before_.t_s, h, t);
      put(t, value);
    }
    before_ = now;
  }

 private:
  void put(double t, const double (&value)[3]) {
    out_.t_s.push_back(t);
    out_.i_a_A.push_back(value[0]);
    out_.i_b_A.push_back(value[1]);
    out_.theta_rad.push_back(value[2]);
  }

  double dt_s_;
  long count_, next_ = 0;
  Samples& out_;
  Now before_{};
};

int sampled(const System& s, int k) { return k < 2 ? s.winding_unknown(k) : s.angle_unknown(); }

double channels_J(const System& s, const std::vector<ElementSums>& sums) {
  double loss_J = 0;
  for (std::size_t e = 0; e < s.names.size(); ++e)
    if (std::string_view(s.names[e].kind) == "mosfet") loss_J += sums[e].loss_J;
  return loss_J;
}

}  // namespace

Samples run(const ref::Scene& scene, const TransientOptions& options, double dt_s,
            const std::function<void(Circuit&)>& change) {
  Circuit circuit = circuit_of(scene);
  if (change) change(circuit);
  const std::vector<double> x0 = start_state(circuit);
  System system(circuit);
  Transient transient(system, options);
  const long count = std::lround(scene.end_s / dt_s);
  Samples out;
  out.t_s.reserve(static_cast<std::size_t>(count) + 1);
  Sampler sampler(dt_s, count, out);
  const auto now = [&] {
    Now n{transient.time_s(), {}, {}};
    for (int k = 0; k < 3; ++k)
      n.value[k] = transient.state()[sampled(system, k)],
      n.slope[k] = transient.slope(sampled(system, k));
    return n;
  };
  const double begin_s = thread_cpu_s();
  transient.start(0.0, x0);
  sampler.begin(now());
  transient.on_step = [&](double, const std::vector<double>&) { sampler.step(now()); };
  out.outcome = transient.run_to(scene.end_s);
  out.cpu_s = thread_cpu_s() - begin_s;
  out.ledger = transient.ledger();
  out.switch_loss_J = channels_J(system, transient.sums());
  out.accepted = transient.accepted, out.rejected = transient.rejected,
  out.newton = transient.newton_iterations;
  return out;
}

Units units_of(const std::array<ref::Scene, kLanes>& scenes) {
  Units u, before;
  std::array<System*, kLanes> waiting{};
  for (std::size_t k = 0; k < scenes.size(); ++k) {
    const Circuit c = circuit_of(scenes[k]);
    u.system[k] = std::make_unique<System>(c);
    before.system[k] = std::make_unique<System>(before_the_drive(c));
    waiting[k] = before.system[k].get();
    before.start[k] = resting(*waiting[k]);
  }
  const std::unique_ptr<Lockstep> filling = lockstep(waiting, of_filling());
  PB_CHECK(filling, scenes.size());
  filling->start(kRests_s, before.start);
  filling->run_to(kFilled_s, {});
  std::vector<ElementSums> sums(waiting[0]->names.size());
  for (std::size_t k = 0; k < scenes.size(); ++k) {
    u.start[k] = before.start[k];
    filling->show(static_cast<int>(k), u.start[k], *waiting[k], sums);
    without_currents(*waiting[k], u.start[k]);
  }
  return u;
}

std::array<Samples, kLanes> run(Units& units, double end_s, const TransientOptions& options,
                                double dt_s) {
  std::array<System*, kLanes> systems{};
  for (std::size_t k = 0; k < systems.size(); ++k) systems[k] = units.system[k].get();
  std::array<Samples, kLanes> out;
  const std::unique_ptr<Lockstep> together = lockstep(systems, options);
  if (!together) return out;
  const System& first = *systems[0];
  std::vector<double> x(static_cast<std::size_t>(first.size()));
  std::vector<ElementSums> sums(first.names.size());
  const auto now = [&](int unit, double t_s) {
    Now n{t_s, {}, {}};
    for (int k = 0; k < 3; ++k)
      n.value[k] = together->value(unit, sampled(first, k)),
      n.slope[k] = together->slope(unit, sampled(first, k));
    return n;
  };
  std::vector<Sampler> samplers;
  if (dt_s > 0.0)
    for (Samples& s : out) samplers.emplace_back(dt_s, std::lround(end_s / dt_s), s);
  const double begin_s = thread_cpu_s();
  together->start(0.0, units.start);
  for (std::size_t k = 0; k < samplers.size(); ++k)
    samplers[k].begin(now(static_cast<int>(k), 0.0));
  if (dt_s > 0.0)
    together->on_step = [&](int unit, double t_s) {
      samplers[static_cast<std::size_t>(unit)].step(now(unit, t_s));
    };
  const Outcome outcome = together->run_to(end_s, {});
  const double cpu_s = (thread_cpu_s() - begin_s) / kLanes;
  for (int k = 0; k < kLanes; ++k) {
    Samples& s = out[static_cast<std::size_t>(k)];
    s.outcome = outcome, s.cpu_s = cpu_s, s.accepted = together->accepted();
    s.ledger = together->ledger(k);
    together->show(k, x, *systems[static_cast<std::size_t>(k)], sums);
    s.switch_loss_J = channels_J(first, sums);
  }
  return out;
}

}  // namespace pb::scenes
