// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Netlists of every template, and of names that no netlist language likes. Whether the nets are the
// design's is read back by tests/cli/test_handoff.py.
#include "delivery/netlist.h"

#include <algorithm>
#include <cctype>
#include <set>

#include <gtest/gtest.h>

#include "tests/unit/delivery_samples.h"

namespace pb::delivery {
namespace {

/// Tokens of an S-expression; a string is one token.
std::vector<std::string> tokens(const std::string& text) {
  std::vector<std::string> out;
  for (std::size_t i = 0; i < text.size();) {
    if (std::isspace(static_cast<unsigned char>(text[i]))) {
      ++i;
    } else if (text[i] == '(' || text[i] == ')') {
      out.emplace_back(1, text[i++]);
    } else if (text[i] == '"') {
      const std::size_t end = text.find('"', i + 1);
      out.push_back(text.substr(i, end - i + 1));
      i = end + 1;
    } else {
      const std::size_t end = text.find_first_of(" \n()\"", i);
      out.push_back(text.substr(i, end - i));
      i = end;
    }
  }
  return out;
}

void expect_sound(const std::string& edif) {
  int depth = 0;
  const auto all = tokens(edif);
  for (std::size_t i = 0; i < all.size(); ++i) {
    depth += all[i] == "(" ? 1 : all[i] == ")" ? -1 : 0;
    EXPECT_EQ(depth == 0, i + 1 == all.size()) << i;
    for (const char c : all[i]) EXPECT_TRUE(c >= 0x20 && c <= 0x7e) << all[i];
    const bool string = all[i][0] == '"',
               number = std::isdigit(static_cast<unsigned char>(all[i][0]));
    if (all[i] == "(" || all[i] == ")" || string || number) continue;
    EXPECT_TRUE(std::isalpha(static_cast<unsigned char>(all[i][0])) || all[i][0] == '&') << all[i];
    EXPECT_TRUE(std::all_of(all[i].begin() + 1, all[i].end(), [](char c) {
      return std::isalnum(static_cast<unsigned char>(c)) || c == '_';
    })) << all[i];
  }
}

TEST(DeliveryNetlist, EveryTerminalOnceInEveryTemplate) {
  for (const Template& t : test::all_templates()) {
    const Design d = test::design_of(t, true);
    std::size_t terminals = 0, ends = 0;
    for (const Place& p : t.places) terminals += p.nodes.size();
    std::set<std::pair<std::string, std::string>> seen;
    for (const Net& net : nets_of(d))
      for (const NetEnd& end : net.ends) {
        EXPECT_TRUE(seen.insert({end.ref, end.terminal}).second) << end.ref << end.terminal;
        ends += !end.ref.empty();
      }
    EXPECT_EQ(ends, terminals) << t.title;
    expect_sound(netlist_edif(d));
  }
}

TEST(DeliveryNetlist, NamesNoNetlistLikes) {
  Design d = test::design_of(test::all_templates().front(), true);
  d.brief.title = "4 \"quotes\" (and) 100 % \xC2\xB5\nlines";
  int k = 0;
  for (auto& [role, part] : d.parts)
    part.number = "1n-" + std::string(k++ % 2 ? "A" : "a") + " (\"";
  const std::string edif = netlist_edif(d);
  expect_sound(edif);
  EXPECT_NE(edif.find("%34%quotes%34%"), std::string::npos);
  // Two numbers that only case tells apart are two cells.
  EXPECT_NE(edif.find("(cell (rename &1n_a___ "), std::string::npos);
  EXPECT_NE(edif.find("(cell (rename &1n_A____2 "), std::string::npos);
}

}  // namespace
}  // namespace pb::delivery
