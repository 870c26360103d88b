// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "physics/mean_drive.h"

#include <algorithm>
#include <cmath>

#include "base/math.h"
#include "physics/settle.h"
#include "physics/system.h"
#include "physics/transient.h"

namespace pb::physics {
namespace {

/// So much inductance holds any current while everything else comes to rest... [H]
constexpr double kHolds_H = 1e9;
/// ...and this many times its own nearly holds it over some periods.
constexpr double kNearlyHolds = 10;
constexpr int kLead = 1, kMeasured = 1;  // periods

double sign(double x) { return x > 0 ? 1.0 : x < 0 ? -1.0 : 0.0; }

/// Over the seconds to rest, a supply that cannot take current back would be pumped up without end.
void take_anything_back(Circuit& c) {
  constexpr double kSource_S = 10.0;
  const auto supply = std::find_if(c.diodes.begin(), c.diodes.end(),
                                   [](const DiodeElement& e) { return e.ref == "supply"; });
  if (supply == c.diodes.end()) return;
  c.resistors.push_back({"supply", supply->anode, supply->cathode, kSource_S});
  c.diodes.erase(supply);
}

/// Duties that occur: the greatest, and half of its current where others do too. Falling.
std::vector<double> duties_of(const DriveTable& t) {
  const double greatest = std::max(*std::max_element(t.on_a.begin(), t.on_a.end()),
                                   *std::max_element(t.on_b.begin(), t.on_b.end()));
  const auto differs = [&](std::uint16_t on) { return on != 0 && on != greatest; };
  const bool others = std::any_of(t.on_a.begin(), t.on_a.end(), differs) ||
                      std::any_of(t.on_b.begin(), t.on_b.end(), differs) ||
                      t.c.chop.hold_256ths < 256;
  const double idle = t.c.chop.idle, period = t.c.chop.period;
  std::vector<double> out{greatest / period};
  if (others) out.push_back(std::lround(idle + 0.5 * (greatest - idle)) / period);
  return out;
}

}  // namespace

double usual_share(const DriveTable& t) {
  const double idle = t.c.chop.idle;
  const double greatest = std::max(*std::max_element(t.on_a.begin(), t.on_a.end()),
                                   *std::max_element(t.on_b.begin(), t.on_b.end()));
  double sum = 0, states = 0;
  for (const auto* list : {&t.on_a, &t.on_b})
    for (const std::uint16_t on : *list)
      if (on > idle) sum += (on - idle) / (greatest - idle), ++states;
  return states > 0 ? sum / states : 1.0;
}

void expect_cable(const System& s, Transient& run, double winding_A) {
  constexpr double kOver = 10.0;
  for (std::size_t k = 0; k < s.circuit().inductors.size(); ++k)
    run.expect(s.inductor_unknown(static_cast<int>(k)), kOver * winding_A);
}

std::vector<double> at_state(const Circuit& circuit, const MotorState& at) {
  Circuit held = circuit;
  for (WindingElement& w : held.windings) w.inductance_H = kHolds_H;
  held.rotor.locked = true;
  take_anything_back(held);
  System s(held);
  std::vector<double> x(static_cast<std::size_t>(s.size()), 0.0);
  const auto put = [&](double speed_rad_s) {
    for (int w : {0, 1}) x[static_cast<std::size_t>(s.winding_unknown(w))] = at.i_A[w];
    x[static_cast<std::size_t>(s.angle_unknown())] = at.th_rad;
    x[static_cast<std::size_t>(s.speed_unknown())] = speed_rad_s;
  };
  put(0.0);
  if (!settle(s, at.t_s, x)) return {};
  put(at.w_rad_s);
  return x;
}

PeriodMeans::PeriodMeans(const Design& d, const std::vector<Spread>& spreads, const Point& point,
                         const Temperatures& temperatures, const DriveTable& table, double usual_A,
                         const StopToken& stop)
    : from_{d, spreads, point, temperatures, table, stop},
      period_s_(table.tick_s * table.c.chop.period),
      duties_(duties_of(table)) {
  constexpr std::array<double, kCurrents> kShares{-1.0, -0.4, -0.05, 0.1, 0.4, 0.8, 1.2};
  for (std::size_t k = 0; k < kCurrents; ++k) i_A_[k] = kShares[k] * regulated_current(d.brief);
  points_.resize(4 * duties_.size() * kCurrents + 2);
  const double idle = table.c.chop.idle / double(table.c.chop.period);
  usually_ = {'+', mix(idle, duties_[0], usual_share(table)), usual_A};
}

PeriodMeans::Place PeriodMeans::place_of(std::size_t point) const {
  if (point >= undriven(0)) return {point - undriven(0), {'+', 0.0, 0.0}};
  const std::size_t k = point % kCurrents, row = point / kCurrents, j = row % duties_.size(),
                    drive = row / duties_.size();
  const bool forward = drive % 2 == 0;
  return {drive / 2, {forward ? '+' : '-', duties_[j], forward ? i_A_[k] : -i_A_[k]}};
}

const PeriodMeans::Means& PeriodMeans::means_at(std::size_t point) const {
  Means& m = points_[point];
  if (!m.element.empty() || !ok_) return m;
  const Place place = place_of(point);
  std::array<Held, 2> both{usually_, usually_};
  both[place.winding] = place.held;
  ok_ = simulate(both, place.winding, m);
  if (place.held.sign == '-') m.volts = -m.volts;
  return m;
}

void PeriodMeans::note_resistors(const Circuit& c) const {
  ohms_.clear();
  for (std::size_t k = 0; k < c.resistors.size(); ++k) {
    const auto same = [&](const auto& e) { return e.ref == c.resistors[k].ref; };
    const bool of_capacitor = std::any_of(c.capacitors.begin(), c.capacitors.end(), same) ||
                              std::any_of(c.ceramics.begin(), c.ceramics.end(), same);
    ohms_.push_back(of_capacitor ? 0.0 : 1.0 / c.resistors[k].conductance_S);
  }
}

bool PeriodMeans::simulate(const std::array<Held, 2>& held, std::size_t measured,
                           Means& out) const {
  if (from_.stop.stop_requested()) return false;
  const DriveTable& drive = from_.table;
  DriveTable t =
      holding_table(from_.design, {held[0].sign, held[1].sign}, drive.tick_s * drive.c.dead_ticks);
  t.c.wake_ticks = 2U * t.c.chop.period;
  const auto on = [&](double duty) {
    return static_cast<std::uint16_t>(std::lround(duty * t.c.chop.period));
  };
  t.on_a[0] = on(held[0].duty), t.on_b[0] = on(held[1].duty);
  const Plan plan = plan_hold(from_.design, t, (kLead + kMeasured) * period_s_);
  Circuit c = assemble(from_.design, from_.spreads, from_.point, from_.temperatures, plan, {});
  const std::vector<double> x = at_state(c, {0, {held[0].i_A, held[1].i_A}, 0, c.theta0_rad});
  if (x.empty()) return false;
  for (WindingElement& w : c.windings) w.inductance_H *= kNearlyHolds;
  System s(c);
  Transient run(s, within_reason({}, plan));
  const WindingElement& w = c.windings[measured];
  const auto volts = [&] {
    return s.node_voltage(run.state(), w.a) - s.node_voltage(run.state(), w.b);
  };
  run.start(0.0, x);
  expect_cable(s, run, regulated_current(from_.design.brief));
  if (run.run_to(kLead * period_s_) != Outcome::reached_end) return false;
  run.reset_sums();
  // Steps follow every edge of the voltage, so straight lines between them hold its integral far
  // better than the current does, whose little change is near its own tolerance.
  double before_V = volts(), before_s = run.time_s(), sum_Vs = 0;
  run.on_step = [&](double at_s, const std::vector<double>&) {
    const double now_V = volts();
    sum_Vs += 0.5 * (before_V + now_V) * (at_s - before_s);
    before_V = now_V, before_s = at_s;
  };
  const double span_s = kMeasured * period_s_;
  if (run.run_to((kLead + kMeasured) * period_s_) != Outcome::reached_end) return false;
  out.volts = sum_Vs / span_s;
  out.element.clear();
  out.element.reserve(run.sums().size());
  for (const ElementSums& e : run.sums())
    out.element.push_back({e.loss_J / span_s, e.charge_C / span_s, e.i2_A2s / span_s});
  return true;
}

std::size_t PeriodMeans::undriven(int winding) const {
  return points_.size() - 2 + static_cast<std::size_t>(winding);
}

PeriodMeans::Between PeriodMeans::between(int winding, bool forward, double duty, double i) const {
  Between out;
  const std::size_t drive = static_cast<std::size_t>(2 * winding + (forward ? 0 : 1));
  // Linear in the share of the period between the two that were simulated, and beyond.
  const double less = duties_.size() < 2 ? 0.0 : (duties_[0] - duty) / (duties_[0] - duties_[1]);
  const auto put = [&](std::size_t k, double share) {
    for (std::size_t j = 0; j < duties_.size(); ++j) {
      const double part = share * (j == 0 ? 1.0 - less : less);
      if (part == 0.0) continue;
      out.point[out.count] = (drive * duties_.size() + j) * kCurrents + k;
      out.share[out.count++] = part;
    }
  };
  // A parabola, as conduction's loss is; another where the current flows against the drive.
  const std::size_t k = i < 0 ? 0 : i < i_A_[5] ? 3 : 4;
  for (std::size_t a = 0; a < 3; ++a) {
    double share = 1;
    for (std::size_t b = 0; b < 3; ++b)
      if (a != b) share *= (i - i_A_[k + b]) / (i_A_[k + a] - i_A_[k + b]);
    put(k + a, share);
  }
  return out;
}

double PeriodMeans::volts(const Between& at) const {
  double sum = 0;
  for (std::size_t k = 0; k < at.count; ++k) sum += at.share[k] * means_at(at.point[k]).volts;
  return sum;
}

void PeriodMeans::add(const std::vector<double>& shares, double span_s,
                      std::vector<ElementSums>& to) const {
  if (usual_.element.empty()) {
    ok_ = ok_ && simulate({usually_, usually_}, 0, usual_);
    note_resistors(assemble(from_.design, from_.spreads, from_.point, from_.temperatures,
                            plan_hold(from_.design, from_.table, period_s_), {}));
  }
  for (std::size_t k = 0; k < shares.size(); ++k)
    if (shares[k] != 0.0) means_at(k);
  if (!ok_) return;
  for (std::size_t e = 0; e < to.size(); ++e) {
    const Mean& usual = usual_.element[e];
    double loss_J = usual.loss_W * span_s, i2 = usual.i2_A2 * span_s, charge[2] = {0, 0};
    for (std::size_t k = 0; k < shares.size(); ++k) {
      if (shares[k] == 0.0) continue;
      const Mean& m = points_[k].element[e];
      loss_J += shares[k] * (m.loss_W - usual.loss_W);
      i2 += shares[k] * (m.i2_A2 - usual.i2_A2);
      charge[place_of(k).winding] += shares[k] * (m.i_A - usual.i_A);
    }
    const double both = 2.0 * charge[0] * charge[1] / span_s;
    const double ohms = e < ohms_.size() ? ohms_[e] : 0.0;
    to[e].loss_J += loss_J + ohms * both;
    to[e].i2_A2s += std::max(i2 + (ohms > 0 ? both : 0.0), 0.0);
    to[e].charge_C += usual.i_A * span_s + charge[0] + charge[1];
  }
}

namespace {

/// Of one winding in one state: direction and duty; what an open or a shorted winding does.
struct Drive {
  char flow;
  double duty;
};

class Motor {
 public:
  Motor(const Circuit& circuit, const PeriodMeans& means, double supply_V)
      : c_(circuit), means_(means), supply_V_(supply_V) {}

  using Vector = std::array<double, 4>;  // currents, speed, angle

  /// One step of the classical Runge-Kutta method. Source: Abramowitz and Stegun, 25.5.10.
  void step(const std::array<Drive, 2>& drive, double h, Vector& x) const {
    const auto plus = [&](const Vector& k, double f) {
      Vector y = x;
      for (std::size_t m = 0; m < y.size(); ++m) y[m] += f * k[m];
      return y;
    };
    const Vector k1 = slope(drive, x), k2 = slope(drive, plus(k1, 0.5 * h)),
                 k3 = slope(drive, plus(k2, 0.5 * h)), k4 = slope(drive, plus(k3, h));
    for (std::size_t m = 0; m < x.size(); ++m)
      x[m] += h / 6.0 * (k1[m] + 2.0 * k2[m] + 2.0 * k3[m] + k4[m]);
    for (std::size_t w = 0; w < 2; ++w)  // an open winding's current ends; it does not turn round
      if (drive[w].flow == '0' && std::abs(x[w]) < supply_V_ * h / c_.windings[w].inductance_H)
        x[w] = 0;
  }

  /// Short against friction that turns round at standstill, which is the fastest thing here.
  double longest_step() const {
    constexpr double kUsual_s = 25e-6, kLeast_s = 0.5e-6;
    const double friction_1_s =
        c_.rotor.friction_Nm / (kFrictionSpeed_rad_s * c_.rotor.inertia_kgm2);
    return std::clamp(2.0 / std::max(friction_1_s, 1.0), kLeast_s, kUsual_s);
  }

  /// What a step that ended at x adds to the stretch.
  void account(const std::array<Drive, 2>& drive, double h, const Vector& x,
               MeanStretch& to) const {
    for (std::size_t w = 0; w < 2; ++w) {
      to.i2_A2s[w] += h * square(x[w]);
      if (drive[w].flow != '+' && drive[w].flow != '-') {
        to.shares[means_.undriven(static_cast<int>(w))] += h;
        continue;
      }
      const auto at = place(drive[w], static_cast<int>(w), x[w]);
      for (std::size_t k = 0; k < at.count; ++k) to.shares[at.point[k]] += h * at.share[k];
    }
    const MotorTorque m = motor_torque(c_.rotor, x[0], x[1], x[2], x[3]);
    to.shaft_J += h * m.electric_Nm * x[2];
  }

 private:
  PeriodMeans::Between place(const Drive& d, int winding, double i) const {
    const bool forward = d.flow == '+';
    return means_.between(winding, forward, d.duty, forward ? i : -i);
  }

  double voltage(const Drive& d, int winding, double i) const {
    switch (d.flow) {
      case '+':
        return means_.volts(place(d, winding, i));
      case '-':
        return -means_.volts(place(d, winding, i));
      case '0':
        return -sign(i) * supply_V_;  // back into the supply, until nothing is left
      default:
        return 0.0;
    }
  }

  Vector slope(const std::array<Drive, 2>& drive, const Vector& x) const {
    const Rotor& r = c_.rotor;
    const MotorTorque m = motor_torque(r, x[0], x[1], x[2], x[3]);
    const double e[2] = {m.e_a_V, m.e_b_V};
    Vector out{};
    for (std::size_t w = 0; w < 2; ++w)
      out[w] = (voltage(drive[w], static_cast<int>(w), x[w]) -
                c_.windings[w].resistance_ohm * x[w] - e[w]) /
               c_.windings[w].inductance_H;
    if (r.locked) return out;
    out[2] = (m.electric_Nm - m.detent_Nm - m.friction_Nm - r.viscous_Nms * x[2] - r.gravity_Nm) /
             r.inertia_kgm2;
    out[3] = x[2];
    return out;
  }

  const Circuit& c_;
  const PeriodMeans& means_;
  double supply_V_;
};

/// What the tables do with both windings in state k of the plan.
std::array<Drive, 2> drive_in(const Plan& plan, const DriveTable& t, std::size_t k, bool lessened) {
  const std::string& flow = plan.states[k].flow;
  const std::size_t n = t.flows.size();
  std::array<Drive, 2> out{Drive{flow[0], 0}, Drive{flow[1], 0}};
  if (k >= static_cast<std::size_t>(plan.moving_states)) return out;
  const pb_chop& c = t.c.chop;
  for (int w : {0, 1}) {
    double on = (w == 0 ? t.on_a : t.on_b)[k % n];
    if (lessened && on > c.idle) on = c.idle + (on - c.idle) * c.hold_256ths / 256.0;
    out[static_cast<std::size_t>(w)].duty = on / c.period;
  }
  return out;
}

/// Walks a plan from state to state.
class Walk {
 public:
  Walk(const Circuit& circuit, const Plan& plan, const PeriodMeans& means, double supply_V,
       const std::vector<double>& times_s, const std::function<void(const MeanStretch&)>& each)
      : motor_(circuit, means, supply_V),
        longest_s_(motor_.longest_step()),
        x_{0, 0, 0, circuit.theta0_rad},
        t_s_(-plan.settle_s),
        times_s_(times_s),
        each_(each) {
    stretch_.shares.assign(means.points(), 0.0);
    stretch_.from_s = t_s_;
  }

  void go(const std::array<Drive, 2>& drive, double until_s) {
    while (t_s_ < until_s) {
      const bool asks = next_ < times_s_.size() && times_s_[next_] > t_s_;
      const double stop = asks ? std::min(times_s_[next_], until_s) : until_s;
      straight(drive, stop);
      end_stretch();
      for (; next_ < times_s_.size() && times_s_[next_] <= t_s_; ++next_)
        out.asked.push_back(state());
    }
  }

  double rms_A() const { return std::sqrt(i2_A2s_ / (2.0 * t_s_)); }
  MotorState state() const { return {t_s_, {x_[0], x_[1]}, x_[2], x_[3]}; }

  MeanMotion out;

 private:
  static constexpr double kStretch_s = 0.25e-3;  // heat of a junction is watched as closely

  void straight(const std::array<Drive, 2>& drive, double stop_s) {
    const double steps = std::ceil((stop_s - t_s_) / longest_s_), h = (stop_s - t_s_) / steps;
    for (double k = 0; k < steps; ++k) {
      motor_.step(drive, h, x_);
      t_s_ += h;
      motor_.account(drive, h, x_, stretch_);
      if (k + 1 < steps && t_s_ - stretch_.from_s > kStretch_s) end_stretch();
      for (std::size_t w = 0; w < 2; ++w)
        if (t_s_ > 0 && std::abs(x_[w]) > most_A_[w])
          most_A_[w] = std::abs(x_[w]), out.most[w] = state();
    }
    t_s_ = stop_s;
  }

  void end_stretch() {
    stretch_.to_s = t_s_;
    if (stretch_.from_s >= 0) i2_A2s_ += stretch_.i2_A2s[0] + stretch_.i2_A2s[1];
    if (each_ && stretch_.from_s >= 0 && stretch_.to_s > stretch_.from_s) each_(stretch_);
    std::fill(stretch_.shares.begin(), stretch_.shares.end(), 0.0);
    stretch_.from_s = t_s_;
    stretch_.i2_A2s[0] = stretch_.i2_A2s[1] = stretch_.shaft_J = 0;
  }

  const Motor motor_;
  const double longest_s_;
  Motor::Vector x_;
  double t_s_, most_A_[2] = {-1, -1}, i2_A2s_ = 0;
  const std::vector<double>& times_s_;
  std::size_t next_ = 0;
  const std::function<void(const MeanStretch&)>& each_;
  MeanStretch stretch_;
};

}  // namespace

MeanMotion mean_motion(const Circuit& circuit, const Plan& plan, const DriveTable& table,
                       const PeriodMeans& means, double supply_V,
                       const std::vector<double>& times_s,
                       const std::function<void(const MeanStretch&)>& each) {
  Walk walk(circuit, plan, means, supply_V, times_s, each);
  const double held_s = table.tick_s * table.c.hold_ticks;
  walk.go(drive_in(plan, table, 0, false), 0.0);
  for (std::size_t k = 0; k < plan.states.size(); ++k) {
    const bool last = k + 1 == plan.states.size();
    const double until = last ? plan.end_s : plan.states[k + 1].t_s;
    const bool holds = k + 1 == static_cast<std::size_t>(plan.moving_states) && !plan.rotor_locked;
    if (holds)
      walk.go(drive_in(plan, table, k, false), std::min(plan.states[k].t_s + held_s, until));
    walk.go(drive_in(plan, table, k, holds), until);
    walk.out.ends.push_back(walk.state());
  }
  walk.out.rms_A = walk.rms_A();
  return std::move(walk.out);
}

}  // namespace pb::physics
