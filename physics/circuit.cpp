// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "physics/circuit.h"

namespace pb::physics {

void Profile::hold_then_go(double t, double duration, double to) {
  const double last = value.empty() ? to : value.back();
  if (t_s.empty() || t > t_s.back()) {
    t_s.push_back(t);
    value.push_back(last);
  }
  t_s.push_back(t_s.back() + duration);
  value.push_back(to);
}

int Circuit::add_node(std::string name) {
  nodes.push_back({std::move(name), false, {}});
  return static_cast<int>(nodes.size()) - 1;
}

int Circuit::find_node(const std::string& name) const {
  for (std::size_t i = 0; i < nodes.size(); ++i)
    if (nodes[i].name == name) return static_cast<int>(i);
  return -1;
}

}  // namespace pb::physics
