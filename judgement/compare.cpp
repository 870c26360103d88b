// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/compare.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include "base/math.h"
#include "base/text.h"
#include "judgement/causes.h"
#include "judgement/evidence.h"
#include "judgement/overlap.h"
#include "judgement/yield.h"
#include "physics/run.h"

namespace pb {
namespace {

constexpr double kGrid = 2000;          // steps over the shorter of capture and simulation
constexpr double kMostGrid = 20000;     // over the longer
constexpr int kMostSteps = 400;         // of the move that is simulated
constexpr double kMayBeOutside = 0.01;  // of the readings: edges that fall between rows
// A few dozen units do not reach the ends of what many would do (32 of them cover 94 % of each
// reading, by rank): the band is that much wider on either side, of its width.
constexpr double kWiden = 0.15;
constexpr double kFloor = 0.005;  // of a signal's range: nobody's probe is better

struct Signal {
  std::string name, unit;
  const CaptureChannel* channel;
};

/// The columns of a recorded run by the names of waveforms.csv.
struct RunColumn {
  const char *name, *unit;
};
constexpr RunColumn kFixed[] = {{"winding_a", "A"}, {"winding_b", "A"}, {"rail", "V"},
                                {"supply", "A"},    {"theta", "rad"},   {"speed", "rad_s"},
                                {"torque", "Nm"}};

std::size_t column_of(const physics::Waveforms& w, const std::string& name) {
  for (std::size_t k = 0; k < std::size(kFixed); ++k)
    if (kFixed[k].name == name) return k + 1;
  const auto at = std::find(w.names.begin(), w.names.end(), name);
  return static_cast<std::size_t>(at - w.names.begin()) + std::size(kFixed) + 1;
}

class Comparer {
 public:
  Comparer(const Design& d, const Capture& capture, const CompareOptions& o)
      : d_(d), capture_(capture), o_(o), case_(case_of(d)) {}

  Checked<Comparison> run() {
    case_.dead_time_s = dead_time_of(case_);
    if (!given(case_.dead_time_s))
      return undecided("a switch does not turn off within half a step");
    const double span = capture_.t_s.back() - capture_.t_s.front();
    const double steps = std::ceil(span * d_.brief.motion.rate_steps_s) + 8;
    case_.steps = static_cast<int>(
        std::min({d_.brief.motion.move_steps, std::max(steps, 16.0), double(kMostSteps)}));
    const Variant nominal{d_, physics::typical(case_.spreads), {{1, 0}, {0, 1}}};
    const auto waves = waves_of(nominal);
    if (!waves) return stopped() ? cancelled() : undecided("the design's own run does not end");
    if (Problems p = choose_signals(*waves); !p.empty()) return std::unexpected(std::move(p));
    choose_grid(*waves, span);
    for (const Signal& s : signals_)
      measured_.push_back(
          on_grid(capture_.t_s, s.channel->y, capture_.t_s.front(), step_s_, measured_count_));
    nominal_ = sampled(*waves, nominal);
    if (Problems p = unfit(); !p.empty()) return std::unexpected(std::move(p));
    if (!band()) return cancelled();
    Alignment at = align(measured_, nominal_);
    if (Problems p = exchanged(at); !p.empty()) return std::unexpected(std::move(p));
    lag_ = refined(measured_, nominal_, scale_, at.lag);
    out_.likeness = at.likeness;
    out_.aligned_s = lag_ * step_s_ - capture_.t_s.front();
    judge();
    // Within the band, too, a capture may lie off what is typical for one reason.
    constexpr double kNotable = 0.01;  // of the squared half width of the band
    const double square = mean_square(measured_, nominal_, scale_, lag_);
    if (!out_.inside_band || square > kNotable + 2 * noise_share()) explain(square);
    if (stopped()) return cancelled();
    return std::move(out_);
  }

 private:
  bool stopped() const { return o_.stop.stop_requested(); }
  Comparison cancelled() {
    out_.cancelled = true;
    return std::move(out_);
  }
  Comparison undecided(const std::string& why) {
    out_.undecided = why;
    return std::move(out_);
  }
  void progress(double share) const {
    if (o_.progress) o_.progress(share);
  }

  std::optional<physics::Waveforms> waves_of(const Variant& v) const {
    physics::RunRequest request;
    request.plan = physics::plan_move(
        v.design, physics::drive_table(v.design, v.design.settings.sequence, case_.dead_time_s),
        case_.steps);
    // A move cut short says nothing of what comes after its last step.
    if (case_.steps < d_.brief.motion.move_steps)
      request.plan.end_s = std::min(
          request.plan.end_s,
          request.plan.states[static_cast<std::size_t>(request.plan.moving_states) - 1].t_s);
    request.record = true;
    physics::Temperatures temperatures;
    temperatures.winding_K = physics::value_of(case_.spreads, v.point, "ambient");
    auto f = physics::run(v.design, case_.spreads, v.point, temperatures, request, o_.stop);
    if (f.outcome != physics::Outcome::reached_end || f.waves.rows.size() < 2) return std::nullopt;
    return std::move(f.waves);
  }

  Signals sampled(const physics::Waveforms& w, const Variant& v) const {
    std::vector<double> t, y;
    for (const auto& row : w.rows) t.push_back(row[0]);
    Signals out;
    for (const Signal& s : signals_) {
      const std::size_t column = column_of(w, s.name);
      y.clear();
      for (const auto& row : w.rows)
        y.push_back(column <= 2 ? v.see[column - 1][0] * row[1] + v.see[column - 1][1] * row[2]
                                : row[column]);
      out.push_back(on_grid(t, y, 0, step_s_, model_count_));
    }
    return out;
  }

  Problems choose_signals(const physics::Waveforms& w) {
    std::vector<std::string> known;
    const auto look = [&](const std::string& name, const std::string& unit) {
      known.push_back(name + "_" + unit);
      const CaptureChannel* c = find_channel(capture_, name, unit);
      if (!c && unit == "V") c = find_channel(capture_, name + "_V", unit);
      if (c) signals_.push_back({name, unit, c});
    };
    for (const RunColumn& c : kFixed) look(c.name, c.unit);
    for (const std::string& node : w.names) look(node, "V");
    if (!signals_.empty()) return {};
    std::vector<std::string> there;
    there.reserve(capture_.channels.size());
    for (const CaptureChannel& c : capture_.channels) there.push_back(c.name);
    return {{.file = capture_.file,
             .key = "--column",
             .expected = "one of the channels " + join(known, ", "),
             .found = escaped(join(there, ", "), 200),
             .message = "name them: --column winding_a_A=CH1"}};
  }

  void choose_grid(const physics::Waveforms& w, double span_s) {
    const double end_s = w.rows.back()[0];
    step_s_ = std::max(std::min(end_s, span_s) / kGrid, std::max(end_s, span_s) / kMostGrid);
    model_count_ = static_cast<std::size_t>(end_s / step_s_) + 1;
    measured_count_ = static_cast<std::size_t>(span_s / step_s_) + 1;
  }

  struct Extent {
    double low = HUGE_VAL, high = -HUGE_VAL, sum = 0, n = 0;
    double range() const { return high - low; }
    double mean() const { return n > 0 ? sum / n : 0; }
  };
  static Extent extent(const std::vector<double>& y) {
    Extent e;
    for (double x : y)
      if (!std::isnan(x))
        e.low = std::min(e.low, x), e.high = std::max(e.high, x), e.sum += x, e.n += 1;
    return e;
  }

  /// A channel that cannot be a recording of what it is called.
  Problems unfit() const {
    Problems problems;
    for (std::size_t s = 0; s < signals_.size(); ++s) {
      const Extent m = extent(measured_[s]), p = extent(nominal_[s]);
      const double noise = noise_of(*signals_[s].channel);
      const std::string name = escaped(signals_[s].name, 40) + "_" + signals_[s].unit;
      constexpr double kMoves = 0.05;  // of its own size: a rail may well stand still
      const bool should = p.range() > kMoves * std::max(std::abs(p.low), std::abs(p.high));
      if (should && !(m.range() > std::max(10 * noise, 1e-3 * p.range())))
        problems.push_back({.file = capture_.file,
                            .key = name,
                            .expected = "a channel that moves, about " + significant(p.low, 3) +
                                        " to " + significant(p.high, 3),
                            .found = "one that does not move"});
      else if (signals_[s].name.starts_with("winding") && is_clipped(*signals_[s].channel))
        problems.push_back(
            {.file = capture_.file,
             .key = name,
             .expected = "the whole of the signal",
             .found = "one cut off at " + significant(m.low, 3) + " or " + significant(m.high, 3),
             .message = "the instrument's range was too small"});
    }
    return problems;
  }

  /// Two columns under each other's name: exchanged, the capture is far more like the design.
  Problems exchanged(const Alignment& as_named) const {
    const auto level = [&](std::size_t m, std::size_t p) {
      const Extent a = extent(measured_[m]), b = extent(nominal_[p]);
      return std::abs(a.mean() - b.mean()) / (std::abs(b.mean()) + b.range());
    };
    for (std::size_t i = 0; i < signals_.size(); ++i)
      for (std::size_t j = i + 1; j < signals_.size(); ++j) {
        constexpr double kFar = 0.5, kNear = 0.3;
        bool wrong =
            level(i, i) > kFar && level(j, j) > kFar && level(i, j) < kNear && level(j, i) < kNear;
        if (!wrong && signals_[i].unit == signals_[j].unit && signals_[i].unit == "A") {
          Signals other = measured_;
          std::swap(other[i], other[j]);
          constexpr double kAlike = 0.9, kBetter = 0.2;
          const double then = align(other, nominal_).likeness;
          wrong = then > kAlike && then > as_named.likeness + kBetter;
        }
        if (wrong)
          return {{.file = capture_.file,
                   .key = signals_[i].name,
                   .expected = "the channel of this name",
                   .found = "what looks like " + signals_[j].name,
                   .message = "two columns seem to be exchanged"}};
      }
    return {};
  }

  /// Units within their limits, on the grid; false when stopped.
  bool band() {
    YieldOptions draw;
    draw.seed = o_.seed;
    std::vector<std::optional<Signals>> units(static_cast<std::size_t>(o_.units));
    o_.parallel(units.size(), [&](std::size_t k) {
      if (stopped()) return;
      const Variant v{d_, unit_of(case_, draw, static_cast<long>(k)), {{1, 0}, {0, 1}}};
      if (const auto w = waves_of(v)) units[k] = sampled(*w, v);
    });
    progress(0.3);
    low_ = high_ = nominal_;
    std::size_t lost = 0;
    for (const auto& unit : units) {
      lost += !unit;
      if (!unit) continue;
      for (std::size_t s = 0; s < signals_.size(); ++s)
        for (std::size_t j = 0; j < model_count_; ++j) {
          low_[s][j] = std::min(low_[s][j], (*unit)[s][j]);
          high_[s][j] = std::max(high_[s][j], (*unit)[s][j]);
        }
    }
    if (lost && !stopped())
      out_.notes.push_back(std::to_string(lost) + " units of the band did not finish");
    for (std::size_t s = 0; s < signals_.size(); ++s) widen(s);
    return !stopped();
  }

  /// For what was not drawn, for the probe's noise, and for edges between two points of the grid.
  void widen(std::size_t s) {
    const double noise = noise_of(*signals_[s].channel);
    const double floor = 3 * noise + kFloor * extent(nominal_[s]).range();
    const std::vector<double> low = low_[s], high = high_[s];
    double square = 0;
    for (std::size_t j = 0; j < model_count_; ++j) {
      if (std::isnan(low[j])) continue;  // the run has no number here
      const std::size_t a = j > 0 ? j - 1 : j, b = std::min(j + 1, model_count_ - 1);
      // Of a neighbour beyond the run there is no number, which fmin and fmax pass over.
      const double l = std::fmin(low[j], std::fmin(low[a], low[b])),
                   h = std::fmax(high[j], std::fmax(high[a], high[b]));
      const double by = kWiden * (h - l) + floor;
      low_[s][j] = l - by, high_[s][j] = h + by;
      square += pb::square(0.5 * (high[j] - low[j]));
    }
    // Deviations of all channels are measured in what is usual for each.
    scale_.push_back(std::sqrt(square / static_cast<double>(model_count_)) + noise +
                     kFloor * extent(nominal_[s]).range() + 1e-12);
  }

  void judge() {
    double n = 0, outside = 0;
    for (std::size_t s = 0; s < signals_.size(); ++s) {
      Overlay o{signals_[s].name, signals_[s].unit, {}, {}, {}, {}, {}};
      for (std::size_t j = 0; j < measured_count_; ++j) {
        const double index = static_cast<double>(j) + lag_, m = measured_[s][j];
        const double p = value_at(nominal_[s], index);
        if (std::isnan(p) || std::isnan(m)) continue;
        o.t_s.push_back(index * step_s_), o.measured.push_back(m), o.expected.push_back(p);
        o.low.push_back(value_at(low_[s], index)), o.high.push_back(value_at(high_[s], index));
        n += 1;
        outside += m < o.low.back() || m > o.high.back();
      }
      find_stretches(o, scale_[s]);
      out_.overlays.push_back(std::move(o));
    }
    out_.outside = n > 0 ? outside / n : 1;
    out_.inside_band = out_.outside <= kMayBeOutside;
    std::stable_sort(worst_.begin(), worst_.end(),
                     [](const auto& a, const auto& b) { return a.first > b.first; });
    constexpr std::size_t kReported = 20;
    for (std::size_t k = 0; k < worst_.size() && k < kReported; ++k)
      out_.deviations.push_back(worst_[k].second);
    if (worst_.size() > kReported)
      out_.notes.push_back("only the " + std::to_string(kReported) + " farthest of " +
                           std::to_string(worst_.size()) + " deviations are listed");
  }

  void find_stretches(const Overlay& o, double scale) {
    const auto beyond = [&](std::size_t j) {
      return std::max({o.low[j] - o.measured[j], o.measured[j] - o.high[j], 0.0});
    };
    for (std::size_t j = 0; j < o.t_s.size();) {
      if (!(beyond(j) > 0)) {
        ++j;
        continue;
      }
      std::size_t end = j, worst = j;
      for (; end < o.t_s.size() && beyond(end) > 0; ++end)
        if (beyond(end) > beyond(worst)) worst = end;
      if (end - j >= 3)
        worst_.push_back({beyond(worst) / scale,
                          {o.channel, o.unit, o.t_s[j], o.t_s[end - 1], o.t_s[worst],
                           o.measured[worst], o.low[worst], o.high[worst], o.expected[worst]}});
      j = end;
    }
  }

  /// Mean squared deviation with the cause at x; each lies where it fits best.
  double deviation(const Candidate& c, double x) const {
    Variant v{d_, physics::typical(case_.spreads), {{1, 0}, {0, 1}}};
    c.apply(v, x);
    const auto waves = stopped() ? std::nullopt : waves_of(v);
    if (!waves) return HUGE_VAL;
    const Signals model = sampled(*waves, v);
    const double lag = refined(measured_, model, scale_, align(measured_, model).lag);
    return mean_square(measured_, model, scale_, lag);
  }

  Cause fitted(const Candidate& c, double unexplained) const {
    std::vector<std::pair<double, double>> tried;  // x, deviation
    tried.reserve(c.trials.size());
    for (double x : c.trials) tried.emplace_back(x, deviation(c, x));
    const auto less = [](const auto& a, const auto& b) { return a.second < b.second; };
    // Between the neighbours of the best: the bottom of the parabola through the three, again.
    constexpr int kRounds = 5;
    for (int round = 0; c.trials.size() > 2 && round < kRounds; ++round) {
      std::sort(tried.begin(), tried.end());
      const auto best = std::min_element(tried.begin(), tried.end(), less);
      const auto at = std::clamp<std::ptrdiff_t>(best - tried.begin(), 1,
                                                 static_cast<std::ptrdiff_t>(tried.size()) - 2);
      const auto [x0, y0] = tried[static_cast<std::size_t>(at - 1)];
      const auto [x1, y1] = tried[static_cast<std::size_t>(at)];
      const auto [x2, y2] = tried[static_cast<std::size_t>(at + 1)];
      const double a = (y2 - y1) / (x2 - x1), b = (y1 - y0) / (x1 - x0);
      double x = 0.5 * (x0 + x1) - 0.5 * b * (x2 - x0) / (a - b);
      const double nearest = 0.02 * (x2 - x0);
      if (!std::isfinite(x) || x <= x0 + nearest || x >= x2 - nearest || std::abs(x - x1) < nearest)
        x = 0.5 * (best->first + (x2 - x1 > x1 - x0 ? x2 : x0));
      if (x == x0 || x == x1 || x == x2) break;
      tried.emplace_back(x, deviation(c, x));
    }
    const auto best = std::min_element(tried.begin(), tried.end(), less);
    return {c.key, c.unit, c.nominal, best->first, std::max(0.0, 1.0 - best->second / unexplained)};
  }

  /// What noise alone makes of the squared deviation.
  double noise_share() const {
    double sum = 0;
    for (std::size_t s = 0; s < signals_.size(); ++s)
      sum += pb::square(noise_of(*signals_[s].channel) / scale_[s]);
    return sum / static_cast<double>(signals_.size());
  }

  void explain(double unexplained) {
    const auto candidates = candidates_of(d_, case_.spreads);
    out_.causes.resize(candidates.size());
    o_.parallel(candidates.size(),
                [&](std::size_t k) { out_.causes[k] = fitted(candidates[k], unexplained); });
    std::stable_sort(out_.causes.begin(), out_.causes.end(),
                     [](const Cause& a, const Cause& b) { return a.explains > b.explains; });
  }

  const Design& d_;
  const Capture& capture_;
  const CompareOptions& o_;
  Case case_;
  std::vector<Signal> signals_;
  double step_s_ = 0, lag_ = 0;
  std::size_t model_count_ = 0, measured_count_ = 0;
  Signals measured_, nominal_, low_, high_;
  std::vector<double> scale_;
  std::vector<std::pair<double, Deviation>> worst_;
  Comparison out_;
};

}  // namespace

Checked<Comparison> compare(const Design& design, const Capture& capture,
                            const CompareOptions& options) {
  return Comparer(design, capture, options).run();
}

}  // namespace pb
