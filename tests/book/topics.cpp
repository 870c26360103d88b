// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "tests/book/topics.h"

namespace pb::book {

std::vector<Topic> closed_topics() {
  return {
      device_laws(), taken_for_granted(), around_the_parts(), copper_and_air(),  breaking_points(),
      windings(),    supply_and_gates(),  motor_at_rest(),    motor_in_motion(), iron_and_stops(),
      heat(),        board_and_values(),  drive_code(),       statistics(),      money()};
}

std::vector<Topic> all_topics() {
  std::vector<Topic> all = closed_topics();
  all.push_back(other_solvers());
  return all;
}

const std::vector<Doubt>& doubts() {
  static const std::vector<Doubt> all = {
      {"Boltzmann's constant", &Skew::boltzmann, {"thermal-voltage-25", "channel-slope"}},
      {"saturation current of a junction", &Skew::saturation_current, {"bipolar-ic"}},
      {"β of a channel", &Skew::channel_beta, {"channel-5-5"}},
      {"winding resistance", &Skew::winding_resistance, {"slow-decay", "pull-out-3-100"}},
      {"winding inductance", &Skew::winding_inductance, {"rise-100us", "pull-out-3-400"}},
      {"motor constant", &Skew::motor_constant, {"hold-one", "pull-out-24-400"}},
      {"inertia", &Skew::inertia, {"swing-1", "pull-in"}},
      {"gate-drain charge", &Skew::gate_drain_capacitance, {"gate-plateau", "gate-dvdt"}},
      {"transit time", &Skew::transit_time, {"storage-time", "transition-frequency"}},
      {"capacitance", &Skew::capacitance, {"plug-voltage", "gate-delay"}},
      {"thermal resistance", &Skew::thermal_resistance, {"junction-steady", "hold-voltage"}},
      {"copper's temperature coefficient", &Skew::copper_coefficient, {"copper-100"}},
      {"constant of IPC-2221", &Skew::trace_constant, {"trace-1mm", "via"}},
  };
  return all;
}

}  // namespace pb::book
