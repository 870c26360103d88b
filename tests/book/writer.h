// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The validation book as text: docs/validation.md for people, docs/validation.csv for spreadsheets.
// Numbers are cut to the digits of their row, so that the text does not depend on the compiler.
#pragma once

#include <string>
#include <vector>

#include "tests/book/topics.h"

namespace pb::book {

struct Computed {
  Topic topic;
  std::vector<double> values;  // one a row
};

/// A row that notices a constant which is 2 % too great.
struct Noticed {
  std::string constant;
  Row row;
  double as_is, skewed;
};

std::string page(const std::vector<Computed>& book, const std::vector<Noticed>& noticed);
std::string sheet(const std::vector<Computed>& book);

}  // namespace pb::book
