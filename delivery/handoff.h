// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Everything that goes to the customer, the board house and the firmware's author, as files. The
// bytes depend on the input alone: not on folder, clock, time zone, locale or user. Tested by
// tests/cli/test_handoff.py.
#pragma once

#include <string>
#include <vector>

#include "delivery/drive_code.h"
#include "judgement/alternatives.h"
#include "judgement/bench.h"
#include "judgement/copper.h"
#include "judgement/cost.h"
#include "judgement/placement.h"
#include "judgement/production.h"
#include "judgement/proof.h"

namespace pb::delivery {

struct HandoffInput {
  const Design& design;
  const Proof& proof;
  const CopperTable& copper;
  const Placement& placement;
  const BenchPlan& bench;
  const ProductionTest& production;
  const Alternatives& alternatives;
  const Cost* cost = nullptr;
  std::string verdict_json{};  // as the verb `check` prints it
  std::string version{}, input_sha256{};
};

/// In the order of their names; folders by '/'.
std::vector<TextFile> handoff_files(const HandoffInput& input);

/// A drawing of ours as a file of its own.
std::string standalone_svg(std::string svg);

}  // namespace pb::delivery
