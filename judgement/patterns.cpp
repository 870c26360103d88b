// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/patterns.h"

#include <algorithm>
#include <set>

#include "base/check.h"
#include "physics/canonical.h"
#include "physics/decay.h"

namespace pb {
namespace {

using namespace physics;

/// Sets of nodes that hang together.
class Islands {
 public:
  std::string root(const std::string& node) {
    const auto up = up_.find(node);
    return up == up_.end() || up->second == node ? node : up->second = root(up->second);
  }
  void join(const std::string& a, const std::string& b) { up_[root(a)] = root(b); }

 private:
  std::map<std::string, std::string> up_;
};

bool is_supply(const std::string& node) {
  return node == kGround || node == kRail || node == kLogic;
}

/// Every set of the listed pins already at their new level, the others at their old one.
void any_order(const std::string& from, const std::string& to, const std::vector<std::size_t>& pins,
               std::set<std::string>& out) {
  for (std::size_t bits = 0; bits < (std::size_t{1} << pins.size()); ++bits) {
    std::string now = from;
    for (std::size_t k = 0; k < pins.size(); ++k)
      if ((bits >> k) & 1U) now[pins[k]] = to[pins[k]];
    out.insert(now);
  }
}

/// From one state to the next.
void pass(const Template& t, const PinGroup& g, const std::string& from, const std::string& to,
          std::set<std::string>& out) {
  std::vector<std::size_t> first, later;
  std::string between = from;
  for (std::size_t k = 0; k < g.pins.size(); ++k) {
    if (from[k] == to[k]) continue;
    const char off = t.pins[g.pins[k]].off;
    if (off == '-' || to[k] == off) {
      first.push_back(k);
      between[k] = to[k];
    } else {
      later.push_back(k);
    }
  }
  any_order(from, to, first, out);
  any_order(between, to, later, out);
}

/// Current through each leg at the end of standing at these levels.
std::map<std::string, double> held(const Case& c, const Point& p, const Temperatures& t,
                                   const std::string& levels, double tolerance,
                                   const StopToken& stop) {
  RunRequest r = standing_request(c, {}, 1e-3, tolerance);
  stand_at(r.plan, levels);
  RunFigures f = stand(c.design, c.spreads, p, t, r);
  if (f.outcome != Outcome::reached_end) f = run(c.design, c.spreads, p, t, r, stop);
  return f.outcome == Outcome::reached_end ? f.leg_settled_cross_A
                                           : std::map<std::string, double>{};
}

void put(std::string& levels, const PinGroup& g, const std::string& pattern) {
  for (std::size_t k = 0; k < g.pins.size(); ++k) levels[g.pins[k]] = pattern[k];
}

}  // namespace

std::string levels_of(const Template& t, const PinGroup& g, const PlannedState& s) {
  std::string out;
  for (std::size_t pin : g.pins) {
    const char level = s.levels[pin], off = t.pins[pin].off;
    out += level != 'z' ? level : off == '-' ? '0' : off;
  }
  return out;
}

std::string bits_of(std::size_t number, std::size_t count) {
  std::string out;
  for (std::size_t k = 0; k < count; ++k) out += ((number >> k) & 1U) ? '1' : '0';
  return out;
}

std::vector<PinGroup> pin_groups(const Design& d) {
  Islands islands;
  for (const Place& p : d.wiring.places) {
    if (!d.parts.contains(p.role)) continue;
    std::string last;
    for (const std::string& n : p.nodes) {
      if (is_supply(n)) continue;
      if (!last.empty()) islands.join(last, n);
      last = n;
    }
  }
  // Which patterns are held together follows the order of the groups and of their pins, so neither
  // may come from names or from the file.
  std::vector<std::string> roots;
  std::map<std::string, PinGroup> groups;
  for (std::size_t k : canonical_order(d).pins) {
    const std::string root = islands.root(d.wiring.pins[k].node);
    if (groups[root].pins.empty()) roots.push_back(root);
    groups[root].pins.push_back(k);
  }
  for (const Leg& l : d.wiring.legs) groups[islands.root(l.output)].outputs.push_back(l.output);
  std::vector<PinGroup> out;
  for (const std::string& root : roots)
    if (PinGroup& g = groups[root]; !g.outputs.empty()) out.push_back(std::move(g));
  return out;
}

std::vector<std::string> passed_patterns(const Design& d, const PinGroup& g) {
  std::vector<std::string> states;
  const auto add = [&](const std::string& flow) {
    PlannedState s;
    if (find_state(d.wiring, flow, s)) states.push_back(levels_of(d.wiring, g, s));
  };
  for (const std::string& flow : flows_of(d.settings.sequence)) add(flow);
  std::set<std::string> out(states.begin(), states.end());
  const std::size_t moving = states.size();
  for (std::size_t k = 0; k < moving; ++k)
    pass(d.wiring, g, states[k], states[(k + 1) % moving], out);
  if (regulated(d.brief)) {  // one winding after the other is driven or decays
    const auto flows = flows_of(d.settings.sequence);
    for (std::size_t k = 0; k < flows.size(); ++k) {
      const std::string relaxed = relaxed_flow(flows[k], d.settings.decay);
      for (const std::string& flow :
           {relaxed, std::string{relaxed[0], flows[k][1]}, std::string{flows[k][0], relaxed[1]}})
        add(flow);
      if (d.settings.decay == "mixed") {  // fast first
        const std::string fast = relaxed_flow(flows[k], "fast");
        for (const std::string& flow :
             {fast, std::string{fast[0], flows[k][1]}, std::string{flows[k][0], fast[1]}})
          add(flow);
      }
    }
  }
  // Stopping and starting again, from and to any state.
  if (d.brief.motion.hold == "off") {
    if (d.settings.stop == "brake") add("bb");
    add("00");
  }
  out.insert(states.begin(), states.end());
  for (std::size_t rest = moving; rest < states.size(); ++rest)
    for (std::size_t k = 0; k < rest; ++k) {
      pass(d.wiring, g, states[k], states[rest], out);
      pass(d.wiring, g, states[rest], states[k], out);
    }
  return {out.begin(), out.end()};
}

std::map<std::string, LegPatterns> leg_patterns(const Case& c, const Point& p,
                                                const Temperatures& t, double tolerance,
                                                const StopToken& stop) {
  // Beyond this only what the program passes through is looked at.
  constexpr std::size_t kMostPins = 8;
  const std::vector<PinGroup> groups = pin_groups(c.design);
  std::vector<std::vector<std::string>> patterns;
  std::vector<std::set<std::string>> passed;
  std::size_t most = 0;
  for (const PinGroup& g : groups) {
    const auto through = passed_patterns(c.design, g);
    passed.emplace_back(through.begin(), through.end());
    std::vector<std::string> list;
    if (g.pins.size() > kMostPins)
      list = through;
    else
      for (std::size_t n = 0; n < (std::size_t{1} << g.pins.size()); ++n)
        list.push_back(bits_of(n, g.pins.size()));
    most = std::max(most, list.size());
    patterns.push_back(std::move(list));
  }
  PlannedState rest;
  PB_CHECK(find_state(c.design.wiring, c.hold_flow, rest), c.hold_flow);
  std::map<std::string, LegPatterns> out;
  for (std::size_t n = 0; n < most; ++n) {
    // All groups at once tells which of them conduct through; how much each does is asked again
    // with the others in a state of the drive, so that they do not share one source.
    std::string levels = rest.levels;
    for (std::size_t g = 0; g < groups.size(); ++g)
      put(levels, groups[g], patterns[g][n % patterns[g].size()]);
    const auto together = held(c, p, t, levels, tolerance, stop);
    for (std::size_t g = 0; g < groups.size() && !stop.stop_requested(); ++g) {
      if (n >= patterns[g].size()) continue;
      const std::string& pattern = patterns[g][n];
      auto cross = together;
      const auto through = [&](const std::string& o) {
        return cross.contains(o) ? cross.at(o) : 0.0;
      };
      if (std::any_of(groups[g].outputs.begin(), groups[g].outputs.end(),
                      [&](const std::string& o) { return through(o) > kStandingCross_A; })) {
        levels = rest.levels;
        put(levels, groups[g], pattern);
        cross = held(c, p, t, levels, tolerance, stop);
      }
      for (const std::string& o : groups[g].outputs) {
        LegPatterns& leg = out[o];
        const bool goes_through = passed[g].contains(pattern);
        ++leg.patterns;
        leg.passed += goes_through;
        leg.shorting += through(o) > kStandingCross_A;
        leg.unknown = leg.unknown || !cross.contains(o);
        leg.worst_A = std::max(leg.worst_A, through(o));
        if (goes_through) leg.worst_passed_A = std::max(leg.worst_passed_A, through(o));
      }
    }
  }
  return out;
}

}  // namespace pb
