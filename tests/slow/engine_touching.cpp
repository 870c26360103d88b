// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Iron, gap and stop together against another solver.
#include "tests/rigs/touching.h"

namespace pb::rigs {
namespace {

TEST(EngineTouching, AgreesWithAnotherSolver) {
  const Strayed w = apart_from_cvode(tight());
  EXPECT_LT(w.current, 1e-5);
  EXPECT_LT(w.rotor_step, 1e-5);
  EXPECT_LT(w.load_step, 1e-5);
}

// What bounces keeps every error.
TEST(EngineTouching, AgreesAtTheUsualTolerances) {
  const Strayed w = apart_from_cvode({});
  EXPECT_LT(w.current, 1e-3);
  EXPECT_LT(w.rotor_step, 5e-3);
  EXPECT_LT(w.load_step, 5e-3);
}

}  // namespace
}  // namespace pb::rigs
