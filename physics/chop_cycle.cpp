// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "physics/chop_cycle.h"

#include <algorithm>
#include <cmath>

#include "physics/chopping.h"
#include "physics/held_state.h"
#include "physics/system.h"

namespace pb::physics {
namespace {

/// This many times its own inductance holds a winding's current over some cycles, also driven
/// throughout.
constexpr double kHolds = 1000;
/// Supplies are up before t = 0.
constexpr double kWake_s = 1e-4;

DriveTable waking_table(const Design& d, const std::string& flow, double dead_time_s) {
  DriveTable t = holding_table(d, flow, dead_time_s);
  t.c.wake_ticks = static_cast<std::uint32_t>(std::lround(kWake_s / t.tick_s));
  return t;
}

/// What lies across the winding looked at, stretch by stretch.
class Stretches {
 public:
  Stretches(const System& s, const Circuit& c, std::size_t winding, SimulatedPeriod& out)
      : s_(s), w_(c.windings[winding]), winding_(static_cast<int>(winding)), out_(out) {}

  void begin(double t_s, const std::vector<double>& x) {
    before_s_ = t_s, before_V_ = volts(x);
    sum_Vs_ = total_Vs_ = 0;
  }
  // Steps follow every edge of the voltage, so straight lines between them hold its integral far
  // better than the current does, whose little change is near its own tolerance.
  void step(double t_s, const std::vector<double>& x) {
    const double now_V = volts(x), more = 0.5 * (before_V_ + now_V) * (t_s - before_s_);
    sum_Vs_ += more, total_Vs_ += more;
    before_s_ = t_s, before_V_ = now_V;
  }
  void over(const Chopping::Stretch& s, const std::vector<double>& x) {
    if (s.chopper->winding != winding_ || s.mode == ChopperLatch::Mode::idle) return;
    SimulatedPeriod::Stretch& to = out_.stretch[SimulatedPeriod::number_of(s.mode)];
    to = {s.to_s - s.from_s, sum_Vs_, volts(x)};
    if (s.mode == ChopperLatch::Mode::driven) out_.sense_V = s_.node_voltage(x, s.chopper->sense);
    sum_Vs_ = 0;
  }
  double total_Vs() const { return total_Vs_; }

 private:
  double volts(const std::vector<double>& x) const {
    return s_.node_voltage(x, w_.a) - s_.node_voltage(x, w_.b);
  }

  const System& s_;
  const WindingElement& w_;
  int winding_;
  SimulatedPeriod& out_;
  double before_s_ = 0, before_V_ = 0, sum_Vs_ = 0, total_Vs_ = 0;
};

double reference_level_V(const Circuit& c, const System& s, const std::vector<double>& x,
                         const ChopperElement& e) {
  const std::string ref = e.winding == 0 ? "reference_a" : "reference_b";
  const auto pin =
      std::find_if(c.pins.begin(), c.pins.end(), [&](const PinElement& p) { return p.ref == ref; });
  const double level_V = pin == c.pins.end() ? 0.0 : pin->level_V.value.back();
  return level_V > 0 ? s.node_voltage(x, e.reference) / level_V : 0.0;
}

/// From one winding's cycle to the other's: the least at which the current drawn from the rail
/// (into the winding, in fast decay back, in slow decay none) has no correlation with its own.
double apart_s(const Chopper& law, double on_s) {
  constexpr int kCells = 400;
  const double period_s = cycle_s(law, on_s), fast_s = std::min(law.fast_s, law.off_s);
  std::array<double, kCells> draws{};
  double mean = 0;
  for (int k = 0; k < kCells; ++k) {
    const double t = (k + 0.5) * period_s / kCells;
    draws[static_cast<std::size_t>(k)] = t < on_s ? 1.0 : t < on_s + fast_s ? -1.0 : 0.0;
    mean += draws[static_cast<std::size_t>(k)] / kCells;
  }
  for (int by = 1; by < kCells / 2; ++by) {
    double both = 0;
    for (int k = 0; k < kCells; ++k)
      both += draws[static_cast<std::size_t>(k)] *
              draws[static_cast<std::size_t>((k + by) % kCells)] / kCells;
    if (both <= mean * mean) return by * period_s / kCells;
  }
  return 0.5 * period_s;
}

}  // namespace

double cycle_s(const Chopper& law, double on_s) {
  return law.period_s > 0 ? law.period_s : on_s + law.off_s;
}

double drawn_share(const Chopper& law, double on_s) {
  return (on_s - std::min(law.fast_s, law.off_s)) / cycle_s(law, on_s);
}

SimulatedPeriod simulated_cycle(const PeriodAt& at, const std::array<HeldDrive, 2>& held,
                                double on_s, bool in_step, std::size_t measured) {
  constexpr double kAfter_s = 1e-9;  // an edge: what happens at its moment has happened
  const DriveTable t = waking_table(at.design, {held[0].sign, held[1].sign}, at.dead_time_s);
  Plan plan = plan_hold(at.design, t, 0);
  Circuit c = assemble(at.design, at.spreads, at.point, at.temperatures, plan, {});
  const Chopper& law = c.choppers.front().law;
  const double period_s = cycle_s(law, on_s), later_s = law.period_s > 0 ? 0.5 * period_s
                                                        : in_step        ? 0.0
                                                                         : apart_s(law, on_s);
  for (ChopperElement& e : c.choppers) {
    const auto w = static_cast<std::size_t>(e.winding);
    e.pace = {on_s + (w == 0 || law.period_s > 0 ? 0.0 : later_s), on_s};
    if (held[w].duty >= 1) e.pace = {kNever_s, kNever_s};
  }
  const bool chops = held[measured].sign != '0' && held[measured].duty < 1;
  // Winding b is behind; whole cycles are those of what chops.
  const double from_s = period_s + ((measured == 0) == chops ? 0.0 : later_s) + kAfter_s,
               to_s = from_s + period_s;
  plan.end_s = to_s;
  double stored_A = 0;
  for (const HeldDrive& h : held)
    if (h.sign != '0' && h.duty < 1) stored_A += std::abs(h.i_A) * (1 - drawn_share(law, on_s));
  const std::vector<double> x =
      at_state(c, {0, {held[0].i_A, held[1].i_A}, 0, c.theta0_rad}, stored_A);
  if (x.empty()) return {};
  for (WindingElement& w : c.windings) w.inductance_H *= kHolds;
  System s(c);
  Chopping chopping(s, 0.0);
  chopping.begin_driven(0.0);
  Transient run(s, within_reason({}, plan));
  run.responder = &chopping;
  run.start(0.0, x);
  expect_cable(s, run, regulated_current(at.design.brief));
  if (run.run_to(from_s) != Outcome::reached_end) return {};
  run.reset_sums();
  SimulatedPeriod out;
  Stretches stretches(s, c, measured, out);
  stretches.begin(run.time_s(), run.state());
  run.on_step = [&](double t_s, const std::vector<double>& now) { stretches.step(t_s, now); };
  chopping.on_stretch = [&](const Chopping::Stretch& e, const std::vector<double>& now) {
    stretches.over(e, now);
  };
  if (run.run_to(to_s) != Outcome::reached_end) return {};
  const ChopperElement& e = c.choppers[measured];
  out.volts = stretches.total_Vs() / period_s;
  if (!chops) out.sense_V = s.node_voltage(run.state(), e.sense);
  out.reference_gain = reference_level_V(c, s, run.state(), e);
  out.ohms = ohms_of(c);
  out.element.reserve(run.sums().size());
  for (const ElementSums& sum : run.sums())
    out.element.push_back({sum.loss_J / period_s, sum.charge_C / period_s, sum.i2_A2s / period_s});
  return out;
}

CycleLaw cycle_law(const Design& d, const std::vector<Spread>& spreads, const Point& point,
                   const Temperatures& temperatures, double dead_time_s, double held_A) {
  constexpr double kDiode_V = 0.9, kLess = 0.6, kMore = 1.6, kMostOfPeriod = 0.9;
  const DriveTable t = waking_table(d, "++", dead_time_s);
  const Circuit c = assemble(d, spreads, point, temperatures, plan_hold(d, t, 0), {});
  CycleLaw out{c.choppers.front().law, {}};
  const double supply_V = value_of(spreads, point, "supply.voltage"),
               ir_V = held_A * c.windings.front().resistance_ohm,
               decay_V = d.settings.decay == "diode" ? kDiode_V : 0.0;
  const double rises_V = std::max(supply_V - ir_V, 0.1 * supply_V);
  const Chopper& law = out.law;
  const double fast_s = std::min(law.fast_s, law.off_s);
  const double on_s =
      law.period_s > 0
          ? ((ir_V + decay_V) * law.period_s + supply_V * fast_s) / (supply_V + decay_V)
          : ((ir_V + decay_V) * law.off_s + supply_V * fast_s) / rises_V;
  const double least_s = law.blanking_s;
  out.on_s = {std::max(kLess * on_s, least_s), std::max(kMore * on_s, 2 * least_s)};
  if (law.period_s > 0)
    out.on_s = {std::min(out.on_s[0], 0.5 * kMostOfPeriod * law.period_s),
                std::min(out.on_s[1], kMostOfPeriod * law.period_s)};
  return out;
}

}  // namespace pb::physics
