// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What flows through the copper of each net, probed at every lead while a design runs.
//   end       i(t) from the net into one lead of a part, or to the outside of the board
//   through   s(t) = 1/2 sum |i| over the ends of the net
// The currents of a net's ends add up to zero, so no piece of its copper, however it is routed,
// carries more than s(t). Capacitors count with the mean of each step. Tested by
// tests/unit/physics_net_current.cpp.
#pragma once

#include <string>
#include <vector>

#include "model/design.h"
#include "physics/watched_run.h"

namespace pb::physics {

/// Means over the span asked [A]; the peak over everything seen from t = 0 on.
struct Flow {
  double mean_A = 0, rms_A = 0, peak_A = 0, peak_s = 0;
};

/// `ref` is a place's, "supply", "motor", "controller" or "pin NAME"; the terminal a place's.
struct NetEndFlow {
  std::string ref, terminal;
  Flow flow;
};

struct NetFlow {
  std::string net;
  std::vector<NetEndFlow> ends;
  Flow through;
  double apart_V = 0;  // greatest voltage against any other net
};

/// Watches one run or one resting state.
class NetCurrents {
 public:
  NetCurrents(const Design& design, MeanSpan span);
  void step(const System& system, double t_s, const std::vector<double>& x);
  /// Every net of the board, in the order in which the design names them.
  std::vector<NetFlow> flows() const;

 private:
  struct Sums {
    double charge_C = 0, abs_C = 0, i2_A2s = 0, peak_A = 0, peak_s = 0;
  };
  struct End {
    std::string ref, terminal;
    std::size_t net;
    double now_A = 0, stored_A = 0, before_A = 0;  // stored: of capacitors, the mean of the step
    Sums sums;
  };
  /// One lead of an element: what of its reading goes into which end.
  struct Lead {
    std::size_t end, element;
    double sign;
  };
  struct StoredLead {
    std::size_t end, store;
    double sign;
  };
  struct Net {
    std::string name;
    int node = -1;
    std::vector<std::size_t> ends;
    double apart_V = 0;
    Sums sums;
  };

  void list(const System& system);
  void list_ends(const System& system);
  void list_leads(const System& system);
  void add_end(const std::string& ref, const std::string& terminal, const std::string& net);
  std::size_t end_at(const std::string& ref, int node) const;
  void lead(const std::string& ref, int node, std::size_t element, double sign);
  void two(const std::string& ref, int a, int b, std::size_t element);
  void read(const System& system, const std::vector<double>& x, double h_s);
  void close_to_outside();
  void add(double t_s, double h_s);
  void spread_of_voltages(const System& system, const std::vector<double>& x);
  Flow flow_of(const Sums& s, bool magnitude) const;

  const Design& d_;
  MeanSpan span_;
  bool listed_ = false, resting_ = true;
  double t_s_ = 0;
  std::vector<Net> nets_;
  std::vector<End> ends_;
  std::vector<Lead> leads_;
  std::vector<StoredLead> stored_;
  std::vector<double> stored_C_;  // of the capacitors, then of what depletes, then of ceramics
};

}  // namespace pb::physics
