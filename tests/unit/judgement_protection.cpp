// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What opens in the supply's lead: against the standard's table, and against closed forms worked
// out by hand.
#include "judgement/protection.h"

#include <gtest/gtest.h>

namespace pb {
namespace {

Protection of(const char* kind, double trip_s = 5, double coldest_degC = 23) {
  Brief b;
  b.supply.protection = kind, b.supply.trip_time_s = trip_s,
  b.ambient.min_K = coldest_degC + 273.15;
  return Protection(b);
}

TEST(Protection, AFuseIsAsSlowAsItsStandardAllows) {
  const Protection fuse = of("fuse");
  // IEC 60127-2 sheet 3, upper limits: from memory.
  EXPECT_FALSE(fuse.opens_within_s(2.0));
  EXPECT_NEAR(*fuse.opens_within_s(2.1), 120, 1e-9);
  EXPECT_NEAR(*fuse.opens_within_s(2.75), 10, 1e-9);
  EXPECT_NEAR(*fuse.opens_within_s(4.0), 3, 1e-9);
  EXPECT_NEAR(*fuse.opens_within_s(10.0), 0.3, 1e-9);
  EXPECT_NEAR(*fuse.opens_within_s(100.0), 3e-3, 1e-9) << "constant I^2 t";
  EXPECT_NEAR(fuse.opening_within(3), 4.0, 1e-6);
  EXPECT_EQ(fuse.carries(343.15), 1);
}

// tau = -5 s/ln(1 - (2/5)^2) = 28.677 s; at ten times -tau ln(1 - 0.04) = 1.1707 s; within 3 s at
// 2/sqrt(1 - e^(-3/tau)) = 6.3453 times.
TEST(Protection, AResettableOneFollowsItsHeat) {
  const Protection p = of("resettable");
  EXPECT_FALSE(p.opens_within_s(2.0)) << "holds what it holds";
  EXPECT_NEAR(*p.opens_within_s(5.0), 5, 1e-9);
  EXPECT_NEAR(*p.opens_within_s(10.0), 1.1707, 1e-4);
  EXPECT_NEAR(p.opening_within(3), 6.3453, 1e-3);
  EXPECT_NEAR(p.survives_A2s(296.15), 28.677, 1e-3);
}

// Of 102 K to 125 degC 65 K are left at 60 degC: sqrt(65/102) = 0.7983; at 0 degC it takes
// sqrt(125/102) = 1.1070 times as much.
TEST(Protection, AResettableOneCarriesLessWhereItIsHot) {
  const Protection p = of("resettable", 5, 0);
  EXPECT_NEAR(p.carries(333.15), 0.7983, 1e-4);
  EXPECT_EQ(p.carries(273.15), 1) << "its rating is what its maker promises";
  EXPECT_NEAR(p.sure_to_open(), 2 * 1.1070, 1e-3);
  EXPECT_EQ(p.carries(410), 0) << "open without any current";
}

TEST(Protection, TimesFallAsTheCurrentRises) {
  for (const char* kind : {"fuse", "resettable"}) {
    const Protection p = of(kind);
    double before = 1e9;
    for (double x = 1.01 * p.sure_to_open(); x < 30; x *= 1.1) {
      EXPECT_LT(*p.opens_within_s(x), before) << kind << " " << x;
      before = *p.opens_within_s(x);
      if (x < 10) {
        EXPECT_NEAR(p.opening_within(before), x, 1e-6 * x) << kind;
      }
    }
  }
}

}  // namespace
}  // namespace pb
