// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The report: one HTML file that needs nothing else, neither network nor script; light and dark,
// and A4 on paper. The decision comes first. It shows numbers, it computes none. Tested by
// tests/unit/delivery_report.cpp.
#pragma once

#include <string>
#include <vector>

#include "judgement/proof.h"
#include "judgement/search.h"

namespace pb::delivery {

/// A driver that can be bought whole.
struct ChipOffer {
  std::string number, kind;
  double landed_cost = 0;  // of a good board with it
  bool passes = false;
  std::string why;  // what it fails on, or how far it was judged; may be empty
};

struct ReportInput {
  const SearchResult& result;
  const Brief& brief;
  const std::vector<Assumed>& assumed;
  std::vector<ChipOffer> chips{};
  std::string version{}, input_sha256{};
};

/// A single design that was judged.
struct CheckedInput {
  const Design& design;
  const Proof& proof;
  const Cost* cost = nullptr;
  std::string version{}, input_sha256{};
};

std::string report_html(const ReportInput& input);
std::string report_html(const CheckedInput& input);

/// Whether a chip that passes costs less than the cheapest design that passes.
bool chip_wins(const SearchResult& result, const std::vector<ChipOffer>& chips);

}  // namespace pb::delivery
