// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The brief: what must be achieved and with what. One plain struct, and one table of keys which the
// reader, the writer, the help and the reference page (docs/formats.md) all follow. A new key is
// one row of kBriefKeys and one member. Tested by tests/unit/model_brief.cpp.
#pragma once

#include <limits>
#include <span>
#include <string>
#include <string_view>

#include "base/problem.h"
#include "base/quantity.h"

namespace pb {

/// A figure nobody gave and nothing assumes.
inline constexpr double kNotGiven = std::numeric_limits<double>::quiet_NaN();
inline bool given(double x) { return x == x; }

struct MotorBrief {
  double winding_resistance_ohm = 0, winding_inductance_H = 0, steps_per_turn = 0;
  double holding_torque_Nm = kNotGiven, back_emf_constant_Vs = kNotGiven,
         rated_current_A = kNotGiven;
  double rotor_inertia_kgm2 = 0, detent_torque_Nm = 0, viscous_friction_Nms = 0;
  double iron_loss_resistance_ohm = kNotGiven, saturation_current_A = kNotGiven;
  double resistance_tolerance = 0, inductance_tolerance = 0, torque_tolerance = 0,
         magnet_tempco_1_K = 0;
  double thermal_resistance_K_W = 0, max_winding_temperature_K = 0;
};
struct LoadBrief {
  double torque_Nm = 0, gravity_torque_Nm = 0, inertia_kgm2 = 0, viscous_friction_Nms = 0;
  double gear_ratio = 1, gear_efficiency = 1, torque_tolerance = 0, inertia_tolerance = 0;
  double backlash_rad = 0, flank_stiffness_Nm_rad = kNotGiven, flank_restitution = kNotGiven;
  double end_stop_rad = kNotGiven, end_stop_stiffness_Nm_rad = kNotGiven,
         end_stop_restitution = kNotGiven;
};
struct MotionBrief {
  std::string sequence;  // "one-phase" "two-phase" "half" "micro" "any"
  double rate_steps_s = 0, start_rate_steps_s = kNotGiven, ramp_steps_s2 = kNotGiven;
  double move_steps = 0, rest_s = 0, microsteps = 4;
  std::string hold;  // "on" "off" "reduced"
  std::string stop;  // "brake" "coast" "any"
};
/// How the winding current is kept below V/R, where a low-voltage winding is on a higher supply.
struct RegulationBrief {
  std::string kind = "none";  // "none" "duty" "current"
  double current_A = kNotGiven, frequency_Hz = 20e3, hold_share = 0.5;
  std::string decay = "any";  // "slow" "fast" "diode" "mixed" "any"
  // Where the current is measured:
  std::string timing = "off-time";  // "off-time" "frequency"
  double off_time_s = 20e-6, blanking_s = 1.5e-6, reaction_s = 0.5e-6, fast_share = 0.3;
};
struct SupplyBrief {
  double voltage_V = 0, tolerance = 0, resistance_ohm = 0, cable_inductance_H = 0;
  double current_limit_A = kNotGiven;
  std::string limit_behaviour = "checked";  // "checked" "constant-current" "hiccup"
  double hiccup_on_s = kNotGiven, hiccup_off_s = kNotGiven;
  std::string protection = "fuse";               // "fuse" "resettable"; rated current_limit
  double trip_time_s = 5;                        // of a resettable one at five times its rating
  std::string can_sink, shared_with_controller;  // "yes" "no"
};
struct ControllerBrief {
  double logic_voltage_V = 0, tolerance = 0, pin_source_current_A = 0, pin_sink_current_A = 0;
  double pin_resistance_ohm = 0, total_current_A = 0, pins = 0, timer_tick_s = 0;
  std::string reset;  // "floating" "pull-up" "pull-down"
  double reset_pull_resistance_ohm = 0, pin_absolute_max_V = kNotGiven;
};
struct AmbientBrief {
  double min_K = 0, max_K = 0, enclosure_rise_K = 0;
};
struct BuildBrief {
  double quantity = 0;
  std::string currency;
  double target_cost = kNotGiven, attrition = 0, placement_smd = 0, placement_tht = 0,
         setup_per_line = 0;
  double board_cost_area_1_m2 = 0, copper_thickness_m = 0, layers = 0, test_time_s = 0,
         test_rate_1_s = 0;
  double one_off = 0, joint_defects = 0;
  double board_area_m2 = 2e-3;  // one face of all of the board that carries heat away
};
struct RulesBrief {
  std::string derating, accept, wrong_pins;
  double torque_margin = 0, trace_rise_K = 0;
};

struct Brief {
  std::string title;
  MotorBrief motor;
  LoadBrief load;
  MotionBrief motion;
  RegulationBrief regulation;
  SupplyBrief supply;
  ControllerBrief controller;
  AmbientBrief ambient;
  BuildBrief build;
  RulesBrief rules;
};

enum class Need { required, defaulted, optional };

/// One row a key. Exactly one of number and text is set.
struct BriefKey {
  std::string_view section, name;
  Dim dim;
  Need need;
  std::string_view assumed;  // the default as a person would write it; empty unless Need::defaulted
  double low, high;          // inclusive range in SI; ignored for text
  std::string_view choices;  // "a|b|c" for closed texts; empty for free text
  std::string_view doc;
  double& (*number)(Brief&);
  std::string& (*text)(Brief&);
};

std::span<const BriefKey> brief_keys();

/// "motor.winding_resistance"
std::string full_name(const BriefKey& key);

/// A key whose value nobody gave: reports list these.
struct Assumed {
  std::string key, value, unit;
};

/// What no single key can show: contradictions between keys (start_rate above rate, ambient.min
/// above max), and neither of two figures of which one is needed. Keys are full names; file and
/// line are the caller's.
Problems contradictions(const Brief& brief);

/// Torque constant K_m [N m/A = V s/rad], peak of one winding, at little current: as given, or
/// T_h/(sqrt(2) I) of the two-phase-on holding torque at rated current (vector sum of two equal
/// windings); where a saturation current is given, that which has this holding torque in iron that
/// saturates.
double motor_constant(const MotorBrief& motor);
/// Greatest torque of a current of this size (of two windings: root of the sum of squares) at any
/// angle, of a motor with this constant and the brief's saturation. [N m] Source:
/// physics/devices/saturation.h, in closed form: N L I_s^2/2 (sqrt(1 + (I + I_m)^2/I_s^2) - sqrt(1
/// + (I - I_m)^2/I_s^2)).
double holding_torque(const MotorBrief& motor, double constant_Vs, double current_A);
/// Teeth of the rotor: electrical cycles a turn. A full step is pi/(2 N_r), so N_r = steps a turn
/// / 4.
inline double rotor_teeth(const MotorBrief& motor) { return motor.steps_per_turn / 4.0; }
/// Whether the supply is chopped to keep the winding current down.
inline bool regulated(const Brief& brief) { return brief.regulation.kind != "none"; }
/// By duty, at a period of its own; or by comparing the winding's current with a reference.
inline bool chops_by_duty(const Brief& brief) { return brief.regulation.kind == "duty"; }
inline bool measures_current(const Brief& brief) { return brief.regulation.kind == "current"; }
/// Whether the supply acts on its current limit.
inline bool limits(const SupplyBrief& supply) { return supply.limit_behaviour != "checked"; }
/// How long a supply with hiccup limits before it shuts off, and stays off. [s]
inline double hiccup_on(const SupplyBrief& s) {
  return given(s.hiccup_on_s) ? s.hiccup_on_s : 20e-3;
}
inline double hiccup_off(const SupplyBrief& s) {
  return given(s.hiccup_off_s) ? s.hiccup_off_s : 0.5;
}
/// Peak current of a winding that a regulated drive aims at: as given, else the motor's rated
/// current. [A]
double regulated_current(const Brief& brief);
/// Of an end stop or the flanks of a gear, at the output shaft: as given, else a hundred times what
/// the motor holds its position with, N K sqrt(2) I at its rated current or at V/R, through its
/// gear. [N m/rad]
double contact_stiffness(const Brief& brief, double given_Nm_rad);
/// Speed after a contact over the speed before: as given, else 0.5 (from memory).
double contact_restitution(double given_1);
/// Start rate: as given, else the running rate.
double start_rate(const MotionBrief& motion);

}  // namespace pb
