// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A microcontroller with nothing but pins and one timer, for the drive code to run on.
#pragma once

#include <cstdint>
#include <map>
#include <utility>
#include <vector>

#include "physics/drive_table.h"

namespace pb::rigs {

using namespace physics;

/// The firmware's side, with nothing shared with the plan's.
struct Firmware {
  pb_drive drive{};
  DriveTable tables;  // what the table points into
  pb_table table;
  std::uint64_t now = 0;
  std::uint32_t timer = 0;
  std::map<int, int> pins;
  std::map<int, std::vector<int>> references;  // of each winding's analog output, as they came
  std::vector<std::uint64_t> begun;            // states of the move

  explicit Firmware(DriveTable t) : tables(std::move(t)), table(tables.view()) {
    const pb_port port{
        [](void* self, std::uint8_t pin, std::uint8_t level) {
          static_cast<Firmware*>(self)->pins[pin] = level;
        },
        [](void* self, std::uint32_t ticks) { static_cast<Firmware*>(self)->timer = ticks; }, this,
        [](void* self, std::uint8_t winding, std::uint16_t level) {
          static_cast<Firmware*>(self)->references[winding].push_back(level);
        }};
    pb_drive_init(&drive, &table, &port);
  }
  Firmware(const Firmware&) = delete;

  void expire() {
    now += timer;
    timer = 0;
    const std::int32_t before = drive.position;
    const bool woke = drive.mode == PB_WAKING && drive.pending == 0;
    pb_drive_timer(&drive);
    if (drive.position != before || woke) begun.push_back(now);
  }
  void run() {
    while (timer != 0) expire();
  }
  std::vector<std::uint64_t> intervals() const {
    std::vector<std::uint64_t> out;
    for (std::size_t k = 1; k < begun.size(); ++k) out.push_back(begun[k] - begun[k - 1]);
    return out;
  }
};

}  // namespace pb::rigs
