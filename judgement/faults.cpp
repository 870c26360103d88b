// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/faults.h"

#include <algorithm>
#include <cmath>
#include <map>

#include "base/math.h"
#include "judgement/checks_parts.h"
#include "judgement/fault_inject.h"
#include "judgement/fault_stress.h"
#include "judgement/protection.h"

namespace pb {
namespace {

using namespace physics;
using namespace stress;

/// The state a request stands in, as a person calls it.
std::string state_name(const RunRequest& r) {
  if (r.power.in_reset) return "reset";
  const std::string& flow = r.plan.states.front().flow;
  return flow == "bb" ? "brake" : flow == "00" ? "off" : flow;
}

class Judge {
 public:
  Judge(const Design& d, const FaultsOptions& o) : o_(o), c_(case_of(d)), protection_(d.brief) {}

  FaultsResult all() {
    FaultsResult out;
    c_.dead_time_s = dead_time_of(c_);
    if (!given(c_.dead_time_s)) {
      out.undecided =
          "dead time: a switch does not turn off within half a step, or the driver oscillates";
      return out;
    }
    hot_ = typical(c_.spreads);
    for (std::size_t k = 0; k < c_.spreads.size(); ++k)
      if (c_.spreads[k].name == "supply.voltage" || c_.spreads[k].name == "ambient")
        hot_.value[k] = c_.spreads[k].max;
    std::vector<Situation> list = situations_of(c_);
    if (out.undecided = healthy(list); !out.undecided.empty()) return out;
    std::erase_if(list, [&](const Situation& s) { return !o_.wanted(s); });
    out.cases.resize(list.size());
    constexpr std::size_t kAtOnce = 16;  // between looks at the clock
    for (std::size_t at = 0; at < list.size() && !o_.stop.stop_requested(); at += kAtOnce) {
      const std::size_t count = std::min(kAtOnce, list.size() - at);
      o_.parallel(count, [&](std::size_t k) {
        if (!o_.stop.stop_requested()) out.cases[at + k] = judge(list[at + k]);
      });
      if (o_.progress)
        o_.progress(static_cast<double>(at + count) / static_cast<double>(list.size()));
    }
    out.cancelled = o_.stop.stop_requested();
    return out;
  }

 private:
  double ambient_K() const { return value_of(c_.spreads, hot_, "ambient"); }
  Meter sound() const { return {c_, ambient_K(), warm_}; }
  double supply_V() const { return value_of(c_.spreads, hot_, "supply.voltage"); }
  std::optional<double> fuse(double supply_A) const {
    const double rated = c_.design.brief.supply.current_limit_A;
    return given(rated) ? protection_.opens_within_s(supply_A / rated) : std::nullopt;
  }

  /// The same runs without a fault; empty, or what stopped them.
  std::string healthy(const std::vector<Situation>& list) {
    const auto defect =
        std::find_if(list.begin(), list.end(), [](const Situation& s) { return s.defect; });
    if (defect == list.end()) return "no part to fail";
    const HeatedRun h = run_heated(c_.design, c_.spreads, hot_,
                                   on_latches(c_, defect->moving.front()), o_.stop, nullptr);
    if (!h.figures.trouble.empty()) return h.figures.trouble;
    warm_ = h.figures.temperatures;
    // A design that runs away by itself is still judged: from ambient, so that its faults show.
    if (h.runaway) warm_ = {}, warm_.winding_K = ambient_K();
    steps_made_ = h.figures.steps_made;
    supply_A_ = supply_rms(h.figures);
    Situation none = *defect;
    none.inject = nullptr, none.part.clear();
    std::vector<Window> windows;
    const std::string trouble = look(none, windows);
    tested_ = test_currents(none);
    for (const Window& w : windows) keep_worst(sound().of(none.part, w), healthy_);
    keep_worst(pins_in_test(tested_), healthy_);
    return trouble;
  }

  FaultCase judge(const Situation& s) const {
    FaultCase out;
    out.part = s.part, out.fault = s.fault;
    std::vector<Window> windows;
    if (out.undecided = look(s, windows); !out.undecided.empty()) return out;
    std::map<std::string, Stress> worst;
    bool moves = true;
    for (const Window& w : windows) {
      keep_worst(sound().of(s.part, w), worst);
      out.peak_A = std::max(out.peak_A, w.peak_A);
      out.supply_A = std::max(out.supply_A, w.supply_A);
      if (w.fuse_s && !(out.fuse_s <= *w.fuse_s)) out.fuse_s = *w.fuse_s;
      if (w.moving) moves = moves && w.figures.steps_made == steps_made_;
    }
    const std::vector<Observed> test = s.defect ? test_currents(s) : std::vector<Observed>{};
    keep_worst(pins_in_test(test), worst);
    out.detected_by = s.defect ? detected_by(test) : "in use";
    const std::vector<Stress> harmed = harms(worst);
    for (const Stress& h : harmed) out.harmed.push_back(h.of);
    hottest(worst, out);
    contain(s, windows, harmed, out);
    if (harmed.empty()) {
      out.outcome = given(out.fuse_s)                  ? FaultClass::stops_safely
                    : s.unharmed == Unharmed::works_on ? FaultClass::works_on
                    : s.unharmed == Unharmed::stops    ? FaultClass::stops_safely
                    : moves                            ? FaultClass::works_on
                                                       : FaultClass::stops_safely;
    } else {
      const bool contained =
          out.contain == Containment::fuse_in_place || out.contain == Containment::little_power;
      out.outcome = contained ? FaultClass::destroyed_contained : FaultClass::hazard;
    }
    return out;
  }

  // --- looking ----------------------------------------------------------------------------------

  RunRequest with(const RunRequest& r, const Situation& s) const {
    RunRequest out = r;
    out.alter = s.inject;
    return out;
  }

  RunFigures stand_at(const Point& p, const Temperatures& t, const RunRequest& r) const {
    if (!r.plan.stands_still()) return run(c_.design, c_.spreads, p, t, r, o_.stop);
    RunFigures f = stand(c_.design, c_.spreads, p, t, r);
    // Some resting states are hard to find from nothing; time finds them.
    if (f.outcome != Outcome::reached_end) f = run(c_.design, c_.spreads, p, t, r, o_.stop);
    return f;
  }

  std::string look(const Situation& s, std::vector<Window>& out) const {
    for (const RunRequest& r : s.moving) {
      Window w;
      w.figures = run(c_.design, c_.spreads, hot_, warm_, with(r, s), o_.stop);
      if (w.figures.outcome != Outcome::reached_end) return trouble(w.figures);
      w.moving = true;
      w.figures.temperatures = heated(c_.design, ambient_K(), w.figures);
      keep(w, w.figures);
      w.fuse_s = fuse(w.supply_A);
      out.push_back(std::move(w));
    }
    for (const RunRequest& r : s.standing) {
      Window w;
      w.figures = stand_at(hot_, warm_, with(r, s));
      if (w.figures.outcome != Outcome::reached_end) return trouble(w.figures);
      w.figures.temperatures = heated(c_.design, ambient_K(), w.figures);
      keep(w, w.figures);
      w.fuse_s = fuse(w.supply_A);
      if (!w.fuse_s) {  // it lasts: what it heats changes it
        HeatedRun h = r.plan.stands_still() ? stand_heated(c_.design, c_.spreads, hot_, with(r, s))
                                            : run_heated(c_.design, c_.spreads, hot_, with(r, s),
                                                         o_.stop, &w.figures.temperatures);
        if (h.figures.outcome == Outcome::reached_end) w.figures = std::move(h.figures);
        keep(w, w.figures);
      }
      out.push_back(std::move(w));
    }
    return "";
  }

  static std::string trouble(const RunFigures& f) {
    return f.trouble.empty() ? "cancelled" : f.trouble;
  }

  // --- stresses ---------------------------------------------------------------------------------

  /// Beyond the limit, and not just because the sound design already is.
  std::vector<Stress> harms(const std::map<std::string, Stress>& worst) const {
    constexpr double kWorse = 1.05;
    std::vector<Stress> out;
    for (const auto& [key, s] : worst) {
      const auto was = healthy_.find(key);
      const double before = was == healthy_.end() ? 0.0 : was->second.share;
      if (s.share > 1.0 && s.share > kWorse * before) out.push_back(s);
    }
    std::stable_sort(out.begin(), out.end(),
                     [](const Stress& a, const Stress& b) { return a.share > b.share; });
    return out;
  }

  static void hottest(const std::map<std::string, Stress>& worst, FaultCase& out) {
    double most = -1e300;
    for (const auto& [key, s] : worst)
      if (s.of.what == kHeat && s.share > most)
        most = s.share, out.hottest = s.of.subject, out.peak_K = s.T_K;
  }

  // --- the production test ----------------------------------------------------------------------

  struct Observed {
    std::string state;
    double supply_A = kNotGiven, winding_A[2] = {kNotGiven, kNotGiven};
    std::vector<Stress> pins;
  };

  /// Every state of the drive and reset, at typical values, cold: a board just switched on.
  std::vector<Observed> test_currents(const Situation& s) const {
    std::vector<RunRequest> states = states_frozen(c_);
    states.push_back(held_in_reset(c_));
    std::vector<Observed> out;
    for (const RunRequest& r : states) {
      const RunFigures f = stand_at(typical(c_.spreads), {}, with(briefly(r), s));
      Observed o;
      o.state = state_name(r);
      if (f.outcome == Outcome::reached_end) {
        o.supply_A = supply_rms(f);
        o.winding_A[0] = f.winding_a.rms_A, o.winding_A[1] = f.winding_b.rms_A;
        sound().add_pins(f, false, o.pins);
      }
      out.push_back(std::move(o));
    }
    return out;
  }

  static std::vector<Stress> pins_in_test(const std::vector<Observed>& test) {
    std::vector<Stress> out;
    for (const Observed& o : test) out.insert(out.end(), o.pins.begin(), o.pins.end());
    return out;
  }

  std::string detected_by(const std::vector<Observed>& now) const {
    // What a test of sound boards must allow for. Common practice, no source.
    constexpr double kGuard = 0.05, kLeast_A = 2e-3;
    const auto differs = [&](double is, double was) {
      return std::abs(is - was) > kGuard * was + kLeast_A;
    };
    for (std::size_t k = 0; k < now.size(); ++k)
      if (differs(now[k].supply_A, tested_[k].supply_A))
        return "supply current in state " + now[k].state;
    for (std::size_t k = 0; k < now.size(); ++k)
      for (std::size_t w : {0u, 1u})
        if (differs(now[k].winding_A[w], tested_[k].winding_A[w]))
          return std::string("current of winding ") + (w == 0 ? "a" : "b") + " in state " +
                 now[k].state;
    return "latent";
  }

  // --- containing -------------------------------------------------------------------------------

  /// Where a part is burnt open, and what stands between its terminals then.
  struct Terminals {
    std::function<void(Circuit&)> remove;
    std::string from, to;
  };
  std::vector<Terminals> terminals_of(const std::string& subject) const {
    const Template& t = c_.design.wiring;
    std::vector<Terminals> out;
    const auto open = [](const std::string& ref) {
      return [ref](Circuit& c) { inject::open_part(c, ref); };
    };
    if (const Place* p = find_place(t, subject)) {
      const PartClass& k = *find_part_class(c_.design.parts.at(p->role).part_class);
      out.push_back({open(subject), p->nodes[0], p->nodes[k.terminals.size() == 3 ? 2 : 1]});
    } else if (subject == kMotor) {
      for (std::size_t w : {0u, 1u}) {
        const auto& ends = w == 0 ? t.winding_a : t.winding_b;
        out.push_back({[w](Circuit& c) { inject::open_winding(c, w); }, ends[0], ends[1]});
      }
    } else {
      for (const Pin& pin : t.pins)
        if ("pin " + pin.name == subject) out.push_back({open(pin.name), pin.node, kGround});
    }
    return out;
  }

  struct Draw {
    double watts = 0, supply_A = 0;
    bool known = false;
  };
  /// Of a resistance in the part's place.
  Draw drawn(const Situation& s, const RunRequest& r, const Terminals& at, double ohm) const {
    static const std::string kProbe = "what is left";
    RunRequest probe = briefly(r);
    probe.alter = [&](Circuit& c) {
      if (s.inject) s.inject(c);
      at.remove(c);
      inject::bridge(c, at.from, at.to, ohm, kProbe);
    };
    const RunFigures f = probe.plan.stands_still()
                             ? stand(c_.design, c_.spreads, hot_, warm_, probe)
                             : run(c_.design, c_.spreads, hot_, warm_, probe, o_.stop);
    return {checks::of(f, kProbe).loss_W, supply_rms(f), f.outcome == Outcome::reached_end};
  }

  /// A winding that is chopped knows nothing of the other: of the states that drive both, those
  /// with both one way show each direction of either.
  static bool says_nothing_new(const RunRequest& r) {
    const std::string& flow = r.plan.states.front().flow;
    return !r.plan.stands_still() && r.plan.clock_Hz == 0 && flow.find('0') == std::string::npos &&
           flow[0] != flow[1];
  }

  struct Available {
    double watts = 0;
    double short_A = 0;  // what the supply gives once the part has failed short
  };
  /// The most any resistance between these terminals can draw for longer than the fuse allows.
  Available available(const Situation& s, const Terminals& at) const {
    // From a broken-down junction to what draws nothing that heats; two a decade, then finer about
    // the best: within 3 % of the peak of a matched load.
    constexpr double kLeast_ohm = inject::kShort_ohm, kMost_ohm = 3e3, kCoarse = 3.1622776601683795;
    const double rated = c_.design.brief.supply.current_limit_A;
    Available out;
    double best_ohm = kLeast_ohm, best_W = -1.0;
    const RunRequest* best = nullptr;
    const auto look_at = [&](const RunRequest& r, double ohm) {
      const Draw d = drawn(s, r, at, ohm);
      if (!d.known) return;
      if (ohm <= kLeast_ohm) out.short_A = std::max(out.short_A, d.supply_A);
      if (given(rated) && d.supply_A >= protection_.sure_to_open() * rated) return;
      if (d.watts > best_W) best_W = d.watts, best_ohm = ohm, best = &r;
    };
    for (const RunRequest& r : s.held) {
      if (says_nothing_new(r)) continue;
      for (double ohm : {kLeast_ohm, 1.0, 100.0}) look_at(r, ohm);
    }
    if (!best) return out;
    const RunRequest& worst = *best;
    for (double ohm = kLeast_ohm * kCoarse; ohm < kMost_ohm; ohm *= kCoarse) look_at(worst, ohm);
    const double about = best_ohm;
    for (double by : {0.4, 0.5, 0.63, 0.8, 1.26, 1.6, 2.0, 2.5}) look_at(worst, about * by);
    out.watts = best_W;
    return out;
  }
  Available available(const Situation& s, const std::string& subject) const {
    Available out;
    for (const Terminals& at : terminals_of(subject)) {
      if (at.from == at.to) continue;
      const Available a = available(s, at);
      out.watts = std::max(out.watts, a.watts), out.short_A = std::max(out.short_A, a.short_A);
    }
    if (subject.starts_with("pin ")) {  // the controller's own supply feeds it too
      const double logic_V = value_of(c_.spreads, hot_, "controller.logic_voltage");
      out.watts = std::max(out.watts,
                           square(logic_V) / (4.0 * c_.design.brief.controller.pin_resistance_ohm));
    }
    return out;
  }

  /// Watts and what contains them: of everything harmed, or of the hottest part should it fail.
  void contain(const Situation& s, const std::vector<Window>& windows,
               const std::vector<Stress>& harmed, FaultCase& out) const {
    // The most stressed ones stand for the rest: of eight switches that burn the third tells no
    // more than the first two.
    constexpr std::size_t kMost = 3;
    std::vector<std::string> subjects;
    for (const Stress& h : harmed)
      if ((subjects.size() < kMost || h.of.subject == kLeads) &&
          std::find(subjects.begin(), subjects.end(), h.of.subject) == subjects.end())
        subjects.push_back(h.of.subject);
    if (subjects.empty()) subjects.push_back(out.hottest);
    double least_short_A = 1e300;  // of what supplies could be asked to feed once it is a short
    for (const std::string& subject : subjects) {
      Available a;
      if (subject == kLeads)
        a = {square(out.supply_A) * c_.design.brief.supply.resistance_ohm, out.supply_A};
      else if (!s.driven_by_hand)
        a = available(s, subject);
      // What it turns into heat as things are, before it breaks, for as long as that lasts.
      for (const Window& w : windows)
        if (const auto loss = w.loss_W.find(subject);
            loss != w.loss_W.end() && !(w.fuse_s && *w.fuse_s <= kInTime_s))
          a.watts = std::max(a.watts, loss->second);
      constexpr double kNothing_W = 1e-6;
      if (a.watts < kNothing_W) a.watts = 0;
      out.available_W = std::max(out.available_W, a.watts);
      if (a.watts >= kLittlePower_W) least_short_A = std::min(least_short_A, a.short_A);
    }
    if (harmed.empty()) return;
    if (out.available_W >= kLittlePower_W && !(out.fuse_s <= kInTime_s))
      if (const auto opens = fuse(least_short_A)) out.fuse_s = *opens;
    if (out.fuse_s <= kInTime_s)
      out.contain = Containment::fuse_in_place, out.contain_value = out.fuse_s;
    else if (out.available_W < kLittlePower_W)
      out.contain = Containment::little_power, out.contain_value = out.available_W;
    else
      remedy(least_short_A, out);
  }

  /// The greatest fuse that opens in time on the destroyed part, or lets too little through; if it
  /// carries the sound motor.
  void remedy(double short_A, FaultCase& out) const {
    const double most_A = std::max(short_A / protection_.opening_within(kInTime_s),
                                   kLittlePower_W / supply_V() / protection_.sure_to_open());
    if (most_A > supply_A_) {
      out.contain = Containment::smaller_fuse, out.contain_value = most_A;
    } else {
      out.contain = Containment::limited_supply, out.contain_value = kLittlePower_W;
    }
  }

  const FaultsOptions& o_;
  Case c_;
  Protection protection_;
  Point hot_;
  Temperatures warm_;  // of the sound design
  int steps_made_ = 0;
  double supply_A_ = 0;
  std::vector<Observed> tested_;
  std::map<std::string, Stress> healthy_;
};

}  // namespace

FaultsResult single_faults(const Design& design, const FaultsOptions& options) {
  return Judge(design, options).all();
}

}  // namespace pb
