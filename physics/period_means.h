// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What a period of the chopping means for a winding and for every part. A period at a held current
// is simulated edge by edge, with its edges' energies; between such points figures follow
// parabolas. Valid where the current does not pause within a period and changes little in one (L/R
// slow against the chopping). Source: R. Middlebrook, S. Cuk, IEEE Power Electronics Specialists
// Conference, 1976, 18-34 (averaging over a period; from memory). Tested by
// tests/unit/physics_chopped_run.cpp, tests/slow/chopped_run.cpp.
#pragma once

#include <array>
#include <atomic>
#include <cstddef>
#include <memory>
#include <vector>

#include "physics/assembly.h"
#include "physics/devices/chopper.h"
#include "physics/drive_table.h"
#include "physics/run.h"
#include "physics/transient.h"

namespace pb::physics {

/// One winding's part in a simulated period: direction of its drive, share of the period, current.
struct HeldDrive {
  char sign;
  double duty, i_A;
};

/// What one simulated period said. `element` is empty where it did not end.
struct SimulatedPeriod {
  /// Of one element: mean loss [W], current [A] and its square [A2].
  struct Mean {
    double loss_W = 0, i_A = 0, i2_A2 = 0;
  };
  /// Of a chopper that measures: how long one of its modes lasted, the integral of the voltage
  /// across the winding meanwhile, and the voltage at its end.
  struct Stretch {
    double span_s = 0, sum_Vs = 0, end_V = 0;
  };
  static std::size_t number_of(ChopperLatch::Mode mode) {
    return static_cast<std::size_t>(mode) - static_cast<std::size_t>(ChopperLatch::Mode::driven);
  }
  double volts = 0;     // mean across the winding looked at, on a rail that is not lifted
  double beside_W = 0;  // mean loss of all but the windings
  std::vector<Mean> element;
  std::vector<double> ohms;          // of elements that are resistors with a mean current, else 0
  std::array<Stretch, 3> stretch{};  // driven, fast, slow
  double sense_V = 0;                // at the end of the time it is driven
  double reference_gain = 0;         // volts compared with for each of the analog output
};

/// Resistances of the circuit's resistors, those inside capacitors as 0: no mean current.
std::vector<double> ohms_of(const Circuit& circuit);

/// What a simulated period is of.
struct PeriodAt {
  const Design& design;
  const std::vector<Spread>& spreads;
  const Point& point;
  const Temperatures& temperatures;
  double tick_s, dead_time_s, period_s;
  double supply_V() const { return value_of(spreads, point, "supply.voltage"); }
};

/// One period with both windings held at their currents, after half of another to settle in;
/// `measured`: the winding looked at. An empty one if it does not end.
SimulatedPeriod simulated_period(const PeriodAt& at, const std::array<HeldDrive, 2>& held,
                                 std::size_t measured);
/// The same of one circuit with that winding at each of these currents [A]; of more than half as
/// many as there are lanes in lockstep, so that results depend on which are asked for together.
std::vector<SimulatedPeriod> simulated_periods(const PeriodAt& at,
                                               const std::array<HeldDrive, 2>& held,
                                               std::size_t measured,
                                               const std::vector<double>& currents_A);

/// Periods of one drive at one electrical point and one set of temperatures, by winding, direction
/// of its drive, row and current held, the other winding as it usually is. One is simulated when
/// it, or one that is simulated with it, is first asked for, by whichever run; from any thread (two
/// may then simulate the same, to the same numbers). Rows: of a drive by duty its duties, each
/// simulated as a whole, and then windings that nothing drives any more; of one that measures two
/// on-times of the chopper (chop_cycle.h), then driven throughout.
class PeriodPoints {
 public:
  static constexpr std::size_t kCurrents = 7, kOnTimes = 2, kDriven = 2;

  /// The other winding at `usual_A`. The design and its spreads must outlive this.
  /// `in_step`: choppers of an off-time that began together and do the same.
  PeriodPoints(const Design& design, const std::vector<Spread>& spreads, Point point,
               Temperatures temperatures, const DriveTable& table, double usual_A,
               bool in_step = false);
  ~PeriodPoints();
  PeriodPoints(const PeriodPoints&) = delete;
  PeriodPoints& operator=(const PeriodPoints&) = delete;

  /// With a stop requested nothing is simulated: an empty period, which is not kept.
  const SimulatedPeriod& at(std::size_t index, const StopToken& stop) const;
  /// Both windings as they usually are: what a point differs from. One, or one for each on-time.
  const SimulatedPeriod& usual(std::size_t which, const StopToken& stop) const {
    return at(count() + which, stop);
  }
  std::size_t usuals() const { return measures() ? kOnTimes : 1; }
  /// Of a drive that measures: what the second on-time of this winding alone adds to the first, as
  /// two points, the other winding driven throughout.
  struct Longer {
    const SimulatedPeriod *first, *second;
  };
  Longer longer(std::size_t winding, const StopToken& stop) const;
  std::size_t usual_of(std::size_t index) const;
  bool measures() const { return !on_s_.empty(); }

  /// Of all windings' points; that of a winding that nothing drives.
  std::size_t count() const { return known_.size() - usuals() - (measures() ? 2 : 0); }
  std::size_t undriven(int winding) const {
    return count() - 2 + static_cast<std::size_t>(winding);
  }
  std::size_t winding_of(std::size_t index) const { return place_of(index).winding; }
  const std::array<double, kCurrents>& currents_A() const { return i_A_; }
  const std::vector<double>& duties() const { return duties_; }    // falling
  const std::vector<double>& on_times_s() const { return on_s_; }  // rising
  const Chopper& law() const { return law_; }
  /// Of a drive by duty: a winding that nothing drives, while its current still flows.
  std::size_t open(int winding, std::size_t current) const {
    return (4 * rows() + static_cast<std::size_t>(winding)) * kCurrents + current;
  }
  /// drive: twice the winding, and one more for the direction backwards.
  std::size_t index_of(std::size_t drive, std::size_t row, std::size_t current) const {
    return (drive * rows() + row) * kCurrents + current;
  }

 private:
  struct Place {
    std::size_t winding, row;
    HeldDrive held;
  };
  static constexpr std::size_t kMuch = 5;  // of the currents
  std::size_t rows() const { return measures() ? kOnTimes + 1 : duties_.size(); }
  Place place_of(std::size_t index) const;
  /// Points that are simulated with this one.
  struct Together {
    std::size_t from, to;
  };
  Together together_with(std::size_t index) const;
  bool usual_is_of_row_0() const;
  /// Theirs; behind them, if it is of their row, both as usual.
  std::vector<SimulatedPeriod> simulated(std::size_t from, std::size_t to) const;
  void keep(std::size_t index, SimulatedPeriod&& period) const;

  const Design& design_;
  const std::vector<Spread>& spreads_;
  const Point point_;
  const Temperatures temperatures_;
  const double tick_s_, dead_time_s_, period_ticks_, period_s_;
  const bool in_step_;
  std::array<double, kCurrents> i_A_{};
  std::vector<double> duties_, on_s_;
  Chopper law_;
  HeldDrive usually_{'+', 0, 0};
  mutable std::vector<std::atomic<const SimulatedPeriod*>> known_;  // at the end: both as usual
};

/// Periods that runs of one design have asked for: those that differ in load, rate and inertia
/// alone find each other's. From any thread; what a run gets depends on nobody else.
class PeriodStore {
 public:
  /// Of this design and every other that differs in its motion and mechanics alone.
  PeriodStore(const Design& design, const std::vector<Spread>& spreads)
      : design_(design), spreads_(spreads) {}
  ~PeriodStore();
  PeriodStore(const PeriodStore&) = delete;
  PeriodStore& operator=(const PeriodStore&) = delete;

  const PeriodPoints& of(const Point& point, const Temperatures& temperatures,
                         const DriveTable& table, double usual_A, bool in_step = false);

 private:
  /// What a simulated period reads.
  using Key = std::vector<double>;
  struct Entry;
  Key key_of(const Point& point, const Temperatures& temperatures, const DriveTable& table,
             double usual_A) const;

  const Design design_;
  const std::vector<Spread> spreads_;
  std::atomic<Entry*> newest_ = nullptr;
};

/// Periods as one run sees them.
class PeriodMeans {
 public:
  /// The points must outlive this.
  PeriodMeans(const PeriodPoints& points, const StopToken& stop) : points_(points), stop_(stop) {}
  /// False from the first period on that does not end.
  bool ok() const { return ok_; }
  std::size_t points() const { return points_.count(); }

  /// The points a duty and a current along the drive lie between, and their shares.
  struct Between {
    std::array<std::size_t, 6> point{};
    std::array<double, 6> share{};
    std::size_t count = 0;
  };
  Between between(int winding, bool forward, double duty, double along_A) const;
  /// Of a drive that measures: a winding driven throughout; a whole cycle with this on-time, in
  /// shares of a cycle's time.
  Between driven(int winding, bool forward, double along_A) const;
  Between cycle(int winding, bool forward, double on_s, double along_A) const;
  /// The point of a winding that nothing drives, without a current.
  std::size_t undriven(int winding) const { return points_.undriven(winding); }
  /// Of a drive by duty: the same while its current still flows.
  Between open(int winding, double i_A) const;
  /// Mean voltage across a winding, along its drive. [V]
  double volts(const Between& at) const;
  /// What all but the windings lose more than as usual, for this winding is there. [W]
  double beside_W(const Between& at) const;
  double beside_W(std::size_t point) const { return at(point).beside_W - usual_beside_W(); }
  double usual_beside_W() const { return points_.usual(0, stop_).beside_W; }

  const PeriodPoints& of() const { return points_; }
  const SimulatedPeriod& at(std::size_t index) const {
    const SimulatedPeriod& p = points_.at(index, stop_);
    ok_ = ok_ && !p.element.empty();
    return p;
  }

  /// What span_s does to each element, each winding having been `shares` [s] at each of its points:
  /// loss [J], charge [C] and square [A2 s]. What one winding changes is added to what the other
  /// does; where they meet in one resistance, as a product of their mean currents.
  void add(const std::vector<double>& shares, double span_s, std::vector<ElementSums>& to) const;

 private:
  struct Weight {
    std::size_t current;
    double share;
  };
  std::array<Weight, 3> weights(double i_A) const;
  /// So many seconds of a winding at a point, or so many less.
  struct Part {
    double s;
    const SimulatedPeriod* point;
    std::size_t winding;
  };
  std::vector<Part> parts_of(const std::vector<double>& shares) const;

  const PeriodPoints& points_;
  const StopToken& stop_;
  mutable bool ok_ = true;
};

/// Share of the greatest current that a winding has on an average of the states that drive it.
double usual_share(const DriveTable& table);

}  // namespace pb::physics
