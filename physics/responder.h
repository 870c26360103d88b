// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What changes the sources of a circuit by what it sees of the circuit: the integrator ends a step
// where a signal of it rises through zero, and where its own next moment is. Between the two its
// sources are functions of time, as profiles are.
#pragma once

#include <cstddef>
#include <vector>

namespace pb::physics {

class Responder {
 public:
  virtual ~Responder() = default;

  /// When its sources have their next corner, or it does something by itself. [s]
  virtual double next_s() const = 0;
  /// The longest step where its sources now are. [s]
  virtual double longest_step_s() const = 0;
  virtual std::size_t signals() const = 0;
  /// Of a state, at the time the system is set to; below zero where nothing is waited for. [V]
  virtual double signal(std::size_t k, const std::vector<double>& x) const = 0;
  /// A step has ended at t; `rose`: signals that are at zero there, having come from below. True:
  /// the sources have a corner here.
  virtual bool respond(double t_s, const std::vector<double>& x,
                       const std::vector<std::size_t>& rose) = 0;
};

}  // namespace pb::physics
