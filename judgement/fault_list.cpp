// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/fault_list.h"

#include <algorithm>
#include <cmath>
#include <set>

#include "base/check.h"
#include "base/math.h"
#include "base/text.h"
#include "judgement/fault_inject.h"
#include "judgement/patterns.h"

namespace pb {
namespace {

using namespace physics;

constexpr double kStand_s = 0.02;
/// Of a chip that chops, by every edge: its currents rise within a millisecond or two, and the last
/// tenth is some cycles.
constexpr double kChop_s = 4e-3;
/// The same where many runs are made to compare or to seek a most: a regulated current is there in
/// a fraction of it, and the last tenth is four cycles.
constexpr double kBriefly_s = 1e-3;
/// Four electrical cycles of full steps: two to settle, two to look at. Faster than a whole move.
constexpr int kSteps = 16;

class Lister {
 public:
  explicit Lister(const Case& c) : c_(c), d_(c.design), held_(states_frozen(c)) {}

  std::vector<Situation> all() {
    parts();
    pins();
    motor();
    leads();
    program();
    patterns();
    supplies();
    return std::move(out_);
  }

 private:
  /// A fault that is there while the motor moves, rests and starts again.
  void defect(const std::string& part, const std::string& fault,
              std::function<void(Circuit&)> inject) {
    Situation s;
    s.part = part, s.fault = fault, s.inject = std::move(inject), s.defect = true;
    s.moving = {move()};
    s.standing = {at_rest(), held_in_reset(c_)};
    s.held = held_;
    out_.push_back(std::move(s));
  }

  Situation& situation(const std::string& part, const std::string& fault, Unharmed unharmed) {
    out_.emplace_back();
    out_.back().part = part, out_.back().fault = fault, out_.back().unharmed = unharmed;
    return out_.back();
  }

  void parts() {
    for (const Place& p : d_.wiring.places) {
      const auto part = d_.parts.find(p.role);
      if (part == d_.parts.end()) continue;
      const PartClass& k = *find_part_class(part->second.part_class);
      opens(p, k);
      if (is_driver_chip(k))
        chip_shorts(p, k);
      else
        shorts(p, k);
    }
  }

  bool is_mosfet(const Place& p) const {
    const auto part = d_.parts.find(p.role);
    return part != d_.parts.end() &&
           (part->second.part_class == "n-mosfet" || part->second.part_class == "p-mosfet");
  }

  void opens(const Place& p, const PartClass& k) {
    const auto open = [ref = p.ref](Circuit& c) { inject::open_part(c, ref); };
    std::string gate;
    if (k.name == "resistor")
      for (const std::string& n : p.nodes)
        if (only_gates(n, p)) gate = n;
    if (gate.empty()) {
      defect(p.ref, "open", open);
    } else {  // what was last written stays there, or the other level: nobody knows
      for (const std::string& level : {std::string(kGround), high_level(gate)})
        defect(p.ref, level == kGround ? "open, gate left low" : "open, gate left high",
               [open, gate, level](Circuit& c) {
                 open(c);
                 inject::bridge(c, gate, level, inject::kLeak_ohm, "leakage");
               });
    }
    if (!is_mosfet(p)) return;
    const bool p_channel = k.name == "p-mosfet";
    const std::string on = p_channel ? kGround : kLogic, off = p.nodes[2];
    defect(p.ref, "gate open, left on",
           [ref = p.ref, on](Circuit& c) { inject::lift_gate(c, ref, on); });
    defect(p.ref, "gate open, left off",
           [ref = p.ref, off](Circuit& c) { inject::lift_gate(c, ref, off); });
  }

  /// Whether nothing but gates hangs on the node beside this resistor.
  bool only_gates(const std::string& node, const Place& resistor) const {
    if (node == kGround || node == kRail || node == kLogic) return false;
    for (const Pin& pin : d_.wiring.pins)
      if (pin.node == node) return false;
    bool any = false;
    for (const Place& p : d_.wiring.places) {
      if (p.ref == resistor.ref || !d_.parts.contains(p.role)) continue;
      for (std::size_t t = 0; t < p.nodes.size(); ++t)
        if (p.nodes[t] == node) {
          if (!is_mosfet(p) || t != 1) return false;
          any = true;
        }
    }
    return any;
  }
  /// The rail where a P channel hangs on the gate, else the logic's.
  std::string high_level(const std::string& gate) const {
    for (const Place& p : d_.wiring.places)
      if (is_mosfet(p) && p.nodes[1] == gate && d_.parts.at(p.role).part_class == "p-mosfet")
        return kRail;
    return kLogic;
  }

  void short_of(const Place& p, const PartClass& k, std::size_t a, std::size_t b) {
    if (p.nodes[a] == p.nodes[b]) return;
    const std::string name = k.terminals.size() == 2 ? "short"
                                                     : std::string(k.terminals[a]) + "-" +
                                                           std::string(k.terminals[b]) + " short";
    defect(p.ref, name, [ref = p.ref, from = p.nodes[a], to = p.nodes[b]](Circuit& c) {
      inject::bridge(c, from, to, inject::kShort_ohm, ref);
    });
  }

  void shorts(const Place& p, const PartClass& k) {
    for (std::size_t a = 0; a < p.nodes.size(); ++a)
      for (std::size_t b = a + 1; b < p.nodes.size(); ++b) short_of(p, k, a, b);
  }

  /// Supply to ground, and every output to either: terminals are supply, ground, inputs, outputs.
  void chip_shorts(const Place& p, const PartClass& k) {
    short_of(p, k, 0, 1);
    for (std::size_t out = 2 + k.inputs.size(); out < p.nodes.size(); ++out)
      for (std::size_t to : {0u, 1u}) short_of(p, k, out, to);
  }

  void pins() {
    using inject::Stuck;
    struct Row {
      const char* fault;
      Stuck at;
    };
    constexpr Row kRows[] = {
        {"stuck high", Stuck::high}, {"stuck low", Stuck::low}, {"floating", Stuck::floating}};
    const double driven_S = 1.0 / d_.brief.controller.pin_resistance_ohm;
    for (const Pin& p : d_.wiring.pins)
      for (const Row& row : kRows)
        defect("pin " + p.name, row.fault, [name = p.name, at = row.at, driven_S](Circuit& c) {
          inject::stick_pin(c, name, at, driven_S);
        });
  }

  void motor() {
    const Template& t = d_.wiring;
    const std::vector<std::string>* ends[] = {&t.winding_a, &t.winding_b};
    for (std::size_t w : {0u, 1u}) {
      const std::string name = w == 0 ? "winding a" : "winding b";
      defect(name, "open", [w](Circuit& c) { inject::open_winding(c, w); });
      defect(name, "short", [from = (*ends[w])[0], to = (*ends[w])[1]](Circuit& c) {
        inject::bridge(c, from, to, inject::kShort_ohm, "motor short");
      });
    }
    defect("motor", "unplugged", [](Circuit& c) {
      for (std::size_t w : {0u, 1u}) inject::open_winding(c, w);
    });
    defect("motor", "one winding reversed", [](Circuit& c) { inject::turn_winding(c, 0); });
    defect("motor", "leads in order ABAB", inject::cross_windings);
  }

  void leads() {
    std::set<std::string> seen;
    for (const auto* w : {&d_.wiring.winding_a, &d_.wiring.winding_b})
      for (const std::string& node : *w) {
        if (!seen.insert(node).second) continue;
        for (const char* to : {kGround, kRail})
          defect("lead " + node, to == kRail ? "to supply" : "to ground", [node, to](Circuit& c) {
            if (node != to) inject::bridge(c, node, to, inject::kShort_ohm, "lead");
          });
      }
  }

  void program() {
    for (const RunRequest& r : held_) {
      const std::string& flow = r.plan.states.front().flow;
      const bool off = flow.find_first_of("+-") == std::string::npos;
      Situation& s = situation("program",
                               "frozen in state " + (flow == "00"   ? "off"
                                                     : flow == "bb" ? "brake"
                                                                    : flow),
                               off ? Unharmed::works_on : Unharmed::stops);
      s.standing = s.held = {r};
    }
    reset_between();
    Situation& stall = situation("rotor", "held by an end stop", Unharmed::stops);
    RunRequest r = move();
    if (given(d_.brief.load.end_stop_rad)) {  // met half way at the latest
      const double half_rad = 0.5 * (r.plan.moving_states - 1) / r.plan.per_step * 0.5 * kPi /
                              rotor_teeth(d_.brief.motor);
      stall.inject = [half_rad](Circuit& c) {
        c.end_stop->angle_rad = std::min(c.end_stop->angle_rad, c.theta0_rad + half_rad);
      };
    } else {
      r.plan.rotor_locked = true;
    }
    stall.moving = {r}, stall.held = held_;
    by_hand();
  }

  /// Pins that parts connect, held for ever at levels that no state of the drive gives them: what a
  /// program that went astray may write. The others stand as in the hold. (A group of more pins
  /// than these has each of them stuck, above.)
  void patterns() {
    constexpr std::size_t kMostPins = 4;
    PlannedState rest;
    PB_CHECK(find_state(d_.wiring, c_.hold_flow, rest), c_.hold_flow);
    for (const PinGroup& g : pin_groups(d_)) {
      if (g.pins.size() > kMostPins) continue;
      std::set<std::string> known;
      for (const RunRequest& r : held_)
        known.insert(levels_of(d_.wiring, g, r.plan.states.front()));
      for (std::size_t n = 0; n < (std::size_t{1} << g.pins.size()); ++n)
        if (const std::string pattern = bits_of(n, g.pins.size()); !known.contains(pattern))
          held_at(g, pattern, rest.levels);
    }
  }

  void held_at(const PinGroup& g, const std::string& pattern, std::string levels) {
    std::vector<std::string> names;
    for (std::size_t k = 0; k < g.pins.size(); ++k) {
      names.push_back(d_.wiring.pins[g.pins[k]].name);
      levels[g.pins[k]] = pattern[k];
    }
    Situation& s = situation("pins " + join(names, ", "), "held at " + pattern, Unharmed::stops);
    RunRequest r = standing_request(c_, {}, kStand_s, 1.0);
    stand_at(r.plan, levels);
    s.standing = s.held = {r};
  }

  /// Half way through the last state of the move.
  void reset_between() {
    RunRequest r = move();
    const std::size_t last = static_cast<std::size_t>(r.plan.moving_states) - 1;
    const double t_s = mix(r.plan.states[last - 1].t_s, r.plan.states[last].t_s, 0.5);
    const ControllerBrief& k = d_.brief.controller;
    const double pull_S = k.reset == "floating" ? 1e-8 : 1.0 / k.reset_pull_resistance_ohm;
    const double level_V = k.reset == "pull-up" ? k.logic_voltage_V : 0.0;
    Situation& s = situation("program", "reset within a step", Unharmed::works_on);
    s.inject = [t_s, level_V, pull_S](Circuit& c) { inject::reset_pins(c, t_s, level_V, pull_S); };
    s.moving = {r};
    s.standing = s.held = {held_in_reset(c_)};
  }

  void by_hand() {
    Situation& s = situation("rotor", "turned by hand, no supply", Unharmed::works_on);
    constexpr int kCycles = 12;
    const double cycle_s = 1.0 / (rotor_teeth(d_.brief.motor) * kByHand_rev_s);
    RunRequest r = standing_request(c_, {}, kStand_s + kCycles * cycle_s, 1.0);
    r.power.rail = r.power.logic = false;
    r.outside_power = true;
    s.inject = [](Circuit& c) {
      inject::unplug_supply(c);
      inject::turn_rotor(c, 2.0 * kPi * kByHand_rev_s);
    };
    s.driven_by_hand = true;
    s.moving = {r};
  }

  void supplies() {
    // The second one comes when the first has settled.
    constexpr double kLater_s = 5e-3;
    const RunRequest reset = held_in_reset(c_);
    const auto ordered = [&](const char* fault, bool rail_first) {
      Situation& s = situation("supplies", fault, Unharmed::works_on);
      RunRequest both = reset, one = reset;
      (rail_first ? both.power.logic_at_s : both.power.rail_at_s) = kLater_s;
      both.plan.settle_s += kLater_s;
      (rail_first ? one.power.logic : one.power.rail) = false;
      s.moving = {both}, s.standing = {one, reset}, s.held = {one, reset};
    };
    ordered("motor supply before logic", true);
    ordered("logic before motor supply", false);

    Situation& plug = situation("supplies", "plugged in hot", Unharmed::works_on);
    RunRequest fast = reset;
    fast.power.rail_rise_s = 1e-6;
    plug.moving = {fast}, plug.standing = plug.held = {reset};

    Situation& reversed = situation("supplies", "motor supply reversed", Unharmed::stops);
    reversed.inject = inject::reverse_supply;
    reversed.standing = reversed.held = {reset};
  }

  RunRequest move() const {
    RunRequest r;
    DriveTable table = drive_table(d_, d_.settings.sequence, c_.dead_time_s);
    if (c_.drive_edit) c_.drive_edit(table);
    r.plan = plan_move(d_, table, measures_current(d_.brief) ? kMeasuredSteps : kSteps);
    return r;
  }

  /// As the brief leaves the motor between moves.
  RunRequest at_rest() const {
    const RunRequest& last = held_.back();
    const bool off = last.plan.states.front().flow.find_first_of("+-") == std::string::npos;
    return d_.brief.motion.hold == "off" && off ? last : standing_request(c_, {}, kStand_s, 1.0);
  }

  const Case& c_;
  const Design& d_;
  std::vector<RunRequest> held_;
  std::vector<Situation> out_;
};

}  // namespace

namespace {

/// The pins frozen in a state, the analog outputs where the move has them highest.
RunRequest frozen(const Case& c, const std::string& flow) {
  const bool flows = flow.find_first_of("+-") != std::string::npos;
  DriveTable table = standing_table(c.design, flow, c.dead_time_s);
  double stand_s = kStand_s;
  if (flows && chops_by_itself(c.design)) {
    const DriveTable moving = drive_table(c.design, c.design.settings.sequence, c.dead_time_s);
    const auto most = [](const std::vector<std::uint16_t>& list) {
      return std::vector{*std::max_element(list.begin(), list.end())};
    };
    table.reference_a = most(moving.reference_a), table.reference_b = most(moving.reference_b);
    table.c.reference.hold_256ths = 256;
    stand_s = kChop_s;
  }
  RunRequest r;
  r.plan = plan_hold(c.design, table, stand_s);
  return r;
}

}  // namespace

bool chops_by_itself(const Design& d) {
  return measures_current(d.brief) && d.wiring.measures.front().reached.empty();
}

RunRequest briefly(RunRequest r) {
  if (!r.plan.stands_still() && r.plan.moving_states <= 1)
    r.plan.end_s = std::min(r.plan.end_s, kBriefly_s);
  return r;
}

std::vector<RunRequest> states_frozen(const Case& c) {
  std::vector<RunRequest> out = states_held(c);
  for (RunRequest& r : out) r = frozen(c, r.plan.states.front().flow);
  return out;
}

std::vector<RunRequest> states_held(const Case& c) {
  std::vector<std::string> flows = flows_of(c.design.settings.sequence);
  flows.insert(flows.end(), {"bb", "00"});
  std::vector<RunRequest> out;
  for (const std::string& flow : flows) {
    PlannedState found;
    if (!find_state(c.design.wiring, flow, found)) continue;
    RunRequest r;
    r.plan = plan_hold(c.design, standing_table(c.design, flow, c.dead_time_s), kStand_s);
    out.push_back(std::move(r));
  }
  return out;
}

RunRequest held_in_reset(const Case& c) {
  RunRequest r = standing_request(c, {}, kStand_s, 1.0);
  r.power.in_reset = true;
  return r;
}

std::vector<Situation> situations_of(const Case& c) { return Lister(c).all(); }

}  // namespace pb
