// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A figure of simulated points (period_means.h) over the current along the drive: the parabolas of
// PeriodMeans, each made when it is first asked for. Of mean_drive.cpp and latched_drive.cpp, whose
// motors ask at every step. Tested by tests/slow/chopped_run.cpp and latched_run.cpp.
#pragma once

#include <array>
#include <optional>

#include "physics/period_means.h"

namespace pb::physics {

class CurrentCurve {
 public:
  /// The figure at i [A]; `at(k)`: at the k-th of the currents.
  template <class At>
  double operator()(double i, const std::array<double, PeriodPoints::kCurrents>& i_A,
                    const At& at) const {
    const std::size_t piece = i < 0 ? 0 : i < i_A[5] ? 1 : 2, first = piece == 0 ? 0 : piece + 2;
    std::optional<Parabola>& p = piece_[piece];
    if (!p) {
      const double x0 = i_A[first], x1 = i_A[first + 1], x2 = i_A[first + 2];
      const double y0 = at(first), y1 = at(first + 1), y2 = at(first + 2);
      const double d1 = (y1 - y0) / (x1 - x0), d2 = ((y2 - y1) / (x2 - x1) - d1) / (x2 - x0);
      p = {y0, x0, d1, x1, d2};
    }
    return p->y0 + (i - p->x0) * (p->d1 + (i - p->x1) * p->d2);
  }

 private:
  struct Parabola {  // Newton's form
    double y0, x0, d1, x1, d2;
  };
  mutable std::array<std::optional<Parabola>, 3> piece_;
};

}  // namespace pb::physics
