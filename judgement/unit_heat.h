// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Where a unit's heat is sought from: the rises of the nominal unit, times what each figure alone
// did to them at the ends of its spread. A guess: the unit's own run settles it, and one that is
// good saves it a second one. Tested by tests/unit/judgement_unit_heat.cpp.
#pragma once

#include <cstddef>
#include <map>
#include <string>
#include <vector>

#include "judgement/evidence.h"

namespace pb {

/// One figure alone at an end of its spread, and where heat ended there.
struct FigureEnd {
  std::size_t figure;
  physics::Point point;
  HeatGuess heat;
};

class HeatByFigure {
 public:
  /// Of a figure without ends nothing is known, and nothing taken to follow.
  HeatByFigure(const Case& c, HeatGuess nominal, const std::vector<FigureEnd>& ends);
  HeatGuess at(const physics::Point& p) const;

 private:
  /// Of windings and board over ambient, and of junctions, in the order of their names, over the
  /// board: what others do to a part, they do through the board.
  using Rises = std::vector<double>;
  /// By how much each rise goes up at an end, in shares of the nominal one.
  struct End {
    double away = 0;  // of the figure from its typical value; 0: not known
    Rises move, hold;
  };
  struct Figure {
    std::size_t at;
    End low, high;
  };
  static Rises rises(const physics::Temperatures& t, double ambient_K);
  static Rises shares(const Rises& there, const Rises& nominal);
  std::vector<double> values(const physics::Point& p, std::size_t figure) const;
  void find_nearest();
  physics::Temperatures guess(const physics::Point& p, const physics::Temperatures& nominal,
                              Rises End::* of) const;

  const Case& case_;
  HeatGuess nominal_;
  double ambient_K_;
  std::vector<Figure> figures_;
  /// By role: the places of that role which windings, board and each junction have to do with most.
  std::map<std::string, std::vector<std::vector<const Place*>>> nearest_;
};

}  // namespace pb
