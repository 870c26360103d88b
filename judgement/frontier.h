// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The cores of several spaces by rising floor cost. Roles are chosen one after the other, so that
// what refutes the choices so far refutes everything below them at once: a catalogue of a hundred
// thousand rows is not gone through core by core.
#pragma once

#include <functional>
#include <optional>
#include <queue>
#include <string>
#include <vector>

#include "judgement/space.h"

namespace pb {

/// A pick of all roles but resistors, those at their cheapest.
struct Core {
  double floor;
  std::size_t space;
  Pick pick;

  auto operator<=>(const Core&) const = default;
};

class Frontier {
 public:
  /// The check known to refute every candidate that agrees with the pick in the first `depth` roles
  /// of the core; null if none is.
  using Known =
      std::function<const std::string*(std::size_t space, const Pick& pick, std::size_t depth)>;
  /// Told of candidates that are passed over: those that agree with the pick so far.
  using Failed = std::function<void(std::size_t space, const Pick& pick, std::size_t depth,
                                    const std::string& check)>;

  Frontier(const std::vector<Space>& spaces, Known known, Failed failed);

  /// Of the next core, or less; infinite when there is none.
  double floor() const;
  /// The next core that nothing known refutes; none if there is none below `below`, or when `late`.
  std::optional<Core> next(double below, const std::function<bool()>& late);
  /// A choice that fails whatever the other roles hold.
  void strike(std::size_t space, std::size_t role, std::size_t choice, const std::string& check);
  bool is_struck(std::size_t space, std::size_t role, std::size_t choice) const {
    return !struck_[space][role].empty() && !struck_[space][role][choice].empty();
  }

 private:
  /// Choices of the first roles of a core.
  struct Node {
    double floor;
    std::size_t space;
    std::vector<std::uint32_t> chosen;
    bool operator>(const Node& o) const;
  };

  Pick pick_of(const Node& n) const;
  /// With the cheapest that is not struck in every open role; infinite where there is none.
  double floor_of(const Node& n) const;
  /// Goes on to the first choice from `from` on that is not struck, if there is one.
  void push(const Node& parent, std::size_t from);
  void pass_over(const Node& n, const std::string& check);
  std::size_t first_open(std::size_t space, std::size_t role) const;

  const std::vector<Space>& spaces_;
  Known known_;
  Failed failed_;
  std::priority_queue<Node, std::vector<Node>, std::greater<>> open_;
  // By space, role, choice: the check it is struck for; empty where it is not.
  std::vector<std::vector<std::vector<std::string>>> struck_;
  std::vector<std::vector<std::size_t>> first_;  // by space and role: choice not struck
};

}  // namespace pb
