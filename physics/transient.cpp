// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "physics/transient.h"

#include <algorithm>

#include "physics/system_equations.h"
#include "physics/transient_control.h"

// Clang flattens no deeper than one call; it builds the sanitizers' programs.
#if defined(__x86_64__) && defined(__GNUC__) && !defined(__clang__)
#define PB_WIDER_REGISTERS 1
#else
#define PB_WIDER_REGISTERS 0
#endif

namespace pb::physics {

template class BasicTransient<double>;

#if PB_WIDER_REGISTERS
namespace {

/// The same operations in instructions of three operands, which save copies: a sixteenth of the
/// time. All it calls is inlined (flatten), so that nothing another machine may run into is
/// compiled so.
[[gnu::target("avx2,bmi,bmi2"), gnu::flatten]] Outcome advance_wide(Transient& run, double t_end_s,
                                                                    const StopToken& stop) {
  return run.advance(t_end_s, stop);
}

bool has_wider_registers() {
  return __builtin_cpu_supports("avx2") && __builtin_cpu_supports("bmi") &&
         __builtin_cpu_supports("bmi2");
}

}  // namespace
#endif

template <>
Outcome Transient::run_to(double t_end_s, const StopToken& stop) {
#if PB_WIDER_REGISTERS
  if (has_wider_registers()) return advance_wide(*this, t_end_s, stop);
#endif
  return advance(t_end_s, stop);
}

std::string name_of_unknown(const System& s, int unknown) {
  for (std::size_t n = 0; n < s.circuit().nodes.size(); ++n)
    if (s.unknown(static_cast<int>(n)) == unknown)
      return "voltage of node " + s.circuit().nodes[n].name;
  return s.has_rotor() && unknown >= s.speed_unknown() ? "rotor" : "a current";
}

}  // namespace pb::physics
