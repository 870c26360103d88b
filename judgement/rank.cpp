// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/rank.h"

#include <set>
#include <string>
#include <utility>

#include "judgement/search.h"

namespace pb {

bool makes_a_driver(std::string_view part_class) {
  return part_class != "resistor" && !is_capacitor(part_class);
}

Pick driver_of(const Space& s, const Pick& pick) {
  Pick out;
  for (std::size_t r : s.core)
    if (makes_a_driver(s.roles[r].role->part_class)) out.push_back(pick[r]);
  return out;
}

std::string chip_in(const Space& s, const Pick& pick) {
  for (std::size_t r : s.core)
    if (const Part* p = s.roles[r].list[pick[r]].part();
        p && is_driver_chip(*find_part_class(p->part_class)))
      return p->number;
  return "";
}

std::vector<std::size_t> distinct(const std::vector<Ranked>& found) {
  std::set<std::vector<std::string>> seen;
  std::vector<std::size_t> out;
  for (std::size_t k = 0; k < found.size(); ++k) {
    std::vector<std::string> key = {found[k].design.wiring.id};
    for (const auto& [role, part] : found[k].design.parts)
      if (makes_a_driver(part.part_class)) key.push_back(role + " " + part.number);
    if (seen.insert(std::move(key)).second) out.push_back(k);
  }
  return out;
}

}  // namespace pb
