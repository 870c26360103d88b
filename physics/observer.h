// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What a run keeps of every accepted step: extremes, losses, heat between steps, and the waveforms
// where they are asked for. Of physics/run.cpp alone. Tested by tests/unit/physics_run.cpp.
#pragma once

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "physics/board_heat.h"
#include "physics/heat.h"
#include "physics/plan.h"
#include "physics/run.h"
#include "physics/system.h"
#include "physics/transient.h"

namespace pb::physics {

inline bool is_switch(const ElementName& n) {
  return std::string_view(n.kind) == "mosfet" || std::string_view(n.kind) == "bipolar";
}
inline bool is_winding(const ElementName& n) { return std::string_view(n.kind) == "winding"; }
inline bool is_bridge(const ElementName& n) { return std::string_view(n.kind) == "bridge"; }
inline bool is_diode(const ElementName& n) { return std::string_view(n.kind) == "diode"; }
inline bool is_resistor(const ElementName& n) { return std::string_view(n.kind) == "resistor"; }

inline void keep(Peak& p, double x, double t) {
  if (std::abs(x) > p.value) p = {std::abs(x), t};
}

/// Watches a run step by step.
class Observer {
 public:
  Observer(const Design& d, System& s, bool record) : d_(d), s_(s), record_(record) {
    for (std::size_t e = 0; e < s.names.size(); ++e) {
      const std::string& ref = s.names[e].ref;
      const ElementName& n = s.names[e];
      const auto main = main_.find(ref);
      // A diode is not what leaks beside it.
      const bool first = main == main_.end() || (is_diode(n) && is_resistor(s.names[main->second]));
      if (is_switch(n) || is_bridge(n) || is_winding(n) || first) main_[ref] = e;
      if (is_bridge(s.names[e])) bridges_.push_back(e);
      elements_[ref].push_back(e);
    }
    rail_ = s.circuit().find_node(kRail);
    for (std::size_t e = 0; e < s.names.size(); ++e)
      if (std::string_view(s.names[e].kind) == "inductor") cable_ = e;
    pins_from_ = s.names.size() - s.circuit().windings.size() - s.circuit().pins.size();
    for (const Leg& l : d.wiring.legs)
      legs_.push_back({l.output, indices(l.high), indices(l.low), &out.leg_cross_A[l.output]});
    for (const auto& [ref, e] : main_) watched_.push_back({&out.parts[ref], e});
    for (const std::size_t e : bridges_) {  // a part may have two
      const std::string& ref = s.names[e].ref;
      if (main_.at(ref) != e) watched_.push_back({&out.parts[ref], e});
    }
    for (const PinElement& p : s.circuit().pins) pin_peaks_.push_back(&out.pin_current_A[p.ref]);
    out.rail_min_V = 1e300, out.rail_max_V = -1e300;
    name_columns();
  }

  void step(double t, const std::vector<double>& x, const std::vector<ElementSums>& sums) {
    // Extremes count from the first state on: the settling before it is the business of the reset
    // window.
    if (t >= from_s) {
      extremes(t, x);
      speed(t, x);
      for (const LegElements& l : legs_) keep(*l.peak, cross(l), t);
    }
    if (!record_ || t < 0) return;
    row(t, x);
    losses(t, sums);
  }

  /// The losses so far, at each step; `mean_W` is what each part's temperature rests on.
  void warm(double t, const std::vector<ElementSums>& sums, const Temperatures& at,
            double ambient_K, StageDecay& stages) {
    if (t < from_s) return;
    if (warmers_.empty()) list_warmers(at, ambient_K, sums);
    const double h = t - warmed_to_s_;
    warmed_to_s_ = t;
    const auto& decay = stages.over(h);
    for (Warmer& w : warmers_) {
      const double loss_J = loss_of(*w.elements, sums), above_J = loss_J - w.loss_J - w.mean_W * h;
      w.loss_J = loss_J;
      if (h <= 0) continue;
      w.ripple.step(above_J / h, decay);
      w.most_W = std::max(w.most_W, w.ripple.now_W);
    }
  }

  /// End of a state of any kind.
  void state_over(const std::vector<ElementSums>& sums) {
    for (const auto& [ref, list] : elements_) {
      double& since = state_began_J_[ref];
      const double loss_J = loss_of(list, sums);
      out.parts[ref].state_loss_J = std::max(out.parts[ref].state_loss_J, loss_J - since);
      since = loss_J;
    }
  }
  void state_begins(const std::vector<ElementSums>& sums) {
    for (const auto& [ref, list] : elements_) state_began_J_[ref] = loss_of(list, sums);
  }

  void close(const std::vector<ElementSums>& sums) {
    for (const Warmer& w : warmers_) out.parts[w.ref].surge_K = w.most_W * w.rth_K_W;
    if (cable_ != kNone) out.supply_i2t_A2s = sums[cable_].i2_A2s;
  }

  /// Everything at rest at x: what a window long after the last change would mean.
  void at_rest(const std::vector<double>& x) {
    step(from_s, x, {});
    for (const auto& [ref, list] : elements_) {
      PartFigures& p = out.parts[ref];
      for (std::size_t e : list) p.loss_W += s_.readings[e].power_W;
      p.rms_A = std::abs(s_.readings[main_.at(ref)].current_A);
    }
    if (cable_ != kNone) out.supply_mean_A = s_.readings[cable_].current_A;
    share_windings();
  }

  /// End of a drive state: everything has settled as far as it will.
  void settled(const PlannedState& state, const std::vector<double>& x) {
    const std::set<std::string> on(state.on.begin(), state.on.end());
    settled(on, [](const std::string&) { return true; }, x);
  }

  /// One winding's switches at the end of a stretch of its period.
  void settled(const Look& look, const std::vector<double>& x) {
    const std::set<std::string> on(look.on.begin(), look.on.end()),
        off(look.off.begin(), look.off.end());
    settled(on, [&](const std::string& ref) { return on.contains(ref) || off.contains(ref); }, x);
  }

  template <class IsKnown>
  void settled(const std::set<std::string>& on, IsKnown is_known, const std::vector<double>& x) {
    for (const auto& leg : d_.wiring.legs)
      for (const auto* side : {&leg.high, &leg.low})
        for (const std::string& ref : *side)
          if (is_known(ref)) judge(ref, on.contains(ref));
    for (std::size_t k = 0; k < bridges_.size(); ++k)
      if (is_known(s_.circuit().bridges[k].inputs[0])) judge_inputs(k, on, x);
    for (const auto& l : legs_) {
      double& c = out.leg_settled_cross_A[l.output];
      c = std::max(c, cross(l));
    }
  }

  /// At one moment of a driver that oscillates by itself: switches that are meant to be off in this
  /// state. Nothing of chips, whose switches are out of sight.
  void rings(const PlannedState& state) {
    const std::set<std::string> on(state.on.begin(), state.on.end());
    for (const auto& leg : d_.wiring.legs)
      for (const auto* side : {&leg.high, &leg.low})
        for (const std::string& ref : *side) {
          const auto m = main_.find(ref);
          if (on.contains(ref) || m == main_.end() || !is_switch(s_.names[m->second])) continue;
          swings_[ref].see(s_.readings[m->second].control_V * sign_of(m->second));
        }
  }
  /// When that is over: what has turned them on again and again.
  void rang() {
    for (const auto& [ref, swings] : swings_) {
      const std::optional<double> reached_V = swings.reached_V();
      if (!reached_V) continue;
      SwitchState& w = out.switches[ref];
      ++w.off_states;
      w.off_control_V = std::max(w.off_control_V, *reached_V);
    }
  }

  void lag(const std::vector<double>& x, double target_rad) {
    const double step_rad = kPi / (2.0 * s_.circuit().rotor.teeth);
    out.lag_max_step =
        std::max(out.lag_max_step, std::abs(target_rad - x[s_.angle_unknown()]) / step_rad);
  }

  void open_window(double t_s, const std::vector<ElementSums>& sums) {
    out.window_from_s = t_s;
    opening_ = sums;
    window_is_open_ = true;
    opened_at_ = latest_;
    speed_range(latest_.w_rad_s, latest_.w_rad_s);
  }

  void close_window(double t_s, const std::vector<ElementSums>& sums) {
    out.window_to_s = t_s;
    close_speed();
    const double span = std::max(out.window_to_s - out.window_from_s, 1e-12);
    for (const auto& [ref, list] : elements_) {
      PartFigures& p = out.parts[ref];
      for (std::size_t e : list) p.loss_W += (sums[e].loss_J - opening_[e].loss_J) / span;
      const std::size_t m = main_.at(ref);
      p.rms_A = std::sqrt(std::max(sums[m].i2_A2s - opening_[m].i2_A2s, 0.0) / span);
    }
    for (const std::size_t b : bridges_) {  // a part may have two: the busier one's
      double& rms_A = out.parts[s_.names[b].ref].rms_A;
      rms_A = std::max(rms_A, std::sqrt(std::max(sums[b].i2_A2s - opening_[b].i2_A2s, 0.0) / span));
    }
    const auto mean = [&](std::size_t e) {
      return (sums[e].charge_C - opening_[e].charge_C) / span;
    };
    if (cable_ != kNone) out.supply_mean_A = mean(cable_);
    share_windings();
  }

  double at_output(double rotor_rad) const { return rotor_rad / d_.brief.load.gear_ratio; }

  /// Rows of waveforms from now on, or none.
  void record(bool rows) { record_ = rows; }

  RunFigures out;
  double from_s = 0;

 private:
  struct LegElements {
    std::string output;
    std::vector<std::size_t> high, low;
    Peak* peak;
  };
  /// Where the rotor was at the last step watched.
  struct Moment {
    double t_s = -HUGE_VAL, th_rad = 0, w_rad_s = kNotGiven;
  };
  struct Warmer {
    std::string ref;
    const std::vector<std::size_t>* elements;
    double rth_K_W, mean_W, loss_J, most_W = 0;
    ThermalRipple ripple;
  };
  /// Peaks of a voltage that swings: each ends where it falls below its half.
  class Swings {
   public:
    void see(double volts) {
      if (volts > high_V_) high_V_ = volts;
      if (high_V_ <= 0 || volts > 0.5 * high_V_) return;
      peaks_V_.push_back(high_V_);
      high_V_ = volts;
    }
    /// At least so many times; nothing of fewer, which an edge may do.
    std::optional<double> reached_V() const {
      constexpr std::size_t kTimes = 5;
      if (peaks_V_.size() < kTimes) return std::nullopt;
      std::vector<double> sorted = peaks_V_;
      std::ranges::nth_element(sorted, sorted.begin() + kTimes - 1, std::greater());
      return sorted[kTimes - 1];
    }

   private:
    double high_V_ = -HUGE_VAL;
    std::vector<double> peaks_V_;
  };
  static constexpr std::size_t kNone = static_cast<std::size_t>(-1);

  static double loss_of(const std::vector<std::size_t>& elements,
                        const std::vector<ElementSums>& sums) {
    double loss_J = 0;
    for (std::size_t e : elements) loss_J += sums[e].loss_J;
    return loss_J;
  }

  /// Above the board.
  double rise_K(const std::string& ref, const Temperatures& at, double ambient_K) const {
    const auto T = at.junction_K.find(ref);
    const double board_K = given(at.board_K) ? at.board_K : ambient_K;
    return T == at.junction_K.end() ? 0.0 : T->second - board_K;
  }

  /// The loss that its temperature speaks of, without what the other half of a package
  /// adds.
  double own_mean_W(const std::string& ref, double rth_K_W, const Temperatures& at,
                    double ambient_K) const {
    const SharedPackage* package = shared_by(d_, ref);
    const double own_K = rise_K(ref, at, ambient_K), own_K_W = without_board_K_W(rth_K_W);
    if (!package) return own_K / own_K_W;
    const std::string& other = other_half(*package, ref);
    const double other_K_W =
        without_board_K_W(figure(d_.parts.at(find_place(d_.wiring, other)->role), "rth_ja"));
    const double m = without_board_K_W(package->mutual_K_W), both = own_K_W * other_K_W - m * m;
    return both > 0 ? (other_K_W * own_K - m * rise_K(other, at, ambient_K)) / both
                    : own_K / (own_K_W + m);
  }

  void list_warmers(const Temperatures& at, double ambient_K,
                    const std::vector<ElementSums>& sums) {
    for (const Place& p : d_.wiring.places) {
      const auto part = d_.parts.find(p.role);
      const auto list = elements_.find(p.ref);
      if (part == d_.parts.end() || list == elements_.end() || !is_switch(s_.names[main_[p.ref]]))
        continue;
      const double rth = figure(part->second, "rth_ja");
      const auto moving = at.moving_W.find(p.ref);
      const double mean_W =
          moving == at.moving_W.end() ? own_mean_W(p.ref, rth, at, ambient_K) : moving->second;
      warmers_.push_back({p.ref, &list->second, rth, mean_W, loss_of(list->second, sums), 0, {}});
    }
    warmed_to_s_ = from_s;
  }

  void share_windings() {
    out.winding_a.rms_A = out.parts["winding_a"].rms_A;
    out.winding_b.rms_A = out.parts["winding_b"].rms_A;
    out.winding_loss_W = out.parts["winding_a"].loss_W + out.parts["winding_b"].loss_W;
  }

  std::vector<std::size_t> indices(const std::vector<std::string>& refs) const {
    std::vector<std::size_t> list;
    for (const std::string& r : refs)
      if (const auto m = main_.find(r); m != main_.end()) list.push_back(m->second);
    std::sort(list.begin(), list.end());  // the circuit's order: sums do not depend on the file's
    return list;
  }

  double cross(const LegElements& l) const {
    double high = 0, low = 0;
    for (std::size_t e : l.high) high += std::abs(s_.readings[e].current_A);
    for (std::size_t e : l.low) low += std::abs(s_.readings[e].current_A);
    return std::min(high, low);
  }

  void judge(const std::string& ref, bool meant_on) {
    const auto m = main_.find(ref);
    if (m == main_.end() || !is_switch(s_.names[m->second])) return;
    const Reading& r = s_.readings[m->second];
    SwitchState& w = out.switches[ref];
    const double towards_on = r.control_V * sign_of(m->second);
    if (meant_on) {
      ++w.on_states;
      w.on_control_V = std::min(w.on_control_V, towards_on);
      double drop = r.voltage_V;
      for (std::size_t e : elements_.at(ref))  // series resistances inside the part
        if (is_resistor(s_.names[e])) drop += std::copysign(s_.readings[e].voltage_V, drop);
      w.on_drop_V = std::max(w.on_drop_V, std::abs(drop));
      w.on_current_A = std::max(w.on_current_A, std::abs(r.current_A));
    } else {
      ++w.off_states;
      w.off_control_V = std::max(w.off_control_V, towards_on);
    }
  }

  /// The inputs of a bridge stand for its switches: levels, and what the winding loses in the high
  /// side an input steers.
  void judge_inputs(std::size_t k, const std::set<std::string>& on, const std::vector<double>& x) {
    const BridgeElement& b = s_.circuit().bridges[k];
    const auto voltage = [&](int node) { return s_.node_voltage(x, node); };
    for (int side : {0, 1}) {
      SwitchState& w = out.switches[b.inputs[side]];
      const double level = voltage(b.node[kChipIn1 + side]) - voltage(b.node[kChipGround]);
      const double drop = voltage(b.node[kChipSupply]) - voltage(b.node[kChipOut1 + side]);
      if (!on.contains(b.inputs[side])) {
        ++w.off_states;
        w.off_control_V = std::max(w.off_control_V, level);
        continue;
      }
      ++w.on_states;
      w.on_control_V = std::min(w.on_control_V, level);
      if (on.contains(b.inputs[1 - side])) continue;  // both high: brake, nothing is pulled up
      w.on_drop_V = std::max(w.on_drop_V, std::abs(drop));
      w.on_current_A = std::max(w.on_current_A, std::abs(s_.readings[bridges_[k]].current_A));
    }
  }

  double sign_of(std::size_t e) const {
    const Circuit& c = s_.circuit();
    const std::size_t first_mosfet = c.resistors.size() + c.diodes.size();
    if (e < first_mosfet + c.mosfets.size()) return c.mosfets[e - first_mosfet].channel.sign;
    return c.bipolars[e - first_mosfet - c.mosfets.size()].transistor.sign;
  }

  void extremes(double t, const std::vector<double>& x) {
    // A chip's outputs swing as fast as their inputs let them: what they charge strays with within
    // a nanosecond of that is the model's, not the chip's.
    constexpr double kSwing_s = 1e-9;
    const bool within_swing = t - std::exchange(seen_s_, t) < kSwing_s;
    for (const auto& [p, e] : watched_) {
      const Reading& r = s_.readings[e];
      keep(p->voltage_V, r.voltage_V, t);
      if (!within_swing || !is_bridge(s_.names[e])) keep(p->current_A, r.current_A, t);
      keep(p->control_V, r.control_V, t);
    }
    const double rail = s_.node_voltage(x, rail_);
    out.rail_min_V = std::min(out.rail_min_V, rail);
    out.rail_max_V = std::max(out.rail_max_V, rail);
    out.winding_a.peak_A = std::max(out.winding_a.peak_A, std::abs(x[s_.winding_unknown(0)]));
    out.winding_b.peak_A = std::max(out.winding_b.peak_A, std::abs(x[s_.winding_unknown(1)]));
    if (cable_ != kNone)
      out.supply_peak_A = std::max(out.supply_peak_A, s_.readings[cable_].current_A);
    if (s_.touches()) {
      const LoadBrief& load = d_.brief.load;
      keep(out.end_stop_Nm, load.gear_ratio * load.gear_efficiency * s_.stop_torque_Nm(), t);
    }
    double total = 0;
    for (std::size_t k = 0; k < s_.circuit().pins.size(); ++k) {
      const double i = s_.readings[pins_from_ + k].current_A;
      keep(*pin_peaks_[k], i, t);
      total += std::abs(i);
    }
    out.pin_total_A = std::max(out.pin_total_A, total);
  }

  void speed_range(double least_rad_s, double most_rad_s) {
    out.speed_min_rad_s = least_rad_s, out.speed_max_rad_s = most_rad_s;
  }
  void speed(double t, const std::vector<double>& x) {
    latest_ = {t, x[s_.angle_unknown()], x[s_.speed_unknown()]};
    if (window_is_open_)
      speed_range(std::min(out.speed_min_rad_s, latest_.w_rad_s),
                  std::max(out.speed_max_rad_s, latest_.w_rad_s));
  }
  /// The mean is of the angle, which does not depend on how steps fall.
  void close_speed() {
    window_is_open_ = false;
    const double span_s = latest_.t_s - opened_at_.t_s;
    if (span_s > 0)
      out.speed_mean_rad_s = (latest_.th_rad - opened_at_.th_rad) / span_s;
    else
      speed_range(kNotGiven, kNotGiven);
  }

  void name_columns() {
    for (const Leg& l : d_.wiring.legs) add_column(l.output);
    for (const auto* w : {&d_.wiring.winding_a, &d_.wiring.winding_b})
      for (const std::string& n : *w) add_column(n);
    for (const Place& p : d_.wiring.places)
      for (const std::string& n : p.nodes)
        if (const Role* r = find_role(d_.wiring, p.role);
            r && (r->part_class == "n-mosfet" || r->part_class == "p-mosfet") && n == p.nodes[1])
          add_column(n);
    const auto in_leg = [&](std::size_t e) {
      const auto has = [e](const std::vector<std::size_t>& list) {
        return std::find(list.begin(), list.end(), e) != list.end();
      };
      return std::any_of(legs_.begin(), legs_.end(),
                         [&](const LegElements& l) { return has(l.high) || has(l.low); });
    };
    for (const Place& p : d_.wiring.places)
      if (const auto at = main_.find(p.ref); at != main_.end())
        if (const std::size_t e = at->second;
            in_leg(e) || is_bridge(s_.names[e]) || is_diode(s_.names[e]))
          out.waves.loss_refs.push_back(p.ref);
  }
  void add_column(const std::string& node) {
    if (std::find(out.waves.names.begin(), out.waves.names.end(), node) != out.waves.names.end())
      return;
    out.waves.names.push_back(node);
    columns_.push_back(s_.circuit().find_node(node));
  }

  void row(double t, const std::vector<double>& x) {
    const double ia = x[s_.winding_unknown(0)], ib = x[s_.winding_unknown(1)],
                 w = x[s_.speed_unknown()], th = x[s_.angle_unknown()];
    const MotorTorque torque = motor_torque(s_.circuit().rotor, ia, ib, w, th);
    std::vector<double> r = {t,
                             ia,
                             ib,
                             s_.node_voltage(x, rail_),
                             cable_ != kNone ? s_.readings[cable_].current_A : 0.0,
                             th,
                             w,
                             s_.circuit().iron ? flux_law(*s_.circuit().iron, ia, ib, th).torque_Nm
                                               : torque.electric_Nm};
    for (int n : columns_) r.push_back(s_.node_voltage(x, n));
    out.waves.rows.push_back(std::move(r));
  }

  void losses(double t, const std::vector<ElementSums>& sums) {
    const std::size_t n = out.waves.loss_refs.size();
    const bool is_first = out.waves.losses_W.empty();
    std::vector<double> mean_W(n, 0.0);
    lost_J_.resize(n);
    for (std::size_t k = 0; k < n; ++k) {
      const double loss_J = loss_of(elements_.at(out.waves.loss_refs[k]), sums);
      if (!is_first && t > lost_to_s_) mean_W[k] = (loss_J - lost_J_[k]) / (t - lost_to_s_);
      lost_J_[k] = loss_J;
    }
    lost_to_s_ = t;
    out.waves.losses_W.push_back(std::move(mean_W));
  }

  const Design& d_;
  System& s_;
  bool record_;
  std::map<std::string, std::size_t> main_;
  std::map<std::string, std::vector<std::size_t>> elements_;
  std::vector<LegElements> legs_;
  // Where a step's readings go: looked up by name once, not at every step.
  std::vector<std::pair<PartFigures*, std::size_t>> watched_;
  std::vector<Peak*> pin_peaks_;
  std::vector<std::size_t> bridges_;  // elements, in the circuit's order
  std::vector<ElementSums> opening_;
  Moment latest_, opened_at_;
  bool window_is_open_ = false;
  std::vector<Warmer> warmers_;
  double seen_s_ = -HUGE_VAL;  // the step before this
  double warmed_to_s_ = 0;
  std::map<std::string, double> state_began_J_;
  std::map<std::string, Swings> swings_;
  std::vector<int> columns_;
  std::vector<double> lost_J_;  // up to the last row
  double lost_to_s_ = 0;
  int rail_ = 0;
  std::size_t cable_ = kNone, pins_from_ = 0;
};

}  // namespace pb::physics
