// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// When a batch of units refutes a proof by corners.
#include "judgement/yield.h"

#include <gtest/gtest.h>

namespace pb {
namespace {

CheckSpread with_margins(const std::string& id, double worst, double corner) {
  CheckSpread s;
  s.id = id, s.worst_margin = worst, s.corner_margin = corner;
  return s;
}

TEST(Yield, UnitBeyondTheCornerRefutesTheProof) {
  EXPECT_TRUE(beyond_corner(with_margins("switch_rms", 0.10, 0.12), Shape::uniform));
  EXPECT_TRUE(beyond_corner(with_margins("switch_rms", -0.01, 0.01), Shape::truncated));
  // Within the corner, and beyond it by no more than two runs differ by (2e-3).
  EXPECT_FALSE(beyond_corner(with_margins("switch_rms", 0.12, 0.10), Shape::uniform));
  EXPECT_FALSE(beyond_corner(with_margins("switch_rms", 0.099, 0.10), Shape::uniform));
  // A twentieth of the margin at the corner is for what acts together.
  EXPECT_FALSE(beyond_corner(with_margins("switch_rms", 0.87, 0.90), Shape::uniform));
  EXPECT_TRUE(beyond_corner(with_margins("switch_rms", 0.84, 0.90), Shape::uniform));
  // A shape without ends goes beyond any corner; what a proof scans has none.
  EXPECT_FALSE(beyond_corner(with_margins("switch_rms", 0.10, 0.12), Shape::normal));
  EXPECT_FALSE(beyond_corner(with_margins("resonance", 0.10, 0.12), Shape::uniform));
}

}  // namespace
}  // namespace pb
