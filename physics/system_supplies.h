// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Supplies that act on their current limit, within system_equations.h; those that shut off change
// between steps. Tested by tests/unit/physics_supply_limit.cpp.
#pragma once

#include "physics/system.h"

namespace pb::physics {

template <class R>
void BasicSystem<R>::limiters(const R& hg) {
  R *const m = lu_.values.data(), *const r = residual_.data();
  for (Limiter& l : limiter_) {
    l.v_V = at_[l.a] - at_[l.b];
    const BasicSupplyCurrent<R> i = supply_current(l.law, l.v_V);
    l.i_A = l.share * i.i_A, l.g_S = l.share * i.slope_S;
    r[l.a] -= hg * l.i_A;
    r[l.b] += hg * l.i_A;
    const R g = hg * l.g_S;
    m[l.slots.aa] += g, m[l.slots.bb] += g, m[l.slots.ab] -= g, m[l.slots.ba] -= g;
  }
}

template <class R>
void BasicSystem<R>::start_supplies() {
  for (Limiter& l : limiter_) l.hiccup.start();
}

template <class R>
void BasicSystem<R>::advance_supplies(const Vector& x, const R& t_s) {
  const auto v = [&](int place) { return place < size() ? x[place] : at_[place]; };
  for (Limiter& l : limiter_)
    if (l.hiccup.acts())
      l.hiccup.advance(t_s, supply_current(l.law, v(l.a) - v(l.b)).asked_A / l.law.limit_A);
}

template <class R>
R BasicSystem<R>::next_turn(const R& t_s) const {
  R next = R(BasicHiccup<R>::kNever);
  for (const Limiter& l : limiter_)
    if (l.hiccup.acts()) next = minimum(next, l.hiccup.next_turn(t_s));
  return next;
}

}  // namespace pb::physics
