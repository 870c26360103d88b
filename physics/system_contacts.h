// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What an end stop and a loose load add to the equations of system_equations.h: bodies that touch,
// and the load's own motion
//   J_L dw_L/dt = (flanks) - B_L w_L - T_f tanh(w_L/w_f) - T_g - (end stop);  dth_L/dt = w_L
// while the rotor's row has what the flanks push back. Tested by tests/unit/physics_contact.cpp.
#pragma once

#include "physics/system.h"

namespace pb::physics {

/// visit(contact, of, against, depth): the body whose speed and angle are unknowns of and of + 1
/// is pressed forward against another one, or against the frame (-1).
template <class R>
template <class Visit>
void BasicSystem<R>::for_contacts(const Vector& x, Visit visit) const {
  const int rotor = speed_unknown(), load = has_loose_load() ? rotor + 2 : rotor;
  if (stops_) visit(stop_.contact, load, -1, x[load + 1] - stop_.angle_rad);
  if (!has_loose_load()) return;
  const R ahead = x[rotor + 1] - x[load + 1], half = 0.5 * load_.gap_rad;
  visit(load_.flank, rotor, load, ahead - half);
  visit(load_.flank, load, rotor, -ahead - half);
}

template <class R>
void BasicSystem<R>::contacts(const R& hg) {
  R* const m = lu_.values.data();
  const int first = n_.first_winding;
  const auto at = [&](int i, int j) -> R& { return m[n_.motor_slot[i - first][j - first]]; };
  if (has_loose_load()) {
    const int load = load_speed_unknown();
    const R share = friction_share(at_[load] / R(kFrictionSpeed_rad_s));
    residual_[load] -= hg * (load_.friction_Nm * share + load_.gravity_Nm);
    at(load, load) += hg * load_.friction_Nm * (1.0 - share * share) / R(kFrictionSpeed_rad_s);
  }
  for_contacts(at_, [&](const BasicContact<R>& c, int of, int against, const R& depth) {
    const R speed = against < 0 ? at_[of] : at_[of] - at_[against];
    const BasicContactTorque<R> t = contact_torque(c, depth, speed);
    const R by_speed = hg * t.by_speed_Nms, by_depth = hg * t.by_depth_Nm_rad;
    residual_[of] -= hg * t.torque_Nm;
    at(of, of) += by_speed, at(of, of + 1) += by_depth;
    if (against < 0) return;
    residual_[against] += hg * t.torque_Nm;
    at(against, against) += by_speed, at(against, against + 1) += by_depth;
    at(of, against) -= by_speed, at(of, against + 1) -= by_depth;
    at(against, of) -= by_speed, at(against, of + 1) -= by_depth;
  });
}

/// Most that the tangent of tanh(x) may be off at x + dx: tanh'' is at most 0.77, and 8 e^(-2|x|)
/// far from the turning.
template <class R>
[[gnu::always_inline]] inline R turning_error(const R& x, const R& dx) {
  constexpr double kCurved = 0.5 * 0.77, kFar = 10.0, kFlat = 0.5 * 8.0 * 2.07e-9;
  // Of the nearer end; below zero where it turns between.
  const R near = select(x > R(0.0), minimum(x, x + dx), -maximum(x, x + dx));
  return select(near > R(kFar), R(kFlat), R(kCurved)) * dx * dx;
}

/// A contact's law has a corner where it begins, and its friction turns with the speed.
template <class R>
Which<R> BasicSystem<R>::contacts_left_little(const Vector& dx) const {
  constexpr double kCurved = 0.5 * 0.77;  // of tanh
  const R per_speed = R(1.0 / kFrictionSpeed_rad_s);
  Which<R> little = which<R>(true);
  for_contacts(at_, [&](const BasicContact<R>& c, int of, int against, const R& depth) {
    const bool two = against >= 0;
    const R turn = absolute(two ? dx[of + 1] - dx[against + 1] : dx[of + 1]),
            turned = per_speed * absolute(two ? dx[of] - dx[against] : dx[of]);
    const R corner = select(absolute(depth) < turn, turn, R(0.0)),
            rubs =
                c.hysteresis * (turn * turned + kCurved * maximum(depth, R(0.0)) * turned * turned),
            error = c.stiffness_Nm_rad * ((1.0 + c.hysteresis) * corner + rubs);
    little = both(little, (two ? minimum(hold_[of], hold_[against]) : hold_[of]) >= error);
  });
  if (!has_loose_load()) return little;
  const int load = load_speed_unknown();
  return both(little, hold_[load] >= load_.friction_Nm * turning_error(per_speed * at_[load],
                                                                       per_speed * dx[load]));
}

template <class R>
void BasicSystem<R>::measure_contacts() {
  stop_torque_Nm_ = R(0.0);
  for_contacts(at_, [&](const BasicContact<R>& c, int of, int against, const R& depth) {
    const BasicContactTorque<R> t =
        contact_torque(c, depth, against < 0 ? at_[of] : at_[of] - at_[against]);
    load_power_W_ += t.lost_W;
    if (against < 0) stop_torque_Nm_ = t.torque_Nm;
  });
  if (!has_loose_load()) return;
  const R w = at_[load_speed_unknown()];
  load_power_W_ +=
      w * (load_.viscous_Nms * w + load_.friction_Nm * friction_share(w / R(kFrictionSpeed_rad_s)) +
           load_.gravity_Nm);
}

/// What is stored in contacts and in the motion of a loose load.
template <class R>
R BasicSystem<R>::contacts_J(const Vector& x) const {
  R sum = R(0.0);
  for_contacts(x, [&](const BasicContact<R>& c, int, int, const R& depth) {
    sum += contact_energy(c, depth);
  });
  if (!has_loose_load()) return sum;
  const R& w = x[load_speed_unknown()];
  return sum + 0.5 * load_.inertia_kgm2 * w * w;
}

template <class R>
R BasicSystem<R>::contact_stiffness_Nm_rad() const {
  R most = stops_ ? stop_.contact.stiffness_Nm_rad : R(0.0);
  if (has_loose_load()) most = maximum(most, load_.flank.stiffness_Nm_rad);
  return most;
}

template <class R>
R BasicSystem<R>::until_touching(const Vector& x) const {
  // A hundredth of the swing of the lighter body on the contact's spring.
  constexpr double kPiece = 0.01 * 2.0 * kPi;
  R soonest = R(1e300);
  for_contacts(x, [&](const BasicContact<R>& c, int of, int against, const R& depth) {
    const R closing = against < 0 ? x[of] : x[of] - x[against];
    R inertia = storage(of);
    if (against >= 0) inertia = minimum(inertia, storage(against));
    const R piece = kPiece * square_root(inertia / c.stiffness_Nm_rad);
    const R reach = maximum(-depth / closing, piece);
    soonest = minimum(soonest,
                      select(closing > R(0.0), select(depth < R(0.0), reach, R(1e300)), R(1e300)));
  });
  return soonest;
}

}  // namespace pb::physics
