// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The greatest and the least current of one element over the steps of a run.
#pragma once

#include "physics/transient.h"

namespace pb::rigs {

struct Crest {
  double most_A = -1e300, least_A = 1e300, at_s = 0;  // at: of the greatest
};

/// From here on, in place of whatever watched the steps before; all three must live as long.
inline void watch_crest(physics::Transient& t, const physics::System& s, std::size_t element,
                        Crest& crest) {
  t.on_step = [&s, element, &crest](double at_s, const std::vector<double>&) {
    const double i_A = s.readings[element].current_A;
    if (i_A > crest.most_A) crest.most_A = i_A, crest.at_s = at_s;
    if (i_A < crest.least_A) crest.least_A = i_A;
  };
}

}  // namespace pb::rigs
