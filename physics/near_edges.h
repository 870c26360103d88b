// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Of a run on means, what is simulated edge by edge: a circuit with what its pins do near some
// moments alone, and its integration there. Tested by tests/slow/chopped_run.cpp and
// tests/slow/latched_run.cpp.
#pragma once

#include <optional>
#include <vector>

#include "physics/chopping.h"
#include "physics/observer.h"
#include "physics/plan.h"
#include "physics/stretch_judge.h"
#include "physics/transient.h"

namespace pb::physics {

/// Without what pins do and when: enough of a plan for a circuit of which the motor alone is asked.
Plan still(const Plan& plan);

struct Span {
  double from_s, to_s;
};

/// With the writes that edges within these spans need: theirs, and of each pin the last before. A
/// circuit of all the writes of a move would cost more than its edges.
Plan within(const Plan& plan, const std::vector<Span>& spans);

/// What is simulated edge by edge.
struct Edges {
  Edges(const Design& d, const Circuit& circuit, const TransientOptions& options, const Plan& plan)
      : system(circuit),
        transient(system, options),
        watch(d, system, false),
        judge(d, plan, watch) {}

  /// From here on with all windings driven, whose choppers measure.
  void chop(double t_s) {
    chopping.emplace(system, t_s);
    chopping->begin_driven(t_s);
    transient.responder = &*chopping;
    chopping->on_stretch = [&](const Chopping::Stretch& s, const std::vector<double>& x) {
      if (s.from_s >= watch.from_s) judge.judge(s, x);
    };
  }

  System system;
  Transient transient;
  Observer watch;
  StretchJudge judge;
  std::optional<Chopping> chopping;
};

}  // namespace pb::physics
