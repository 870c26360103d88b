// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The choppers of a circuit beside its integration: each watches its sense voltage and steers its
// bridge or its pins. Tested by tests/unit/physics_chopper.cpp.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "physics/responder.h"
#include "physics/system.h"

namespace pb::physics {

class Chopping final : public Responder {
 public:
  /// Works on the system, which outlives it, from t0 on.
  Chopping(System& system, double t0_s);

  /// In the midst of things at t: every winding is driven as its state says, its pins are there.
  void begin_driven(double t_s);

  double next_s() const override;
  double longest_step_s() const override;
  std::size_t signals() const override { return choppers_.size(); }
  double signal(std::size_t k, const std::vector<double>& x) const override;
  bool respond(double t_s, const std::vector<double>& x,
               const std::vector<std::size_t>& rose) override;

  /// A stretch in which a winding was driven, or left to decay, is just over: called before
  /// anything changes.
  struct Stretch {
    const ChopperElement* chopper;
    ChopperLatch::Mode mode;
    double from_s, to_s;
  };
  std::function<void(const Stretch&, const std::vector<double>& x)> on_stretch;
  long trips = 0;  // of all

 private:
  struct One {
    const ChopperElement* element;
    ChopperLatch latch;
    std::size_t state = 0;  // of pins: the next one
    bool begun = false, paced = false;
    double turned_off_s = -kNever_s;
    std::string at{}, wanted{};    // levels of the pins
    double turns_on_s = kNever_s;  // what is still to be turned on
    double ramp_from_s = -kNever_s, ramp_to_s = -kNever_s;
    double since_s = 0;
  };

  double next_of(const One& c) const;
  double excess_V(const One& c, const std::vector<double>& x) const;
  static void keep_pace(One& c, double t_s);
  bool advance(One& c, double t_s, const std::vector<double>& x);
  bool next_state(One& c, double t_s, const std::vector<double>& x);
  void end_stretch(One& c, double t_s, const std::vector<double>& x) const;
  bool apply(One& c, double t_s);
  bool steer_pins(One& c, double t_s);
  void turn(One& c, std::size_t pin, double t_s);
  void set_pin(const One& c, std::size_t pin, double t_s);
  void steer_bridge(One& c, double t_s);

  System& system_;
  std::vector<One> choppers_;
  double now_s_;
};

}  // namespace pb::physics
