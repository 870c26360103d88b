// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A search finds the same, and says the same of what it did not find, on any number of threads.
#include "judgement/search.h"

#include <gtest/gtest.h>

#include "tests/slow/small_world.h"

namespace pb::test {
namespace {

SearchResult searched(const World& w, ParallelFor parallel) {
  SearchOptions o;
  o.parallel = std::move(parallel);
  return search(w.brief, {}, w.templates, w.parts, o);
}

void expect_same(const SearchResult& a, const SearchResult& b) {
  EXPECT_EQ(a.claim, b.claim);
  EXPECT_EQ(a.nothing_cheaper, b.nothing_cheaper);
  EXPECT_EQ(a.undecided, b.undecided);
  EXPECT_EQ(a.rejected, b.rejected);
  ASSERT_EQ(a.chips.size(), b.chips.size());
  for (std::size_t k = 0; k < a.chips.size(); ++k) {
    EXPECT_EQ(a.chips[k].number, b.chips[k].number);
    EXPECT_EQ(a.chips[k].landed_cost, b.chips[k].landed_cost);
    EXPECT_EQ(a.chips[k].passes, b.chips[k].passes);
    EXPECT_EQ(a.chips[k].why, b.chips[k].why);
  }
  ASSERT_EQ(a.space.size(), b.space.size());
  for (const auto& [id, n] : a.space) {
    ASSERT_TRUE(b.space.contains(id));
    const SpaceCount& m = b.space.at(id);
    EXPECT_EQ(n.screened, m.screened);
    EXPECT_EQ(n.grouped, m.grouped);
    EXPECT_EQ(n.beyond_cost, m.beyond_cost);
    EXPECT_EQ(n.failed, m.failed);
    EXPECT_EQ(n.passed, m.passed);
    EXPECT_EQ(n.undecided, m.undecided);
  }
}

class SearchOnThreads : public testing::TestWithParam<std::uint64_t> {};
TEST_P(SearchOnThreads, SaysTheSame) {
  WorldSize size;
  size.templates = 0, size.chips = 1, size.switches = 2, size.others = 1, size.resistors = 1;
  const World w = small_world(GetParam(), size);
  const SearchResult alone = searched(w, serial());
  for (const unsigned n : {2U, 5U}) expect_same(alone, searched(w, threads(n)));
}
INSTANTIATE_TEST_SUITE_P(Worlds, SearchOnThreads, testing::Range<std::uint64_t>(4, 7));

}  // namespace
}  // namespace pb::test
