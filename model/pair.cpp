// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "model/pair.h"

#include <algorithm>

#include "base/check.h"

namespace pb {

Part half_of(const Part& pair, std::size_t which) {
  const PartClass* c = find_part_class(pair.part_class);
  PB_CHECK(c != nullptr && is_pair(*c) && which < c->halves.size(), pair.part_class, which);
  const PartClass* own = find_part_class(c->halves[which]);
  PB_CHECK(own != nullptr, c->halves[which]);
  const bool alike = c->halves[0] == c->halves[1];
  Part out = pair;
  out.part_class = own->name;
  out.figures.clear();
  for (const Figure& f : own->figures) {
    double x = which == 0 ? figure(pair, f.name) : figure(pair, "second_" + std::string(f.name));
    if (which == 1 && alike && !given(x)) x = figure(pair, f.name);
    out.figures.push_back(x);
  }
  return out;
}

double mutual_K_W(const Part& pair) {
  const double least =
      std::min(figure(half_of(pair, 0), "rth_ja"), figure(half_of(pair, 1), "rth_ja"));
  const double m = figure(pair, "rth_mutual");
  return given(m) ? std::min(m, least) : kMutualShare * least;
}

}  // namespace pb
