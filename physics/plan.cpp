// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "physics/plan.h"

#include <algorithm>
#include <cmath>
#include <set>
#include <tuple>
#include <utility>

#include "base/check.h"

namespace pb::physics {
namespace {

/// From power on until the timer is set up. Any time would do.
constexpr double kClockFrom_s = 1e-4;

std::string levels_before(const Template& t) { return std::string(t.pins.size(), 'z'); }

/// Stands in for the firmware: keeps the time and writes down what the drive code does.
class Recorder {
 public:
  Recorder(const Design& d, const DriveTable& table) : d_(d), table_(table), view_(table.view()) {
    plan_.tick_s = table.tick_s;
    plan_.per_step = table.per_step;
    const pb_port port{&Recorder::write_pin, &Recorder::set_timer, this, &Recorder::set_reference};
    plan_.measured = view_.reference.a != nullptr;
    plan_.clock_Hz = clock_of(d.wiring);
    plan_.dead_s = static_cast<double>(view_.dead_ticks) * table.tick_s;
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
    // A hold without a release sets no timer, but a chopped one goes on for ever.
    while (timer_ != 0 && (drive_.remaining > 0 || drive_.released < table_.c.releases)) next();
    const double held_s = table_.tick_s * double(table_.c.hold_ticks);
    const bool lessens = (view_.chop.period != 0 && view_.chop.hold_256ths < 256) ||
                         (plan_.measured && view_.reference.hold_256ths < 256);
    plan_.end_s = plan_.states.back().t_s +
                  (table_.c.releases > 0 ? kBrake_s : held_s + (lessens ? kBrake_s : 0.0));
    run_out();
  }

  void stand(double hold_s) {
    plan_.moving_states = 1;
    plan_.rotor_locked = true;
    view_.wake_ticks = 0;  // for ever
    PB_CHECK(pb_drive_move(&drive_, 1) == 1, "a move at rest");
    while (drive_.pending != 0) expire();
    keep_state(table_.flows.front(), 0);
    plan_.end_s = hold_s;
    if (plan_.clock_Hz > 0) {  // means are of the last tenth: whole periods
      const double ten_s = 10.0 / plan_.clock_Hz;
      plan_.end_s = ten_s * std::max(std::ceil(hold_s / ten_s), 1.0);
    }
    run_out();
  }

  Plan finish() {
    if (view_.chop.period != 0) choose_looks();
    if (plan_.clock_Hz > 0) look_before_clock();
    return std::move(plan_);
  }

 private:
  static void write_pin(void* self, std::uint8_t pin, std::uint8_t level) {
    auto& r = *static_cast<Recorder*>(self);
    r.plan_.writes.push_back({r.tick_, pin, "01z"[level]});
  }
  static void set_reference(void* self, std::uint8_t winding, std::uint16_t level) {
    constexpr double kFull = 65535;
    auto& r = *static_cast<Recorder*>(self);
    r.plan_.references.push_back({r.tick_, winding, level / kFull});
  }
  static void set_timer(void* self, std::uint32_t ticks) {
    static_cast<Recorder*>(self)->timer_ = ticks;
  }

  void expire() {
    PB_CHECK(timer_ != 0, "the drive code waits for nothing");
    tick_ += std::exchange(timer_, 0);
    pb_drive_timer(&drive_);
    if (view_.chop.period != 0)
      for (int w : {0, 1}) watch_winding(w);
  }

  /// What is left of the last dead time, or a chopped drive up to the end of the plan.
  void run_out() {
    const auto in_time = [&] { return double(tick_ + timer_) * table_.tick_s < plan_.end_s; };
    while (timer_ != 0 && (view_.chop.period == 0 || in_time())) expire();
  }

  /// A stretch of a winding's period in which none of its pins changes.
  struct Slice {
    std::int64_t from, to;
    std::size_t state;  // of the sequence
    int winding;
    bool driven;
    std::size_t place;  // which state of the plan it lies in
  };

  /// What the winding's pins are at: driven, decaying, or neither (within a dead time).
  enum class At { neither, driven, relaxed };
  At at(int winding) const {
    const auto a = view_.chop.pins_a;
    const auto mask = static_cast<std::uint16_t>(winding == 0 ? a : ~a);
    const auto is = [&](const pb_levels& x) {
      return ((drive_.now.high ^ x.high) & mask) == 0 &&
             ((drive_.now.driven ^ x.driven) & mask) == 0;
    };
    const bool in_sequence = drive_.mode == PB_WAKING || drive_.mode == PB_MOVING;
    if (!in_sequence) return At::neither;
    if (is(view_.sequence[drive_.index])) return At::driven;
    return is(view_.chop.relaxed[drive_.index]) ? At::relaxed : At::neither;
  }

  void watch_winding(int w) {
    Open& open = open_[w];
    const At now = at(w);
    if (now == open.at && drive_.index == open.state) return;
    if (open.at != At::neither && open.from >= 0)
      slices_.push_back(
          {open.from, tick_, open.state, w, open.at == At::driven, plan_.states.size()});
    open = {now, tick_, drive_.index};
  }

  /// Looks at the ends of the slices: in each state, of each winding and kind the last that lasts
  /// at least half as long as the longest of its kind. In shorter ones a gate need not arrive
  /// anywhere.
  void choose_looks() {
    std::int64_t longest[2] = {0, 0};
    for (const Slice& s : slices_) longest[s.driven] = std::max(longest[s.driven], s.to - s.from);
    std::vector<Slice> chosen;
    std::set<std::tuple<std::size_t, int, bool>> seen;
    for (auto s = slices_.rbegin(); s != slices_.rend(); ++s)
      if (2 * (s->to - s->from) >= longest[s->driven] &&
          seen.insert({s->place, s->winding, s->driven}).second)
        chosen.push_back(*s);
    std::stable_sort(chosen.begin(), chosen.end(),
                     [](const Slice& a, const Slice& b) { return a.to < b.to; });
    for (const Slice& s : chosen) {
      PlannedState meant;
      const auto& flows = s.driven ? table_.flows : table_.relaxed_flows;
      PB_CHECK(find_state(d_.wiring, flows[s.state], meant), flows[s.state]);
      Look look{static_cast<double>(s.to) * table_.tick_s, {}, {}};
      for (const std::string& ref : switches_of(d_.wiring, s.winding)) {
        const bool on = std::find(meant.on.begin(), meant.on.end(), ref) != meant.on.end();
        (on ? look.on : look.off).push_back(ref);
      }
      plan_.looks.push_back(std::move(look));
    }
  }

  /// What a clocked pin pumps up is lowest just before an edge, and whether it rises or falls then
  /// is the wiring's affair: a look before the last of either kind, and one at the state's end.
  void look_before_clock() {
    const double half_s = 0.5 / plan_.clock_Hz;
    std::set<std::string> all;
    for (int w : {0, 1})
      for (const std::string& ref : switches_of(d_.wiring, w)) all.insert(ref);
    for (std::size_t k = 0; k < plan_.states.size(); ++k) {
      const PlannedState& s = plan_.states[k];
      const double end_s = k + 1 < plan_.states.size() ? plan_.states[k + 1].t_s : plan_.end_s;
      Look look{end_s, s.on, {}};
      for (const std::string& ref : all)
        if (std::find(s.on.begin(), s.on.end(), ref) == s.on.end()) look.off.push_back(ref);
      const double last = std::floor((end_s - clock_from_s(plan_)) / half_s);
      for (double n : {last - 1, last}) {
        look.t_s = clock_from_s(plan_) + n * half_s;
        if (look.t_s > 0.5 * (s.t_s + end_s)) plan_.looks.push_back(look);
      }
      look.t_s = end_s;
      plan_.looks.push_back(look);
    }
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
  pb_table view_;
  pb_drive drive_{};
  Plan plan_;
  std::int64_t tick_ = 0;
  std::uint32_t timer_ = 0;
  struct Open {
    At at = At::neither;
    std::int64_t from = 0;
    std::size_t state = 0;
  };
  Open open_[2];
  std::vector<Slice> slices_;
};

}  // namespace

std::vector<std::string> flows_of(const std::string& sequence, int microsteps) {
  if (sequence == "two-phase") return {"++", "-+", "--", "+-"};
  if (sequence == "one-phase") return {"+0", "0+", "-0", "0-"};
  if (sequence == "half") return {"+0", "++", "0+", "-+", "-0", "--", "0-", "+-"};
  if (sequence != "micro") return {};
  // Counted in whole states, so that the four places without a current are exactly that.
  const int quarter = std::max(microsteps, 1), cycle = 4 * quarter;
  const auto sign = [&](int k) {  // of the cosine of k states
    const int from_top = std::min(k % cycle, cycle - k % cycle);
    return from_top < quarter ? '+' : from_top == quarter ? '0' : '-';
  };
  std::vector<std::string> out;
  out.reserve(static_cast<std::size_t>(cycle));
  for (int k = 0; k < cycle; ++k) out.push_back({sign(k), sign(k + 3 * quarter)});
  return out;
}

std::vector<std::string> switches_of(const Template& t, int winding) {
  std::set<std::string> out;
  for (const DriveGroup& g : t.groups)
    if (g.windings.find("ab"[winding]) != std::string::npos)
      for (const DriveState& s : g.states) out.insert(s.on.begin(), s.on.end());
  return {out.begin(), out.end()};
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

double clock_from_s(const Plan& plan) { return -plan.settle_s + kClockFrom_s; }

void stand_at(Plan& plan, const std::string& levels) {
  PB_CHECK(plan.states.size() == 1 && !plan.writes.empty(), plan.states.size());
  const std::int64_t tick = plan.writes.front().tick;
  plan.states.front().levels = levels;
  plan.states.front().on.clear();
  plan.looks.clear();
  plan.writes.clear();
  for (std::size_t k = 0; k < levels.size(); ++k)
    plan.writes.push_back({tick, static_cast<int>(k), levels[k]});
}

}  // namespace pb::physics
