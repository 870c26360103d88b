// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The drive of a scene as a list of pin edges. See scene.h for the rules.

#include "tests/ref/scene_drive.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

namespace pb::ref {
namespace {

bool is_n(int pin) { return pin % 2 == 1; }

/// Whether drive state `state` uses switch `pin`: two phases on, (A,B) = ++ -+ -- +-.
bool in_use(long state, int pin) {
  constexpr std::array<bool, 4> a_plus = {true, false, false, true};
  constexpr std::array<bool, 4> b_plus = {true, true, false, false};
  const int leg = pin / 2;
  const bool plus = leg < 2 ? a_plus[state % 4] : b_plus[state % 4];
  const bool first_leg = leg % 2 == 0;
  const bool leg_is_high = plus == first_leg;
  return leg_is_high != is_n(pin);
}

/// What a pin does within one drive state, from begin_s up to end_s.
struct Span {
  double begin_s, end_s;
  double wait_s;  // until it may come on; 0 where it was on before
  bool goes_off;  // at end_s
};

void plain_edges(int pin, const Span& span, std::vector<PinEdge>& out) {
  if (span.wait_s > 0.0) out.push_back({span.begin_s + span.wait_s, pin, true});
  if (span.goes_off) out.push_back({span.end_s, pin, false});
}

void chopped_edges(const Scene& s, int pin, const Span& span, std::vector<PinEdge>& out) {
  const double period_s = 1.0 / s.pwm_Hz;
  // Half a nanosecond of slack: the ends of states are whole periods up to rounding.
  const double slack_s = 5e-10;
  for (long j = std::lround(std::floor((span.begin_s + slack_s) / period_s));; ++j) {
    const double start_s = j * period_s;
    if (start_s > span.end_s - slack_s) return;
    const double on_s = std::max(start_s, span.begin_s + span.wait_s);
    const double off_s = std::min(start_s + s.pwm_duty * period_s, span.end_s);
    if (off_s <= on_s) continue;
    if (on_s > 0.0) out.push_back({on_s, pin, true});  // at 0 the pin has been on for ever
    out.push_back({off_s, pin, false});
  }
}

void pin_edges(const Scene& s, int pin, std::vector<PinEdge>& out) {
  const double stop_s = s.all_off_s >= 0.0 ? s.all_off_s : 2.0 * s.end_s;
  for (long k = 0; k * s.step_s < std::min(s.end_s, stop_s); ++k) {
    if (!in_use(k, pin)) continue;
    const double next_s = (k + 1) * s.step_s;
    const bool coast = s.coast_s > 0.0;
    const Span span{.begin_s = k * s.step_s,
                    .end_s = std::min(next_s, stop_s),
                    .wait_s = k == 0               ? 0.0
                              : coast              ? s.coast_s
                              : in_use(k - 1, pin) ? 0.0
                                                   : s.dead_s,
                    .goes_off = coast || !in_use(k + 1, pin) || stop_s < next_s};
    if (is_n(pin) && s.pwm_Hz > 0.0) {
      chopped_edges(s, pin, span, out);
    } else {
      plain_edges(pin, span, out);
    }
  }
}

}  // namespace

double whole_picoseconds(double t_s) { return std::round(t_s * 1e12) * 1e-12; }

bool on_at_start(const Scene& /*scene*/, int pin) { return in_use(0, pin); }

double pin_level_V(const Scene& s, int pin, bool on) {
  if (is_n(pin)) return on ? s.n_on_V : s.n_off_V;
  return on ? s.p_on_V : s.p_off_V;
}

std::vector<PinEdge> drive_edges(const Scene& scene) {
  std::vector<PinEdge> edges;
  for (int pin = 0; pin < kSwitches; ++pin) pin_edges(scene, pin, edges);
  for (PinEdge& e : edges) e.t_s = whole_picoseconds(e.t_s);
  std::erase_if(edges, [&](const PinEdge& e) { return e.t_s >= whole_picoseconds(scene.end_s); });
  std::sort(edges.begin(), edges.end(), [](const PinEdge& x, const PinEdge& y) {
    return std::pair(x.t_s, x.pin) < std::pair(y.t_s, y.pin);
  });
  return edges;
}

}  // namespace pb::ref
