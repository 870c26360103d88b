// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "physics/chopping.h"

#include <algorithm>

namespace pb::physics {
namespace {

using Mode = ChopperLatch::Mode;

const std::string& levels_of(const ChoppedState& s, Mode mode) {
  if (!s.chops || mode == Mode::driven || mode == Mode::idle) return s.driven;
  return mode == Mode::fast ? s.fast : s.slow;
}

}  // namespace

Chopping::Chopping(System& system, double t0_s) : system_(system), now_s_(t0_s) {
  for (const ChopperElement& e : system.circuit().choppers) {
    One c{.element = &e, .latch = ChopperLatch(e.law)};
    if (e.bridge >= 0) c.latch.drive(t0_s);
    c.at = c.wanted = std::string(e.pins.pins.size(), 'z');
    c.since_s = t0_s;
    choppers_.push_back(std::move(c));
  }
}

void Chopping::begin_driven(double t_s) {
  now_s_ = t_s;
  for (One& c : choppers_) {
    const ChoppedPins& p = c.element->pins;
    while (c.state < p.states.size() && p.states[c.state].t_s <= t_s) ++c.state;
    c.since_s = t_s;
    if (c.state > 0) {
      const ChoppedState& at = p.states[c.state - 1];
      c.begun = true;
      c.at = c.wanted = at.driven;
      at.chops ? c.latch.drive(t_s) : c.latch.rest();
      for (std::size_t k = 0; k < p.pins.size(); ++k) set_pin(c, k, t_s - p.edge_s);
    } else if (c.element->bridge >= 0) {
      c.latch.drive(t_s);
      system_.steer_bridge(c.element->bridge, t_s - c.element->bridge_edge_s, t_s, 0.0, 0.0);
    }
    keep_pace(c, t_s);
  }
}

/// What has just come to be driven, and does not ask its comparator.
void Chopping::keep_pace(One& c, double t_s) {
  if (!c.element->pace || c.latch.mode() != Mode::driven) return;
  c.latch.decay_at(t_s + (c.paced ? c.element->pace->on_s : c.element->pace->first_s));
  c.paced = true;
}

double Chopping::next_of(const One& c) const {
  double next = std::min(c.latch.next_s(), c.turns_on_s);
  if (c.ramp_to_s > now_s_) next = std::min(next, c.ramp_to_s);
  if (c.latch.watches_s() > now_s_) next = std::min(next, c.latch.watches_s());
  const ChoppedPins& p = c.element->pins;
  if (c.state < p.states.size()) next = std::min(next, std::max(p.states[c.state].t_s, p.from_s));
  return next;
}

double Chopping::next_s() const {
  double next = kNever_s;
  for (const One& c : choppers_) next = std::min(next, next_of(c));
  return next;
}

/// Peaks are read where steps end: an edge is at least ten of them.
double Chopping::longest_step_s() const {
  constexpr double kShare = 0.1, kFinest_s = 1e-9;
  double longest = kNever_s;
  for (const One& c : choppers_)
    if (c.ramp_to_s > now_s_)
      longest = std::min(longest, std::max(kShare * (c.ramp_to_s - c.ramp_from_s), kFinest_s));
  return longest;
}

double Chopping::excess_V(const One& c, const std::vector<double>& x) const {
  const ChopperElement& e = *c.element;
  return system_.node_voltage(x, e.sense) - system_.node_voltage(x, e.reference) / e.ratio -
         e.offset_V;
}

double Chopping::signal(std::size_t k, const std::vector<double>& x) const {
  constexpr double kNothing_V = -1e3;
  const One& c = choppers_[k];
  return c.latch.watches_s() <= now_s_ ? excess_V(c, x) : kNothing_V;
}

bool Chopping::respond(double t_s, const std::vector<double>& x,
                       const std::vector<std::size_t>& rose) {
  now_s_ = t_s;
  for (const std::size_t k : rose) choppers_[k].latch.cross(t_s);
  bool corner = false;
  for (One& c : choppers_) corner = advance(c, t_s, x) || corner;
  return corner;
}

/// Everything that is due. True: sources have a corner here.
bool Chopping::advance(One& c, double t_s, const std::vector<double>& x) {
  bool corner = c.ramp_to_s == t_s;
  // What is above the reference when it first counts.
  if (c.latch.watches_s() <= t_s && excess_V(c, x) >= 0.0) c.latch.cross(t_s);
  while (c.latch.next_s() <= t_s) {
    end_stretch(c, t_s, x);
    if (c.latch.mode() == Mode::driven) ++trips;
    c.latch.pass();
    keep_pace(c, t_s);
    corner = apply(c, t_s) || corner;
  }
  const ChoppedPins& p = c.element->pins;
  while (c.state < p.states.size() && std::max(p.states[c.state].t_s, p.from_s) <= t_s)
    corner = next_state(c, t_s, x) || corner;
  if (c.turns_on_s <= t_s) corner = steer_pins(c, t_s) || corner;
  return corner;
}

/// The winding is asked for something else, or for the same again: then its latch goes on.
bool Chopping::next_state(One& c, double t_s, const std::vector<double>& x) {
  const std::vector<ChoppedState>& all = c.element->pins.states;
  const std::size_t k = c.state++;
  if (c.state < all.size() && std::max(all[c.state].t_s, c.element->pins.from_s) <= t_s)
    return false;  // while supplies rise several may have passed; the last counts
  const bool same =
      c.begun && all[k].driven == all[k - 1].driven && all[k].chops == all[k - 1].chops;
  if (same) return false;
  c.begun = true;
  end_stretch(c, t_s, x);
  if (all[k].chops)
    c.latch.drive(std::max(t_s, c.turned_off_s + c.element->pins.dead_s));
  else
    c.latch.rest();
  keep_pace(c, t_s);
  return apply(c, t_s);
}

void Chopping::end_stretch(One& c, double t_s, const std::vector<double>& x) const {
  if (on_stretch && c.latch.mode() != Mode::idle)
    on_stretch({c.element, c.latch.mode(), c.since_s, t_s}, x);
  c.since_s = t_s;
}

bool Chopping::apply(One& c, double t_s) {
  if (c.element->bridge >= 0) {
    steer_bridge(c, t_s);
    return true;
  }
  if (c.state == 0) return false;
  c.wanted = levels_of(c.element->pins.states[c.state - 1], c.latch.mode());
  return steer_pins(c, t_s);
}

/// Pins go at once to the levels that turn switches off; to others when the dead time since the
/// last of those is over.
bool Chopping::steer_pins(One& c, double t_s) {
  const ChoppedPins& p = c.element->pins;
  bool steered = false;
  const auto turns_off = [&](std::size_t k) { return c.wanted[k] == p.off[k]; };
  for (std::size_t k = 0; k < p.pins.size(); ++k)
    if (c.at[k] != c.wanted[k] && turns_off(k)) {
      turn(c, k, t_s);
      c.turned_off_s = t_s;
      steered = true;
    }
  c.turns_on_s = kNever_s;
  const double allowed_s = c.turned_off_s + p.dead_s;
  for (std::size_t k = 0; k < p.pins.size(); ++k) {
    if (c.at[k] == c.wanted[k]) continue;
    if (t_s < allowed_s && p.off[k] != '-') {
      c.turns_on_s = allowed_s;
    } else {
      turn(c, k, t_s);
      steered = true;
    }
  }
  return steered;
}

void Chopping::turn(One& c, std::size_t pin, double t_s) {
  c.at[pin] = c.wanted[pin];
  set_pin(c, pin, t_s);
  c.ramp_from_s = t_s, c.ramp_to_s = t_s + c.element->pins.edge_s;
}

void Chopping::set_pin(const One& c, std::size_t pin, double t_s) {
  const ChoppedPins& p = c.element->pins;
  const char level = c.at[pin];
  system_.steer_pin(p.pins[pin], t_s, t_s + p.edge_s, level == '1' ? p.high_V : 0.0,
                    level == 'z' ? p.floating_S : p.driven_S);
}

void Chopping::steer_bridge(One& c, double t_s) {
  const Mode m = c.latch.mode();
  c.ramp_from_s = t_s, c.ramp_to_s = t_s + c.element->bridge_edge_s;
  system_.steer_bridge(c.element->bridge, t_s, c.ramp_to_s, m == Mode::slow ? 1.0 : 0.0,
                       m == Mode::fast ? 1.0 : 0.0);
}

}  // namespace pb::physics
