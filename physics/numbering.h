// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What a circuit's equations owe to its wiring alone: which unknown is what, the pattern of the
// matrix and the order of its elimination, where each device writes. Worked out once; the same for
// all units of a batch, whatever their values.
#pragma once

#include <string>
#include <vector>

#include "physics/circuit.h"
#include "physics/sparse.h"

namespace pb::physics {

/// All elements in one numbering, for ledgers and probes: resistors, diodes, mosfets, bipolars,
/// bridges, limiters, inductors (their resistance), pins, windings (their resistance), in the
/// circuit's order.
struct ElementName {
  std::string ref;
  const char* kind;
};

struct Numbering {
  explicit Numbering(const Circuit& c);

  /// Slots of a two-terminal stamp, or of a branch with a current unknown: (node a, i), (node b,
  /// i), (i, node a), (i, node b). What falls on a driven node goes to the bin.
  struct Pair {
    int aa, ab, ba, bb;
  };
  struct Three {
    int slot[3][3];
  };
  /// A term of dq/dx that may be nonzero.
  struct Stored {
    int slot, column;
  };
  /// An element's end at a driven node whose voltage is not always 0: its current is the source's.
  struct DrivenEnd {
    int element, place;
    double sign;  // +1: the element's current leaves the node
  };

  int size() const { return lu.size; }
  Pair pair(int node_a, int node_b) const;
  Pair branch(int unknown, int node_a, int node_b) const;
  Three three(int node_a, int node_b, int node_c) const;
  int slot_or_bin(int row_place, int column_place) const;
  std::size_t first_inductor_element() const;
  std::size_t first_pin_element() const {
    return first_inductor_element() + circuit.inductors.size();
  }
  std::size_t first_winding_element() const { return first_pin_element() + circuit.pins.size(); }

  Circuit circuit;
  std::vector<int> place;  // of a node: its unknown, or behind the unknowns if driven
  std::vector<int> driven_nodes;
  int first_inductor = 0, first_winding = 0, unknowns = 0;
  bool has_rotor = false;
  bool has_loose_load = false;  // its speed and angle follow the rotor's
  LuPlan lu;
  std::vector<int> diagonal_slot;   // of each unknown
  std::vector<int> storage_end;     // of each row: behind its last term of dq/dx
  static constexpr int kMotor = 6;  // windings; speed and angle of the rotor, of a loose load
  int motor_slot[kMotor][kMotor] = {};
  std::vector<Stored> stored;  // row by row
  std::vector<DrivenEnd> driven_ends;
  /// Two unknowns whose difference is the voltage along or at the control of a transistor, along a
  /// diode or across a winding; each once. Between an unknown and a driven node there is none: it
  /// is the unknown's own.
  struct Span {
    int a, b;
  };
  std::vector<Span> spans;
  std::vector<double> corners_s;  // of all profiles, rising, each once
  std::vector<ElementName> names;

 private:
  void number_unknowns();
  void name_elements();
  void build_pattern();
  void list_storage();
  void list_driven_ends();
  void list_spans();
  void collect_corners();
};

/// Whether units of these circuits can run in lockstep: same wiring, same kinds, same corners.
bool same_wiring(const Numbering& a, const Numbering& b);

struct NumberingOwner {
  explicit NumberingOwner(const Circuit& c) : own_numbering(c) {}
  Numbering own_numbering;
};

}  // namespace pb::physics
