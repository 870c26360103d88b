// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
#include "delivery/bom.h"

#include <cmath>
#include <set>

#include <gtest/gtest.h>

#include "base/text.h"
#include "files/csv.h"
#include "tests/unit/delivery_samples.h"

namespace pb::delivery {
namespace {

TEST(DeliveryBom, EveryPlacedPartOnceAndCostsAddUp) {
  for (const Template& t : test::all_templates()) {
    const Design d = test::design_of(t, true);
    const auto rows = read_csv("bom.csv", bom_csv(d));
    ASSERT_TRUE(rows.has_value());
    ASSERT_EQ(rows->front().size(), 10u);
    EXPECT_EQ(rows->front()[0].text, "refs");
    EXPECT_EQ(rows->front()[9].text, "source");
    std::multiset<std::string> refs, wanted;
    for (const Place& p : t.places) wanted.insert(p.ref);
    for (std::size_t i = 1; i < rows->size(); ++i) {
      const auto& cells = (*rows)[i];
      const auto own = split(cells[0].text, ' ');
      for (const auto ref : own) refs.emplace(ref);
      const double count = *to_number(cells[1].text), each = *to_number(cells[5].text);
      EXPECT_EQ(count, static_cast<double>(own.size()));
      EXPECT_DOUBLE_EQ(*to_number(cells[6].text), count * each);
      EXPECT_GT(each, 0);
    }
    EXPECT_EQ(refs, wanted);
  }
}

TEST(DeliveryBom, EveryReelEarnsItsOwnBreak) {
  Design d;
  d.wiring.roles = {{"gate_resistor", "resistor", "", false, {100}},
                    {"pull_down", "resistor", "", false, {10000}}};
  d.wiring.places = {{"R1", "gate_resistor", {"a", "b"}}, {"R2", "pull_down", {"b", "gnd"}}};
  Part r;
  r.number = "=RES", r.part_class = "resistor", r.package = "0603", r.source = "-x";
  r.figures = {0.01, 0.1};
  r.price_breaks = {{1, 0.5}, {1000, 0.25}};
  d.parts = {{"gate_resistor", r}, {"pull_down", r}};
  d.settings.value = {{"gate_resistor", 100}, {"pull_down", 10000}};
  d.wiring.places.push_back({"R3", "pull_down", {"c", "gnd"}});
  d.brief.build.quantity = 500;  // 500 of one value; 1,000 of the other: the second break
  EXPECT_EQ(bom_csv(d),
            "refs,quantity,number,description,package,unit_price,line_cost,currency,alternatives,"
            "source\n"
            "R1,1,'=RES,\"resistor 100R, 1 %\",0603,0.5,0.5,USD,,'-x\n"
            "R2 R3,2,'=RES,\"resistor 10k, 1 %\",0603,0.25,0.5,USD,,'-x\n");
}

}  // namespace
}  // namespace pb::delivery
