// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "physics/transient.h"

#include <algorithm>

#include "physics/transient_control.h"

namespace pb::physics {

template class BasicTransient<double>;

std::string name_of_unknown(const System& s, int unknown) {
  for (std::size_t n = 0; n < s.circuit().nodes.size(); ++n)
    if (s.unknown(static_cast<int>(n)) == unknown)
      return "voltage of node " + s.circuit().nodes[n].name;
  return s.has_rotor() && unknown >= s.speed_unknown() ? "rotor" : "a current";
}

}  // namespace pb::physics
