// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Broken invariants throw with their values.
#include "base/check.h"

#include <gtest/gtest.h>

namespace pb {
namespace {

TEST(Check, PassesQuietlyAndOnce) {
  int calls = 0;
  PB_CHECK(++calls == 1);
  EXPECT_EQ(calls, 1);
}

TEST(Check, NamesConditionPlaceAndValues) {
  const int n = -3;
  const double x = 0.1;
  try {
    PB_CHECK(n > 0 && x < 1, n, x);
    FAIL();
  } catch (const InternalError& e) {
    const std::string what = e.what();
    EXPECT_NE(what.find("n > 0 && x < 1"), std::string::npos) << what;
    EXPECT_NE(what.find("base_check.cpp:"), std::string::npos) << what;
    EXPECT_NE(what.find("n, x = -3, 0.1"), std::string::npos) << what;
  }
  EXPECT_THROW(PB_CHECK(false), InternalError);
}

}  // namespace
}  // namespace pb
