// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The validation book: every row holds, the pages in docs/ are what is computed now, and a constant
// that is 2 % off is noticed by the rows named for it. With PB_WRITE_BOOK set, writes the pages.
#include <gtest/gtest.h>

#include <cstdlib>
#include <fstream>
#include <iterator>
#include <map>
#include <set>

#include "tests/book/writer.h"

namespace pb::book {
namespace {

const std::string kDocs = PB_SOURCE_DIR "/docs/";

const Row& row_of(const std::vector<Topic>& topics, const std::string& id) {
  for (const Topic& t : topics)
    for (const Row& r : t.rows)
      if (r.id == id) return r;
  throw std::out_of_range("no row " + id);
}

std::vector<Noticed> notice(const std::vector<Topic>& topics) {
  std::vector<Noticed> out;
  for (const Doubt& d : doubts()) {
    Skew skew;
    skew.*d.member = kDoubt;
    for (const std::string& id : d.rows) {
      const Row& r = row_of(topics, id);
      out.push_back({d.constant, r, r.computed({}), r.computed(skew)});
    }
  }
  return out;
}

std::string read(const std::string& file) {
  std::ifstream in(file, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

/// Where the first line differs, so that a failure says which row moved.
std::string first_difference(const std::string& a, const std::string& b) {
  std::size_t k = 0;
  while (k < a.size() && k < b.size() && a[k] == b[k]) ++k;
  const auto line = [k](const std::string& s) {
    const std::size_t from = k == 0 ? 0 : s.rfind('\n', k - 1) + 1;
    return s.substr(from, s.find('\n', k) - from);
  };
  return "\n  " + line(a) + "\n  " + line(b);
}

void expect_written(const std::string& file, const std::string& text) {
  if (std::getenv("PB_WRITE_BOOK") != nullptr) std::ofstream(file, std::ios::binary) << text;
  const std::string there = read(file);
  EXPECT_TRUE(there == text) << file << " is not what is computed (PB_WRITE_BOOK=1 writes it)"
                             << first_difference(there, text);
}

/// Every row worked out; those that do not hold have failed.
std::vector<Computed> worked_out(const std::vector<Topic>& topics) {
  std::vector<Computed> book;
  for (const Topic& t : topics) {
    Computed c{t, {}};
    for (const Row& r : t.rows) {
      c.values.push_back(r.computed({}));
      EXPECT_TRUE(holds(r, c.values.back()))
          << r.id << ": " << r.claim << ": expected " << r.expected << ", computed "
          << c.values.back() << ' ' << r.unit << ", error " << error_of(r, c.values.back())
          << ", tolerance " << r.tolerance.value;
    }
    book.push_back(std::move(c));
  }
  return book;
}

// Also what tests/book/mutants.py runs.
TEST(Book, RowsHold) { worked_out(closed_topics()); }

TEST(Book, RowsOfOtherSolversHoldAndThePagesSaySo) {
  const std::vector<Topic> topics = all_topics();
  const std::vector<Computed> book = worked_out(topics);
  expect_written(kDocs + "validation.md", page(book, notice(topics)));
  expect_written(kDocs + "validation.csv", sheet(book));
}

TEST(Book, TwoPercentAreNoticed) {
  std::set<std::string> constants;
  for (const Noticed& n : notice(closed_topics())) {
    EXPECT_TRUE(holds(n.row, n.as_is)) << n.row.id;
    EXPECT_FALSE(holds(n.row, n.skewed))
        << n.row.id << " does not notice 2 % of " << n.constant << ": " << n.skewed;
    constants.insert(n.constant);
  }
  EXPECT_GE(constants.size(), 6u);
}

// Sixty rows by repeating one table would be sixty rows of nothing.
TEST(Book, RowsAreManyAndDifferent) {
  std::set<std::string> ids, claims;
  std::map<std::string, int> of_table;
  int moving = 0;
  for (const Topic& t : closed_topics())
    for (const Row& r : t.rows) {
      EXPECT_TRUE(ids.insert(r.id).second) << r.id;
      EXPECT_TRUE(claims.insert(r.claim).second) << r.claim;
      EXPECT_GE(r.digits, 1) << r.id;
      EXPECT_FALSE(r.source.text.empty()) << r.id;
      if (r.source.basis == Basis::published || r.source.basis == Basis::published_law)
        ++of_table[r.source.text];
    }
  for (const auto& [source, rows] : of_table) EXPECT_LE(rows, 8) << source;
  for (const Topic& t :
       {windings(), supply_and_gates(), motor_at_rest(), motor_in_motion(), heat()})
    moving += static_cast<int>(t.rows.size());
  EXPECT_GE(ids.size(), 60u);
  EXPECT_GE(moving, 25);
}

}  // namespace
}  // namespace pb::book
