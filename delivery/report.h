// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The report: one HTML file that needs nothing else, neither network nor script; light and dark,
// and A4 on paper. The decision comes first. It shows numbers, it computes none. Tested by
// tests/unit/delivery_report.cpp.
#pragma once

#include <string>
#include <vector>

#include "judgement/cost_study.h"
#include "judgement/proof.h"
#include "judgement/search.h"
#include "judgement/torque_speed.h"

namespace pb::delivery {

struct ReportInput {
  const SearchResult& result;
  const Brief& brief;
  const std::vector<Assumed>& assumed;
  std::string version{}, input_sha256{};
  const CostStudy* study = nullptr;     // of the result
  const TorqueSpeed* torque = nullptr;  // of its best design
};

/// A single design that was judged.
struct CheckedInput {
  const Design& design;
  const Proof& proof;
  const Cost* cost = nullptr;
  std::string version{}, input_sha256{};
  const TorqueSpeed* torque = nullptr;
};

std::string report_html(const ReportInput& input);
std::string report_html(const CheckedInput& input);

}  // namespace pb::delivery
