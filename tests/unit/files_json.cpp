// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The verdict's JSON has every field of the contract, and never a NaN.
#include "files/json_verdict.h"

#include <gtest/gtest.h>

#include <cmath>
#include <nlohmann/json.hpp>

namespace pb {
namespace {

TEST(FilesJson, VerdictHasTheFieldsOfTheContract) {
  Verdict v;
  v.passes = true;
  v.not_judged = {"resonance"};
  Check c;
  c.id = "switch_rms";
  c.value = 1.5;
  c.limit = 2;
  c.sense = Sense::min;
  c.grade = Grade::guaranteed;
  c.corner["supply.voltage"] = "max";
  c.facts["x"] = 2;
  c.hand_formula = "I sqrt(D)";
  c.hand_value = 2;
  c.inputs = {{"motor.winding_resistance", "max", 0.25}};
  v.checks.push_back(c);
  const auto json = to_json(v);
  ASSERT_EQ(json["checks"].size(), 1u);
  for (const char* field :
       {"id", "subject", "value", "nominal", "limit", "sense", "unit", "margin", "passes", "grade",
        "corner", "allowance", "hand", "source", "help", "facts", "inputs"})
    EXPECT_TRUE(json["checks"][0].contains(field)) << field;
  EXPECT_EQ(json["checks"][0]["sense"], "min");
  EXPECT_EQ(json["checks"][0]["grade"], "G");
  EXPECT_EQ(json["checks"][0]["corner"]["supply.voltage"], "max");
  EXPECT_DOUBLE_EQ(json["checks"][0]["hand"]["difference"].get<double>(), -0.25) << "(1.5 - 2)/2";
  EXPECT_EQ(json["checks"][0]["inputs"][0]["figure"], "motor.winding_resistance");
  EXPECT_DOUBLE_EQ(json["checks"][0]["inputs"][0]["margin_change"].get<double>(), 0.25);
  EXPECT_EQ(json["not_judged"][0], "resonance");
  EXPECT_TRUE(json["undecided"].empty());
}

TEST(FilesJson, NumbersThatAreNoneAreNullAndUndecided) {
  Verdict v;
  v.energy_residual = std::nan("");
  Check c;
  c.id = "rail_peak";
  c.value = HUGE_VAL;
  v.checks.push_back(c);
  const auto json = to_json(v);
  EXPECT_TRUE(json["energy_residual"].is_null());
  EXPECT_TRUE(json["checks"][0]["value"].is_null());
  ASSERT_EQ(json["undecided"].size(), 1u);
  EXPECT_NE(json["undecided"][0].get<std::string>().find("rail_peak"), std::string::npos);
}

}  // namespace
}  // namespace pb
