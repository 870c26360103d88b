// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "physics/plan.h"

#include <algorithm>
#include <utility>

#include "base/check.h"

namespace pb::physics {
namespace {

std::string levels_before(const Template& t) { return std::string(t.pins.size(), 'z'); }

/// Stands in for the firmware: keeps the time and writes down what the drive code does.
class Recorder {
 public:
  Recorder(const Design& d, const DriveTable& table) : d_(d), table_(table), view_(table.view()) {
    plan_.tick_s = table.tick_s;
    plan_.steps_per_state_x2 = 2 / table.per_step;
    const pb_port port{&Recorder::write_pin, &Recorder::set_timer, this};
    tick_ = -std::int64_t{view_.wake_ticks};
    plan_.settle_s = static_cast<double>(view_.wake_ticks) * table.tick_s;
    pb_drive_init(&drive_, &view_, &port);
  }
  Recorder(const Recorder&) = delete;
  Recorder& operator=(const Recorder&) = delete;

  void move(int states) {
    plan_.moving_states = states + 1;  // N states make N-1 steps
    PB_CHECK(pb_drive_move(&drive_, states) == 1, states);
    while (drive_.mode == PB_WAKING) expire();
    keep_state(table_.flows.front(), 0);
    keep_rate(0);
    while (timer_ != 0) next();
    // A hold without a release sets no timer.
    plan_.end_s = plan_.states.back().t_s +
                  (table_.c.releases > 0 ? kBrake_s : table_.tick_s * double(table_.c.hold_ticks));
  }

  void stand(double hold_s) {
    plan_.moving_states = 1;
    plan_.rotor_locked = true;
    PB_CHECK(pb_drive_move(&drive_, 1) == 1, "a move at rest");
    while (drive_.pending != 0) expire();
    keep_state(table_.flows.front(), 0);
    plan_.end_s = hold_s;
  }

  Plan finish() { return std::move(plan_); }

 private:
  static void write_pin(void* self, std::uint8_t pin, std::uint8_t level) {
    auto& r = *static_cast<Recorder*>(self);
    r.plan_.writes.push_back({r.tick_, pin, "01z"[level]});
  }
  static void set_timer(void* self, std::uint32_t ticks) {
    static_cast<Recorder*>(self)->timer_ = ticks;
  }

  void expire() {
    PB_CHECK(timer_ != 0, "the drive code waits for nothing");
    tick_ += std::exchange(timer_, 0);
    pb_drive_timer(&drive_);
  }

  /// One expiry, and the state it begins, if it does.
  void next() {
    const std::int32_t position = drive_.position;
    const std::uint8_t released = drive_.released;
    expire();
    if (drive_.position != position) {
      keep_state(table_.flows[drive_.index], tick_);
      if (drive_.mode == PB_MOVING) keep_rate(drive_.position);
    } else if (drive_.released != released) {
      keep_state(table_.release_flows[released], tick_);
    }
  }

  /// Notes whether the state that has just begun lasts as long as one at the running rate.
  void keep_rate(int state) {
    const bool at_rate = drive_.cruising != 0 && drive_.remaining - 1 > drive_.climbed;
    if (!at_rate) return;
    if (plan_.cruise_to == plan_.cruise_from) plan_.cruise_from = state;
    plan_.cruise_to = state + 1;
  }

  void keep_state(const std::string& flow, std::int64_t tick) {
    PlannedState s;
    PB_CHECK(find_state(d_.wiring, flow, s), flow);
    s.t_s = static_cast<double>(tick) * table_.tick_s;
    plan_.states.push_back(std::move(s));
  }

  const Design& d_;
  const DriveTable& table_;
  const pb_table view_;
  pb_drive drive_{};
  Plan plan_;
  std::int64_t tick_ = 0;
  std::uint32_t timer_ = 0;
};

}  // namespace

std::vector<std::string> flows_of(const std::string& sequence) {
  if (sequence == "two-phase") return {"++", "-+", "--", "+-"};
  if (sequence == "one-phase") return {"+0", "0+", "-0", "0-"};
  if (sequence == "half") return {"+0", "++", "0+", "-+", "-0", "--", "0-", "+-"};
  return {};
}

bool find_state(const Template& t, const std::string& flow, PlannedState& out) {
  out.flow = flow;
  out.levels = levels_before(t);
  out.on.clear();
  for (const DriveGroup& g : t.groups) {
    std::string want;
    for (char w : g.windings) want += w == 'a' ? flow[0] : flow[1];
    const auto s = std::find_if(g.states.begin(), g.states.end(),
                                [&](const DriveState& x) { return x.flow == want; });
    if (s == g.states.end()) return false;
    for (std::size_t k = 0; k < g.pins.size(); ++k) {
      const Pin* pin = find_pin(t, g.pins[k]);
      PB_CHECK(pin != nullptr, g.pins[k]);
      out.levels[static_cast<std::size_t>(pin - t.pins.data())] = s->levels[k];
    }
    out.on.insert(out.on.end(), s->on.begin(), s->on.end());
  }
  return true;
}

bool supports(const Template& t, const std::string& sequence) {
  PlannedState ignored;
  const auto flows = flows_of(sequence);
  return !flows.empty() && std::all_of(flows.begin(), flows.end(), [&](const std::string& f) {
    return find_state(t, f, ignored);
  });
}

Plan plan_move(const Design& d, const DriveTable& table, int steps) {
  PB_CHECK(steps > 0, steps);
  Recorder r(d, table);
  r.move(steps * table.per_step);
  return r.finish();
}

Plan plan_hold(const Design& d, const DriveTable& table, double hold_s) {
  Recorder r(d, table);
  r.stand(hold_s);
  return r.finish();
}

void stand_at(Plan& plan, const std::string& levels) {
  PB_CHECK(plan.states.size() == 1 && !plan.writes.empty(), plan.states.size());
  const std::int64_t tick = plan.writes.front().tick;
  plan.states.front().levels = levels;
  plan.states.front().on.clear();
  plan.writes.clear();
  for (std::size_t k = 0; k < levels.size(); ++k)
    plan.writes.push_back({tick, static_cast<int>(k), levels[k]});
}

}  // namespace pb::physics
