// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "physics/period_means.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <memory>
#include <numeric>
#include <string_view>
#include <utility>

#include "base/math.h"
#include "physics/chop_cycle.h"
#include "physics/held_state.h"
#include "physics/lockstep.h"
#include "physics/system.h"

namespace pb::physics {
namespace {

/// This many times its own inductance nearly holds a winding's current over some periods.
constexpr double kNearlyHolds = 10;
/// The same against all of the supply.
constexpr double kHolds = 1000;
/// Periods. Winding a's begins with t = 0 and b's half a period later: what is measured begins and
/// ends between the edges of both.
constexpr double kLead = 0.5, kMeasured = 1;

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

const SimulatedPeriod kNoPeriod{};

}  // namespace

std::vector<double> ohms_of(const Circuit& c) {
  std::vector<double> out;
  out.reserve(c.resistors.size());
  for (const auto& r : c.resistors) {
    const auto same = [&](const auto& e) { return e.ref == r.ref; };
    const bool of_capacitor = std::any_of(c.capacitors.begin(), c.capacitors.end(), same) ||
                              std::any_of(c.ceramics.begin(), c.ceramics.end(), same);
    out.push_back(of_capacitor || r.conductance_S == 0.0 ? 0.0 : 1.0 / r.conductance_S);
  }
  return out;
}

namespace {

/// Integrates the voltage across a winding. Steps follow every edge of it, so straight lines
/// between them hold its integral far better than the current does, whose little change is near its
/// own tolerance.
struct VoltSeconds {
  double before_V = 0, before_s = 0, sum_Vs = 0;
  void begin(double t_s, double volts) { *this = {volts, t_s, 0}; }
  void step(double t_s, double volts) {
    sum_Vs += 0.5 * (before_V + volts) * (t_s - before_s);
    before_V = volts, before_s = t_s;
  }
};

/// Across the winding looked at, and of the rail.
struct Voltages {
  VoltSeconds winding, rail;
  void begin(double t_s, double winding_V, double rail_V) {
    winding.begin(t_s, winding_V), rail.begin(t_s, rail_V);
  }
  void step(double t_s, double winding_V, double rail_V) {
    winding.step(t_s, winding_V), rail.step(t_s, rail_V);
  }
};

/// What a period returns to a supply that takes nothing back lifts the rail, and that the winding's
/// voltage. How far it comes over a state is for MeanRail to say: so the voltage is as on the
/// supply's.
SimulatedPeriod period_of(const Circuit& c, double supply_V, double span_s,
                          const Voltages& voltages, const std::vector<ElementSums>& sums) {
  SimulatedPeriod out;
  const double rail_V = voltages.rail.sum_Vs / span_s;
  out.volts = voltages.winding.sum_Vs / span_s * supply_V / std::max(rail_V, supply_V);
  out.ohms = ohms_of(c);
  out.element.reserve(sums.size());
  for (const ElementSums& e : sums)
    out.element.push_back({e.loss_J / span_s, e.charge_C / span_s, e.i2_A2s / span_s});
  for (std::size_t e = 0; e + c.windings.size() < sums.size(); ++e)
    out.beside_W += out.element[e].loss_W;
  return out;
}

TransientOptions options_of(const Plan& plan) {
  TransientOptions options;
  options.peaks = false;
  return within_reason(options, plan);
}

/// The period of one winding at a current, of a circuit that is at x.
SimulatedPeriod period_from(const PeriodAt& at, const Plan& plan, System& s,
                            const std::vector<double>& x, std::size_t measured) {
  Transient run(s, options_of(plan));
  const WindingElement& w = s.circuit().windings[measured];
  const auto volts = [&] {
    return s.node_voltage(run.state(), w.a) - s.node_voltage(run.state(), w.b);
  };
  run.start(0.0, x);
  expect_cable(s, run, regulated_current(at.design.brief));
  if (run.run_to(kLead * at.period_s) != Outcome::reached_end) return {};
  run.reset_sums();
  const auto rail = [&] { return s.node_voltage(run.state(), s.circuit().find_node(kRail)); };
  Voltages across;
  across.begin(run.time_s(), volts(), rail());
  run.on_step = [&](double t_s, const std::vector<double>&) { across.step(t_s, volts(), rail()); };
  if (run.run_to((kLead + kMeasured) * at.period_s) != Outcome::reached_end) return {};
  return period_of(s.circuit(), at.supply_V(), kMeasured * at.period_s, across, run.sums());
}

/// The same of as many as there are lanes at once. Empty if they do not all end that way.
std::vector<SimulatedPeriod> periods_from(const PeriodAt& at, const Plan& plan, System& s,
                                          const std::array<std::vector<double>, kLanes>& x,
                                          std::size_t measured) {
  std::array<System*, kLanes> units{};
  units.fill(&s);
  const std::unique_ptr<Lockstep> run = lockstep(units, options_of(plan));
  const WindingElement& w = s.circuit().windings[measured];
  const int ends[] = {s.unknown(w.a), s.unknown(w.b)};
  const int rail = s.unknown(s.circuit().find_node(kRail));
  if (!run || ends[0] < 0 || ends[1] < 0 || rail < 0) return {};
  const auto volts = [&](int unit) {
    return run->value(unit, ends[0]) - run->value(unit, ends[1]);
  };
  run->start(0.0, x);
  expect_cable(s, *run, regulated_current(at.design.brief));
  if (run->run_to(kLead * at.period_s, {}) != Outcome::reached_end) return {};
  std::array<Voltages, kLanes> across;
  std::array<std::vector<ElementSums>, kLanes> sums;
  std::vector<double> state(x[0].size());
  for (int k = 0; k < kLanes; ++k) {
    across[k].begin(run->time_s(), volts(k), run->value(k, rail));
    sums[k].resize(s.names.size());
    run->show(k, state, s, sums[k]);
  }
  run->on_step = [&](int k, double t_s) { across[k].step(t_s, volts(k), run->value(k, rail)); };
  if (run->run_to((kLead + kMeasured) * at.period_s, {}) != Outcome::reached_end) return {};
  std::vector<SimulatedPeriod> out;
  std::vector<ElementSums> since(s.names.size());
  for (int k = 0; k < kLanes; ++k) {
    run->show(k, state, s, since);
    for (std::size_t e = 0; e < since.size(); ++e) {
      since[e].charge_C -= sums[k][e].charge_C;
      since[e].i2_A2s -= sums[k][e].i2_A2s;
      since[e].loss_J -= sums[k][e].loss_J;
    }
    out.push_back(period_of(s.circuit(), at.supply_V(), kMeasured * at.period_s, across[k], since));
  }
  return out;
}

}  // namespace

std::vector<SimulatedPeriod> simulated_periods(const PeriodAt& at,
                                               const std::array<HeldDrive, 2>& held,
                                               std::size_t measured,
                                               const std::vector<double>& currents_A) {
  DriveTable t = holding_table(at.design, {held[0].sign, held[1].sign}, at.dead_time_s);
  t.c.wake_ticks = 2U * t.c.chop.period;
  const auto on = [&](double duty) {
    return static_cast<std::uint16_t>(std::lround(duty * t.c.chop.period));
  };
  t.on_a[0] = on(held[0].duty), t.on_b[0] = on(held[1].duty);
  const Plan plan = plan_hold(at.design, t, (kLead + kMeasured) * at.period_s);
  Circuit c = assemble(at.design, at.spreads, at.point, at.temperatures, plan, {});
  HeldCircuit still(c);
  for (std::size_t w : {0U, 1U})
    c.windings[w].inductance_H *= held[w].sign == '0' ? kHolds : kNearlyHolds;
  System s(c);
  MotorState state{0, {held[0].i_A, held[1].i_A}, 0, c.theta0_rad};
  std::vector<std::vector<double>> x;
  x.reserve(currents_A.size());
  for (const double i_A : currents_A) {
    state.i_A[measured] = i_A;
    x.push_back(still.at(state));
  }
  const bool rests = std::none_of(x.begin(), x.end(), [](const auto& of) { return of.empty(); });
  if (rests && x.size() > kLanes / 2 && x.size() <= kLanes) {
    std::array<std::vector<double>, kLanes> lanes;
    for (std::size_t k = 0; k < kLanes; ++k) lanes[k] = x[std::min(k, x.size() - 1)];
    std::vector<SimulatedPeriod> out = periods_from(at, plan, s, lanes, measured);
    if (!out.empty()) return out.resize(x.size()), out;
  }
  std::vector<SimulatedPeriod> out;
  out.reserve(x.size());
  for (const std::vector<double>& from : x)
    out.push_back(from.empty() ? SimulatedPeriod{} : period_from(at, plan, s, from, measured));
  return out;
}

SimulatedPeriod simulated_period(const PeriodAt& at, const std::array<HeldDrive, 2>& held,
                                 std::size_t measured) {
  return std::move(simulated_periods(at, held, measured, {held[measured].i_A}).front());
}

double usual_share(const DriveTable& t) {
  if (!t.reference_a.empty()) {
    const double most = *std::max_element(t.reference_a.begin(), t.reference_a.end());
    return most > 0 ? std::accumulate(t.reference_a.begin(), t.reference_a.end(), 0.0) / most /
                          static_cast<double>(t.reference_a.size())
                    : 1.0;
  }
  const double idle = t.c.chop.idle, greatest = greatest_on(t);
  double sum = 0, states = 0;
  for (const auto* list : {&t.on_a, &t.on_b})
    for (const std::uint16_t on : *list)
      if (on > idle) sum += (on - idle) / (greatest - idle), ++states;
  return states > 0 ? sum / states : 1.0;
}

PeriodPoints::PeriodPoints(const Design& d, const std::vector<Spread>& spreads, Point point,
                           Temperatures temperatures, const DriveTable& table, double usual_A,
                           bool in_step)
    : design_(d),
      spreads_(spreads),
      point_(std::move(point)),
      temperatures_(std::move(temperatures)),
      tick_s_(table.tick_s),
      dead_time_s_(table.tick_s * table.c.dead_ticks),
      period_ticks_(table.c.chop.period),
      period_s_(tick_s_ * period_ticks_),
      in_step_(in_step) {
  constexpr std::array<double, kCurrents> kShares{-1.0, -0.4, -0.05, 0.1, 0.4, 0.8, 1.2};
  for (std::size_t k = 0; k < kCurrents; ++k) i_A_[k] = kShares[k] * regulated_current(d.brief);
  if (measures_current(d.brief)) {
    const CycleLaw cycle =
        cycle_law(d, spreads, point_, temperatures_, dead_time_s_, regulated_current(d.brief));
    law_ = cycle.law, on_s_ = {cycle.on_s.begin(), cycle.on_s.end()};
    usually_ = {'+', 0.0, usual_A};
  } else {
    duties_ = duties_of(table);
    const double idle = table.c.chop.idle / period_ticks_;
    usually_ = {'+', mix(idle, duties_[0], usual_share(table)), usual_A};
  }
  const std::size_t beside = measures() ? 2 : 0, all_rows = 4 * rows() + (measures() ? 0 : 2);
  known_ = std::vector<std::atomic<const SimulatedPeriod*>>(all_rows * kCurrents + 2 + usuals() +
                                                            beside);
}

PeriodPoints::~PeriodPoints() {
  for (const auto& known : known_) delete known.load();
}

PeriodPoints::Longer PeriodPoints::longer(std::size_t winding, const StopToken& stop) const {
  const std::size_t other = 1 - winding;
  return {&at(index_of(2 * other, kDriven, kMuch), stop), &at(count() + usuals() + winding, stop)};
}

PeriodPoints::Place PeriodPoints::place_of(std::size_t index) const {
  if (index >= undriven(0)) {
    const char sign = measures() ? '0' : '+';
    return {index - undriven(0), kDriven, {sign, 0.0, 0.0}};
  }
  const std::size_t k = index % kCurrents, row = index / kCurrents, j = row % rows(),
                    drive = row / rows();
  if (drive >= 4) return {row - 4 * rows(), 0, {'0', 0.0, i_A_[k]}};
  const bool forward = drive % 2 == 0;
  const double duty = !measures() ? duties_[j] : j == kDriven ? 1.0 : 0.0;
  return {drive / 2, j, {forward ? '+' : '-', duty, forward ? i_A_[k] : -i_A_[k]}};
}

std::size_t PeriodPoints::usual_of(std::size_t index) const {
  if (!measures()) return 0;
  const std::size_t row = place_of(index).row;
  return row < kOnTimes ? row : 0;
}

const SimulatedPeriod& PeriodPoints::at(std::size_t index, const StopToken& stop) const {
  if (const SimulatedPeriod* known = known_[index].load(std::memory_order_acquire)) return *known;
  if (stop.stop_requested()) return kNoPeriod;
  const Together t = together_with(index);
  std::vector<SimulatedPeriod> fresh = simulated(t.from, t.to);
  for (std::size_t k = t.from; k < t.to; ++k) keep(k, std::move(fresh[k - t.from]));
  if (fresh.size() > t.to - t.from) keep(count(), std::move(fresh.back()));
  return *known_[index].load(std::memory_order_acquire);
}

/// All currents of a row by duty, which fill the lanes (lanes.h) but for one; with those of the
/// first, both as usual, where its duty is that row's.
PeriodPoints::Together PeriodPoints::together_with(std::size_t index) const {
  const bool row_0 = index == count() && usual_is_of_row_0();
  if (measures() || (index >= undriven(0) && !row_0)) return {index, index + 1};
  const std::size_t row = row_0 ? 0 : index - index % kCurrents;
  return {row, row + kCurrents};
}

bool PeriodPoints::usual_is_of_row_0() const {
  return !measures() &&
         std::lround(usually_.duty * period_ticks_) == std::lround(duties_[0] * period_ticks_);
}

void PeriodPoints::keep(std::size_t index, SimulatedPeriod&& period) const {
  auto fresh = std::make_unique<const SimulatedPeriod>(std::move(period));
  const SimulatedPeriod* first = nullptr;
  const SimulatedPeriod* ours = fresh.release();
  if (!known_[index].compare_exchange_strong(first, ours)) fresh.reset(ours);
}

std::vector<SimulatedPeriod> PeriodPoints::simulated(std::size_t from, std::size_t to) const {
  const PeriodAt here{design_, spreads_, point_, temperatures_, tick_s_, dead_time_s_, period_s_};
  std::array<HeldDrive, 2> both{usually_, usually_};
  const auto periods = [&](std::size_t which, std::size_t winding,
                           const std::vector<double>& currents_A) {
    if (!measures()) return simulated_periods(here, both, winding, currents_A);
    return std::vector{simulated_cycle(here, both, on_s_[which], in_step_, winding)};
  };
  if (from >= count() + usuals()) {
    const std::size_t winding = from - count() - usuals(), other = 1 - winding;
    both[other] = {'+', 1.0, i_A_[kMuch]};
    return periods(1, other, {both[other].i_A});
  }
  if (from >= count()) return periods(from - count(), 0, {usually_.i_A});
  const Place place = place_of(from);
  both[place.winding] = place.held;
  std::vector<double> currents_A;
  for (std::size_t k = from; k < to; ++k) currents_A.push_back(place_of(k).held.i_A);
  if (from == 0 && usual_is_of_row_0()) currents_A.push_back(usually_.i_A);
  std::vector<SimulatedPeriod> out = periods(usual_of(from), place.winding, currents_A);
  if (place.held.sign != '-') return out;
  for (SimulatedPeriod& p : out) {
    p.volts = -p.volts;
    for (SimulatedPeriod::Stretch& s : p.stretch) s.sum_Vs = -s.sum_Vs, s.end_V = -s.end_V;
  }
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
                                    const DriveTable& table, double usual_A, bool in_step) {
  Key key = key_of(point, temperatures, table, usual_A);
  key.push_back(in_step ? 1 : 0);
  for (const Entry* e = newest_.load(std::memory_order_acquire); e; e = e->before)
    if (e->key == key) return e->points;
  auto* fresh = new Entry{std::move(key),
                          {design_, spreads_, point, temperatures, table, usual_A, in_step},
                          newest_.load()};
  while (!newest_.compare_exchange_weak(fresh->before, fresh)) {
  }
  return fresh->points;
}

namespace {

std::size_t number_of_drive(int winding, bool forward) {
  return static_cast<std::size_t>(2 * winding + (forward ? 0 : 1));
}

}  // namespace

/// A parabola, as conduction's loss is; another where the current flows against the drive.
std::array<PeriodMeans::Weight, 3> PeriodMeans::weights(double i) const {
  const auto& i_A = points_.currents_A();
  const std::size_t k = i < 0 ? 0 : i < i_A[5] ? 3 : 4;
  std::array<Weight, 3> out{};
  for (std::size_t a = 0; a < 3; ++a) {
    double share = 1;
    for (std::size_t b = 0; b < 3; ++b)
      if (a != b) share *= (i - i_A[k + b]) / (i_A[k + a] - i_A[k + b]);
    out[a] = {k + a, share};
  }
  return out;
}

PeriodMeans::Between PeriodMeans::between(int winding, bool forward, double duty, double i) const {
  Between out;
  const auto& duties = points_.duties();
  const std::size_t drive = number_of_drive(winding, forward);
  // Linear in the share of the period between the two that were simulated, and beyond.
  const double less = duties.size() < 2 ? 0.0 : (duties[0] - duty) / (duties[0] - duties[1]);
  const auto put = [&](std::size_t k, double share) {
    for (std::size_t j = 0; j < duties.size(); ++j) {
      const double part = share * (j == 0 ? 1.0 - less : less);
      if (part == 0.0) continue;
      out.point[out.count] = points_.index_of(drive, j, k);
      out.share[out.count++] = part;
    }
  };
  for (const Weight& w : weights(i)) put(w.current, w.share);
  return out;
}

PeriodMeans::Between PeriodMeans::open(int winding, double i) const {
  Between out;
  for (const Weight& w : weights(i)) {
    out.point[out.count] = points_.open(winding, w.current);
    out.share[out.count++] = w.share;
  }
  return out;
}

PeriodMeans::Between PeriodMeans::driven(int winding, bool forward, double i) const {
  Between out;
  for (const Weight& w : weights(i)) {
    out.point[out.count] =
        points_.index_of(number_of_drive(winding, forward), PeriodPoints::kDriven, w.current);
    out.share[out.count++] = w.share;
  }
  return out;
}

/// Linear in the on-time is what a cycle does, not what it does in a second.
PeriodMeans::Between PeriodMeans::cycle(int winding, bool forward, double on_s, double i) const {
  Between out;
  const auto& on = points_.on_times_s();
  const double more = (on_s - on[0]) / (on[1] - on[0]),
               span_s[2] = {cycle_s(points_.law(), on[0]), cycle_s(points_.law(), on[1])},
               all_s = mix(span_s[0], span_s[1], more);
  for (const Weight& w : weights(std::max(i, 0.0)))
    for (std::size_t j = 0; j < PeriodPoints::kOnTimes; ++j) {
      out.point[out.count] = points_.index_of(number_of_drive(winding, forward), j, w.current);
      out.share[out.count++] = w.share * (j == 0 ? 1.0 - more : more) * span_s[j] / all_s;
    }
  return out;
}

double PeriodMeans::volts(const Between& between) const {
  double sum = 0;
  for (std::size_t k = 0; k < between.count; ++k)
    sum += between.share[k] * at(between.point[k]).volts;
  return sum;
}

double PeriodMeans::beside_W(const Between& between) const {
  double sum = 0;
  for (std::size_t k = 0; k < between.count; ++k)
    sum += between.share[k] * beside_W(between.point[k]);
  return sum;
}

std::vector<PeriodMeans::Part> PeriodMeans::parts_of(const std::vector<double>& shares) const {
  std::vector<Part> out;
  const auto put = [&](double s, const SimulatedPeriod& p, std::size_t winding) {
    ok_ = ok_ && !p.element.empty();
    if (s != 0.0) out.push_back({s, &p, winding});
  };
  std::array<std::array<double, PeriodPoints::kOnTimes>, 2> all_s{};
  for (std::size_t k = 0; k < shares.size(); ++k) {
    if (shares[k] == 0.0) continue;
    const std::size_t w = points_.winding_of(k);
    put(shares[k], at(k), w);
    all_s[w][points_.usual_of(k)] += shares[k];
  }
  for (std::size_t w : {0U, 1U}) {
    for (std::size_t j = 0; j < points_.usuals(); ++j)
      put(-all_s[w][j], points_.usual(j, stop_), w);
    if (!points_.measures()) continue;
    // Usual is in between, too, where there are two of them: for each winding by its own on-times.
    const PeriodPoints::Longer longer = points_.longer(w, stop_);
    put(all_s[w][1], *longer.second, w), put(-all_s[w][1], *longer.first, w);
  }
  return out;
}

void PeriodMeans::add(const std::vector<double>& shares, double span_s,
                      std::vector<ElementSums>& to) const {
  const SimulatedPeriod& usual = points_.usual(0, stop_);
  ok_ = ok_ && !usual.element.empty();
  const std::vector<Part> parts = parts_of(shares);
  if (!ok_) return;
  std::array<std::vector<SimulatedPeriod::Mean>, 2> change;  // by winding, times seconds
  for (auto& of : change) of.assign(to.size(), {});
  for (const Part& part : parts) {
    SimulatedPeriod::Mean* const sum = change[part.winding].data();
    const SimulatedPeriod::Mean* const m = part.point->element.data();
    for (std::size_t e = 0; e < to.size(); ++e) {
      sum[e].loss_W += part.s * m[e].loss_W;
      sum[e].i_A += part.s * m[e].i_A;
      sum[e].i2_A2 += part.s * m[e].i2_A2;
    }
  }
  for (std::size_t e = 0; e < to.size(); ++e) {
    const SimulatedPeriod::Mean &a = change[0][e], &b = change[1][e], &u = usual.element[e];
    const double both = 2.0 * a.i_A * b.i_A / span_s,
                 ohms = e < usual.ohms.size() ? usual.ohms[e] : 0.0,
                 i2 = u.i2_A2 * span_s + a.i2_A2 + b.i2_A2;
    to[e].loss_J += u.loss_W * span_s + a.loss_W + b.loss_W + ohms * both;
    to[e].i2_A2s += std::max(i2 + (ohms > 0 ? both : 0.0), 0.0);
    to[e].charge_C += u.i_A * span_s + a.i_A + b.i_A;
  }
}

}  // namespace pb::physics
