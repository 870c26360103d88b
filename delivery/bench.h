// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Bench plan and production test as pages to print and fill in, and as tables. Tested by
// tests/unit/delivery_bench.cpp.
#pragma once

#include <string>

#include "judgement/bench.h"
#include "judgement/production.h"

namespace pb::delivery {

std::string bench_html(const Design& design, const BenchPlan& plan, const std::string& version,
                       const std::string& input_sha256);
std::string bench_csv(const BenchPlan& plan);

std::string production_html(const Design& design, const ProductionTest& test,
                            const std::string& version, const std::string& input_sha256);
/// Limits, one row a reading.
std::string production_csv(const ProductionTest& test);
/// One row a single fault: what shows it, or "latent".
std::string coverage_csv(const ProductionTest& test);

}  // namespace pb::delivery
