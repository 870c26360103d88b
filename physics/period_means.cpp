// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "physics/period_means.h"

#include <algorithm>
#include <cmath>
#include <string_view>
#include <utility>

#include "base/math.h"
#include "physics/held_state.h"
#include "physics/system.h"

namespace pb::physics {
namespace {

/// This many times its own inductance nearly holds a winding's current over some periods.
constexpr double kNearlyHolds = 10;
constexpr int kLead = 1, kMeasured = 1;  // periods

double greatest_on(const DriveTable& t) {
  return std::max(*std::max_element(t.on_a.begin(), t.on_a.end()),
                  *std::max_element(t.on_b.begin(), t.on_b.end()));
}

/// Duties that occur: the greatest, and half of its current where others do too. Falling.
std::vector<double> duties_of(const DriveTable& t) {
  const double greatest = greatest_on(t);
  const auto differs = [&](std::uint16_t on) { return on != 0 && on != greatest; };
  const bool others = std::any_of(t.on_a.begin(), t.on_a.end(), differs) ||
                      std::any_of(t.on_b.begin(), t.on_b.end(), differs) ||
                      t.c.chop.hold_256ths < 256;
  const double idle = t.c.chop.idle, period = t.c.chop.period;
  std::vector<double> out{greatest / period};
  if (others) out.push_back(std::lround(idle + 0.5 * (greatest - idle)) / period);
  return out;
}

std::vector<double> ohms_of(const Circuit& c) {
  std::vector<double> out;
  out.reserve(c.resistors.size());
  for (const auto& r : c.resistors) {
    const auto same = [&](const auto& e) { return e.ref == r.ref; };
    const bool of_capacitor = std::any_of(c.capacitors.begin(), c.capacitors.end(), same) ||
                              std::any_of(c.ceramics.begin(), c.ceramics.end(), same);
    out.push_back(of_capacitor ? 0.0 : 1.0 / r.conductance_S);
  }
  return out;
}

const SimulatedPeriod kNone{};

}  // namespace

SimulatedPeriod simulated_period(const PeriodAt& at, const std::array<HeldDrive, 2>& held,
                                 std::size_t measured) {
  DriveTable t = holding_table(at.design, {held[0].sign, held[1].sign}, at.dead_time_s);
  t.c.wake_ticks = 2U * t.c.chop.period;
  const auto on = [&](double duty) {
    return static_cast<std::uint16_t>(std::lround(duty * t.c.chop.period));
  };
  t.on_a[0] = on(held[0].duty), t.on_b[0] = on(held[1].duty);
  const Plan plan = plan_hold(at.design, t, (kLead + kMeasured) * at.period_s);
  Circuit c = assemble(at.design, at.spreads, at.point, at.temperatures, plan, {});
  const std::vector<double> x = at_state(c, {0, {held[0].i_A, held[1].i_A}, 0, c.theta0_rad});
  if (x.empty()) return {};
  for (WindingElement& w : c.windings) w.inductance_H *= kNearlyHolds;
  System s(c);
  Transient run(s, within_reason({}, plan));
  const WindingElement& w = c.windings[measured];
  const auto volts = [&] {
    return s.node_voltage(run.state(), w.a) - s.node_voltage(run.state(), w.b);
  };
  run.start(0.0, x);
  expect_cable(s, run, regulated_current(at.design.brief));
  if (run.run_to(kLead * at.period_s) != Outcome::reached_end) return {};
  run.reset_sums();
  // Steps follow every edge of the voltage, so straight lines between them hold its integral far
  // better than the current does, whose little change is near its own tolerance.
  double before_V = volts(), before_s = run.time_s(), sum_Vs = 0;
  run.on_step = [&](double at_s, const std::vector<double>&) {
    const double now_V = volts();
    sum_Vs += 0.5 * (before_V + now_V) * (at_s - before_s);
    before_V = now_V, before_s = at_s;
  };
  const double span_s = kMeasured * at.period_s;
  if (run.run_to((kLead + kMeasured) * at.period_s) != Outcome::reached_end) return {};
  SimulatedPeriod out;
  out.volts = sum_Vs / span_s;
  out.ohms = ohms_of(c);
  out.element.reserve(run.sums().size());
  for (const ElementSums& e : run.sums())
    out.element.push_back({e.loss_J / span_s, e.charge_C / span_s, e.i2_A2s / span_s});
  return out;
}

double usual_share(const DriveTable& t) {
  const double idle = t.c.chop.idle, greatest = greatest_on(t);
  double sum = 0, states = 0;
  for (const auto* list : {&t.on_a, &t.on_b})
    for (const std::uint16_t on : *list)
      if (on > idle) sum += (on - idle) / (greatest - idle), ++states;
  return states > 0 ? sum / states : 1.0;
}

PeriodPoints::PeriodPoints(const Design& d, const std::vector<Spread>& spreads, Point point,
                           Temperatures temperatures, const DriveTable& table, double usual_A)
    : design_(d),
      spreads_(spreads),
      point_(std::move(point)),
      temperatures_(std::move(temperatures)),
      tick_s_(table.tick_s),
      dead_time_s_(table.tick_s * table.c.dead_ticks),
      period_ticks_(table.c.chop.period),
      period_s_(tick_s_ * period_ticks_),
      duties_(duties_of(table)),
      known_(4 * duties_.size() * kCurrents + 3) {
  constexpr std::array<double, kCurrents> kShares{-1.0, -0.4, -0.05, 0.1, 0.4, 0.8, 1.2};
  for (std::size_t k = 0; k < kCurrents; ++k) i_A_[k] = kShares[k] * regulated_current(d.brief);
  const double idle = table.c.chop.idle / period_ticks_;
  usually_ = {'+', mix(idle, duties_[0], usual_share(table)), usual_A};
}

PeriodPoints::~PeriodPoints() {
  for (const auto& known : known_) delete known.load();
}

PeriodPoints::Place PeriodPoints::place_of(std::size_t index) const {
  if (index >= undriven(0)) return {index - undriven(0), {'+', 0.0, 0.0}};
  const std::size_t k = index % kCurrents, row = index / kCurrents, j = row % duties_.size(),
                    drive = row / duties_.size();
  const bool forward = drive % 2 == 0;
  return {drive / 2, {forward ? '+' : '-', duties_[j], forward ? i_A_[k] : -i_A_[k]}};
}

const SimulatedPeriod& PeriodPoints::at(std::size_t index, const StopToken& stop) const {
  if (const SimulatedPeriod* known = known_[index].load(std::memory_order_acquire)) return *known;
  if (stop.stop_requested()) return kNone;
  auto fresh = std::make_unique<const SimulatedPeriod>(simulated(index));
  const SimulatedPeriod* first = nullptr;
  return known_[index].compare_exchange_strong(first, fresh.get()) ? *fresh.release() : *first;
}

SimulatedPeriod PeriodPoints::simulated(std::size_t index) const {
  const PeriodAt here{design_, spreads_, point_, temperatures_, tick_s_, dead_time_s_, period_s_};
  std::array<HeldDrive, 2> both{usually_, usually_};
  if (index == count()) return simulated_period(here, both, 0);
  const Place place = place_of(index);
  both[place.winding] = place.held;
  SimulatedPeriod out = simulated_period(here, both, place.winding);
  if (place.held.sign == '-') out.volts = -out.volts;
  return out;
}

struct PeriodStore::Entry {
  Key key;
  PeriodPoints points;
  Entry* before;
};

PeriodStore::~PeriodStore() {
  for (Entry* e = newest_; e;) delete std::exchange(e, e->before);
}

PeriodStore::Key PeriodStore::key_of(const Point& point, const Temperatures& temperatures,
                                     const DriveTable& table, double usual_A) const {
  // A held rotor induces nothing and moves nothing.
  constexpr std::string_view kMechanical[] = {"motor.constant", "load.torque", "load.inertia"};
  Key key{usual_A, table.tick_s, temperatures.winding_K};
  for (const unsigned x : {unsigned{table.c.chop.period}, unsigned{table.c.chop.idle},
                           unsigned{table.c.chop.hold_256ths}, unsigned{table.c.dead_ticks}})
    key.push_back(x);
  for (std::size_t k = 0; k < spreads_.size(); ++k)
    if (std::ranges::count(kMechanical, spreads_[k].name) == 0) key.push_back(point.value[k]);
  // Names follow in order of the maps, so equal numbers of values mean equal names only with them.
  const auto add = [&](const std::map<std::string, double>& named) {
    key.push_back(static_cast<double>(named.size()));
    for (const auto& [name, value] : named) {
      for (const char c : name) key.push_back(c);
      key.push_back(value);
    }
  };
  add(point.own), add(temperatures.junction_K);
  for (const auto* list : {&table.on_a, &table.on_b}) {
    key.push_back(static_cast<double>(list->size()));
    key.insert(key.end(), list->begin(), list->end());
  }
  return key;
}

const PeriodPoints& PeriodStore::of(const Point& point, const Temperatures& temperatures,
                                    const DriveTable& table, double usual_A) {
  Key key = key_of(point, temperatures, table, usual_A);
  for (const Entry* e = newest_.load(std::memory_order_acquire); e; e = e->before)
    if (e->key == key) return e->points;
  auto* fresh = new Entry{
      std::move(key), {design_, spreads_, point, temperatures, table, usual_A}, newest_.load()};
  while (!newest_.compare_exchange_weak(fresh->before, fresh)) {
  }
  return fresh->points;
}

PeriodMeans::Between PeriodMeans::between(int winding, bool forward, double duty, double i) const {
  Between out;
  const auto& duties = points_.duties();
  const auto& i_A = points_.currents_A();
  const std::size_t drive = static_cast<std::size_t>(2 * winding + (forward ? 0 : 1));
  // Linear in the share of the period between the two that were simulated, and beyond.
  const double less = duties.size() < 2 ? 0.0 : (duties[0] - duty) / (duties[0] - duties[1]);
  const auto put = [&](std::size_t k, double share) {
    for (std::size_t j = 0; j < duties.size(); ++j) {
      const double part = share * (j == 0 ? 1.0 - less : less);
      if (part == 0.0) continue;
      out.point[out.count] = (drive * duties.size() + j) * PeriodPoints::kCurrents + k;
      out.share[out.count++] = part;
    }
  };
  // A parabola, as conduction's loss is; another where the current flows against the drive.
  const std::size_t k = i < 0 ? 0 : i < i_A[5] ? 3 : 4;
  for (std::size_t a = 0; a < 3; ++a) {
    double share = 1;
    for (std::size_t b = 0; b < 3; ++b)
      if (a != b) share *= (i - i_A[k + b]) / (i_A[k + a] - i_A[k + b]);
    put(k + a, share);
  }
  return out;
}

double PeriodMeans::volts(const Between& between) const {
  double sum = 0;
  for (std::size_t k = 0; k < between.count; ++k)
    sum += between.share[k] * at(between.point[k]).volts;
  return sum;
}

void PeriodMeans::add(const std::vector<double>& shares, double span_s,
                      std::vector<ElementSums>& to) const {
  const SimulatedPeriod& usually = points_.usual(stop_);
  ok_ = ok_ && !usually.element.empty();
  for (std::size_t k = 0; k < shares.size(); ++k)
    if (shares[k] != 0.0) at(k);
  if (!ok_) return;
  for (std::size_t e = 0; e < to.size(); ++e) {
    const SimulatedPeriod::Mean& usual = usually.element[e];
    double loss_J = usual.loss_W * span_s, i2 = usual.i2_A2 * span_s, charge[2] = {0, 0};
    for (std::size_t k = 0; k < shares.size(); ++k) {
      if (shares[k] == 0.0) continue;
      const SimulatedPeriod::Mean& m = at(k).element[e];
      loss_J += shares[k] * (m.loss_W - usual.loss_W);
      i2 += shares[k] * (m.i2_A2 - usual.i2_A2);
      charge[points_.winding_of(k)] += shares[k] * (m.i_A - usual.i_A);
    }
    const double both = 2.0 * charge[0] * charge[1] / span_s;
    const double ohms = e < usually.ohms.size() ? usually.ohms[e] : 0.0;
    to[e].loss_J += loss_J + ohms * both;
    to[e].i2_A2s += std::max(i2 + (ohms > 0 ? both : 0.0), 0.0);
    to[e].charge_C += usual.i_A * span_s + charge[0] + charge[1];
  }
}

}  // namespace pb::physics
