// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Pictures: a design with some of its figures changed, run once at typical values. That is what a
// page shows while a slider moves; the proof is another thing. Tested by tests/unit/app_server.cpp.
#pragma once

#include <cstdint>
#include <deque>
#include <map>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <vector>

#include "app/inputs.h"
#include "app/json.h"
#include "judgement/cost.h"
#include "judgement/evidence.h"

namespace pb::app {

/// Which of the units that `yield` draws.
struct VirtualUnit {
  long number = 0;
  std::uint64_t seed = 1;
};

/// What a page may change of a design.
struct Changes {
  std::vector<std::string> sets;              // KEY=QTY of the brief
  std::string dead_time, sequence, stop;      // settings, as text; empty: as they are
  std::map<std::string, std::string> values;  // role of a resistor -> resistance
  std::map<std::string, std::string> corner;  // figure -> "min" "max": a point that is not typical
  std::map<std::string, std::string> parts;   // role -> part number of the catalogue
  std::optional<VirtualUnit> unit;            // one of many instead of a typical one
  bool quick = false;                         // while something is dragged: at looser tolerances
};

/// From {"set": {KEY: QTY}, "dead_time": …, "sequence": …, "stop": …, "value": {}, "part": {},
/// "corner": {}, "unit": {"number": N, "seed": N}}.
Checked<Changes> read_changes(const Json& object);

/// The design with the changes made; its hash is of the old hash and the changes.
Checked<DesignInput> changed_design(DesignInput input, const Changes& changes);

/// Parts to choose from, as `design` would find them.
Checked<std::vector<Part>> all_parts();

struct Picture {
  DesignInput input;
  double dead_time_s = 0;
  Evidence evidence;
  double run_ms = 0;
};

class Pictures {
 public:
  /// Runs the design of the file with the changes made, from the temperatures of the unchanged one.
  /// Cheap if it was asked for lately.
  Checked<std::shared_ptr<const Picture>> make(const std::string& file, const Changes& changes,
                                               const StopToken& stop);
  /// One that was made lately, or null.
  std::shared_ptr<const Picture> find(const std::string& sha256) const;

 private:
  static constexpr std::size_t kKept = 24;
  /// A design as its file has it, with what follows from it.
  struct Base {
    DesignInput input;
    double dead_time_s = 0;
    Evidence heated;
  };
  using BasePtr = std::shared_ptr<const Base>;

  Checked<BasePtr> base_of(const std::string& file, const StopToken& stop);

  mutable std::mutex mutex_;
  std::deque<std::shared_ptr<const Picture>> kept_;  // newest last
  std::deque<BasePtr> bases_;                        // the same
};

}  // namespace pb::app
