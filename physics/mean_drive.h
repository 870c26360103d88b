// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A chopped motor without its every period: what a period of the chopping means for a winding and
// for every part, and the motor on that. A period at a held current is simulated edge by edge, with
// its edges' energies; between such points figures follow parabolas. Valid where the current does
// not pause within a period and changes little in one (L/R and the rotor slow against the
// chopping). Source: R. Middlebrook, S. Cuk, IEEE Power Electronics Specialists Conference, 1976,
// 18-34 (averaging over a period; from memory). Tested by tests/unit/physics_chopped_run.cpp,
// tests/slow/chopped_run.cpp.
#pragma once

#include <array>
#include <functional>
#include <vector>

#include "physics/run.h"
#include "physics/system.h"
#include "physics/transient.h"

namespace pb::physics {

/// Means over a period, by winding, direction of its drive, duty and current held, the other
/// winding as it usually is.
class PeriodMeans {
 public:
  static constexpr std::size_t kCurrents = 7;

  /// The other winding at `usual_A`. A point is simulated when it is first asked for: not from two
  /// threads, and while all that is given here lives. ok() is false from the first on that does not
  /// end.
  PeriodMeans(const Design& design, const std::vector<Spread>& spreads, const Point& point,
              const Temperatures& temperatures, const DriveTable& table, double usual_A,
              const StopToken& stop);
  bool ok() const { return ok_; }
  std::size_t points() const { return points_.size(); }

  /// The points a duty and a current along the drive lie between, and their shares.
  struct Between {
    std::array<std::size_t, 6> point{};
    std::array<double, 6> share{};
    std::size_t count = 0;
  };
  Between between(int winding, bool forward, double duty, double along_A) const;
  /// The point of a winding that nothing drives.
  std::size_t undriven(int winding) const;
  /// Mean voltage across a winding, along its drive. [V]
  double volts(const Between& at) const;

  /// What span_s does to each element, each winding having been `shares` [s] at each of its points:
  /// loss [J], charge [C] and square [A2 s]. What one winding changes is added to what the other
  /// does; where they meet in one resistance, as a product of their mean currents.
  void add(const std::vector<double>& shares, double span_s, std::vector<ElementSums>& to) const;

 private:
  /// Of one element: mean loss [W], current [A] and its square [A2].
  struct Mean {
    double loss_W = 0, i_A = 0, i2_A2 = 0;
  };
  struct Means {
    double volts = 0;
    std::vector<Mean> element;
  };
  /// One winding's part in a simulated period.
  struct Held {
    char sign;
    double duty, i_A;
  };
  struct Place {
    std::size_t winding;
    Held held;
  };
  Place place_of(std::size_t point) const;
  const Means& means_at(std::size_t point) const;
  bool simulate(const std::array<Held, 2>& held, std::size_t measured, Means& out) const;
  void note_resistors(const Circuit& circuit) const;

  struct Source {
    const Design& design;
    const std::vector<Spread>& spreads;
    const Point& point;
    const Temperatures& temperatures;
    const DriveTable& table;
    const StopToken& stop;
  } from_;
  double period_s_;
  std::array<double, kCurrents> i_A_{};
  std::vector<double> duties_;  // falling
  Held usually_{'+', 0, 0};
  mutable std::vector<Means> points_;
  mutable Means usual_;
  mutable std::vector<double> ohms_;  // of elements that are resistors with a mean current, else 0
  mutable bool ok_ = true;
};

/// Currents and rotor at one time.
struct MotorState {
  double t_s = 0, i_A[2] = {0, 0}, w_rad_s = 0, th_rad = 0;
};

/// What a stretch of the motion was made of.
struct MeanStretch {
  double from_s = 0, to_s = 0;
  std::vector<double> shares;  // [s] of each point of the means
  double i2_A2s[2] = {0, 0}, shaft_J = 0;
};

/// The motor over a plan, on the means: states at the ends of the plan's states and at the times
/// asked for (rising), and the moments of most current in either winding. `each` sees every stretch
/// from t = 0 on; one ends with every state and at every time asked for. May be empty.
struct MeanMotion {
  std::vector<MotorState> ends, asked;
  MotorState most[2];
  double rms_A = 0;  // of both windings, from t = 0 on
};
MeanMotion mean_motion(const Circuit& motor, const Plan& plan, const DriveTable& table,
                       const PeriodMeans& means, double supply_V,
                       const std::vector<double>& times_s,
                       const std::function<void(const MeanStretch&)>& each);

/// Share of the greatest current that a winding has on an average of the states that drive it.
double usual_share(const DriveTable& table);

/// The cable's current rings at every edge, and what it must be good for is its mean: a run from
/// the start of a supply on has seen an inrush, and resolves it no finer.
void expect_cable(const System& system, Transient& run, double winding_A);

/// All unknowns with the windings' currents held at the state's, everything else at rest; empty
/// without convergence.
std::vector<double> at_state(const Circuit& circuit, const MotorState& state);

}  // namespace pb::physics
