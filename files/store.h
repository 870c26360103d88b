// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The store of parts: one SQLite file that survives between runs. What goes in comes out bit for
// bit. Tested by tests/unit/files_store.cpp.
//
// A part belongs to its `source`: importing another source's row of the same number leaves it.
//
// Invariants: an import is one transaction, so a failed or interrupted one leaves the store as it
// was; a file that is not a store of ours is refused and left alone.
#pragma once

#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "base/stop.h"
#include "files/atomic.h"
#include "model/part.h"

namespace pb {

/// What to do with a part whose number the store has from another source.
enum class OtherSource {
  keep,     // it is the user's own
  replace,  // by the new one
};

/// Numbers of parts that were new, had other data before, were there already, and were left alone
/// because the store has the number from another source.
struct ImportCount {
  int added = 0, changed = 0, same = 0;
  std::vector<std::string> kept;
};

/// A row of the list.
struct PartSummary {
  std::string number, part_class, package, lifecycle, currency, source;
  double stock = kNotGiven;
  double unit_price_1k = kNotGiven;  // at 1,000 pieces; of the first break if that is above
};

class PartStore {
 public:
  /// Opens the file, or creates it. Another process may have it open too: a writer waits up to five
  /// seconds for another.
  static Written<PartStore> open(const std::string& file);
  /// For reading only; refuses a file that is not there.
  static Written<PartStore> open_to_read(const std::string& file);
  PartStore(PartStore&&) noexcept;
  PartStore& operator=(PartStore&&) noexcept;
  ~PartStore();

  /// A part whose number is there already replaces the old one of its source.
  /// Asked to stop, it leaves the store as it was and has a fault without a message.
  Written<ImportCount> import(const std::vector<Part>& parts, OtherSource other = OtherSource::keep,
                              const StopToken& stop = {});
  /// What import() would do.
  Written<ImportCount> compare(const std::vector<Part>& parts,
                               OtherSource other = OtherSource::keep) const;
  /// Sorted by number; of all classes if `part_class` is empty.
  Written<std::vector<Part>> load(std::string_view part_class = "") const;
  /// Sorted by class, then number.
  Written<std::vector<PartSummary>> list() const;

 private:
  struct Open;
  explicit PartStore(std::unique_ptr<Open> open);
  std::unique_ptr<Open> open_;
};

}  // namespace pb
