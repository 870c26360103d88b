// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The netlist: what is joined to what, as a table and as EDIF 2 0 0 (ANSI/EIA-548-1988). Tested by
// tests/unit/delivery_netlist.cpp and, with readers of their own, by tests/cli/test_handoff.py.
#pragma once

#include <string>
#include <vector>

#include "model/design.h"

namespace pb::delivery {

/// One end of a net: a terminal of a part, or a place where the board meets the outside.
struct NetEnd {
  std::string ref;       // empty: outside
  std::string terminal;  // of the part's class; outside: "supply +", "pin a1h", "motor a start"
  std::string role;      // of the part
};
struct Net {
  std::string name;
  std::vector<NetEnd> ends;
};

/// Ground, rail, logic, then the others by name; ends by ref.
std::vector<Net> nets_of(const Design& design);

/// Columns net, ref, terminal, number, value. Outside ends have no ref.
std::string netlist_csv(const Design& design);
/// Parts of a number are a cell; the board's cell has the outside ends as ports.
std::string netlist_edif(const Design& design);

}  // namespace pb::delivery
