// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "model/design.h"

namespace pb {

Problems faults_of(const Design& d) {
  Problems out = faults_of(d.wiring);
  for (const Role& r : d.wiring.roles) {
    const auto part = d.parts.find(r.name);
    if (part == d.parts.end()) {
      if (!r.optional)
        out.push_back({.key = "part." + r.name,
                       .expected = "a part of class " + r.part_class,
                       .found = "none"});
      continue;
    }
    if (part->second.part_class != r.part_class)
      out.push_back({.key = "part." + r.name + ".class",
                     .expected = r.part_class,
                     .found = part->second.part_class});
    const bool has_value = d.settings.value.contains(r.name);
    if (r.part_class == "resistor" && !has_value)
      out.push_back(
          {.key = "settings.value." + r.name, .expected = "a resistance", .found = "nothing"});
  }
  for (const auto& [role, part] : d.parts)
    if (!find_role(d.wiring, role))
      out.push_back({.key = "part." + role, .expected = "a role of the wiring", .found = role});
  for (const auto& [role, value] : d.settings.value)
    if (!find_role(d.wiring, role))
      out.push_back(
          {.key = "settings.value." + role, .expected = "a role of the wiring", .found = role});
  return out;
}

const SharedPackage* shared_by(const Design& d, const std::string& ref) {
  for (const SharedPackage& s : d.shared)
    if (s.refs[0] == ref || s.refs[1] == ref) return &s;
  return nullptr;
}

const std::string& other_half(const SharedPackage& package, const std::string& ref) {
  return package.refs[package.refs[0] == ref ? 1 : 0];
}

}  // namespace pb
