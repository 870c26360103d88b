// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/yield.h"

#include <algorithm>
#include <cmath>

#include "base/check.h"
#include "base/math.h"
#include "base/random.h"
#include "judgement/checks.h"
#include "judgement/corners.h"

namespace pb {
namespace {

using namespace physics;

constexpr std::size_t kReported = 20, kDrivers = 5;
constexpr double kLimits_sigma = 3.0;

using Key = std::pair<std::string, std::string>;  // id, subject

/// Value at the share u of the distribution.
double quantile(const Spread& s, Shape shape, double width, double u) {
  const double low = width * (s.typ - s.min), high = width * (s.max - s.typ);
  if (shape == Shape::uniform) return s.typ + mix(-low, high, u);
  if (shape == Shape::truncated) {
    const double tail = normal_cdf(-kLimits_sigma);
    u = mix(tail, 1.0 - tail, u);
  }
  const double z = normal_quantile(u) / kLimits_sigma;
  return s.typ + z * (z < 0 ? low : high);
}

bool scanned(const std::string& id) {
  return std::any_of(check_rows().begin(), check_rows().end(),
                     [&](const CheckRow& r) { return r.id == id && r.reads == Reads::scan; });
}

/// Whether the figure is made with the unit, rather than met by it.
bool made(const Spread& s) { return !s.role.empty() || s.name.starts_with("motor."); }

std::string figure_of(const Spread& s) { return s.name.substr(s.role.size() + 1); }

}  // namespace

Point unit_of(const Case& c, const YieldOptions& o, long unit) {
  const Draws draws(o.seed, static_cast<std::uint64_t>(unit));
  Point p = typical(c.spreads);
  const double shared = std::sqrt(o.lot), own = std::sqrt(1.0 - o.lot);
  for (std::size_t k = 0; k < c.spreads.size(); ++k) {
    const Spread& s = c.spreads[k];
    const Shape shape = made(s) ? o.shape : Shape::uniform;
    if (s.role.empty()) {
      p.value[k] = quantile(s, shape, o.width, draws.uniform(s.name));
      continue;
    }
    // A reel's part and each part's own are normal scores; their sum is one, and has a share.
    const double reel = normal_quantile(draws.uniform(s.name));
    for (const Place& place : c.design.wiring.places) {
      if (place.role != s.role) continue;
      const std::string name = place.ref + "." + figure_of(s);
      const double score = shared * reel + own * normal_quantile(draws.uniform(name));
      p.own[name] = quantile(s, shape, o.width, normal_cdf(score));
    }
  }
  return p;
}

Evidence nominal_evidence(const Case& c, const StopToken& stop) {
  EvidenceWanted w;
  w.torque_asked = true;
  return gather(c, typical(c.spreads), w, stop);
}

namespace {

UnitOutcome judged(const Case& c, const Point& point, const Evidence& e) {
  UnitOutcome out;
  const auto said = [](const CheckRow& row, const Measured& m) {
    return UnitCheck{.id = std::string(row.id),
                     .subject = m.subject,
                     .unit = std::string(row.unit),
                     .value = m.value,
                     .limit = m.limit,
                     .margin = margin_of(row.sense, m.value, m.limit),
                     .by_trial = row.reads == Reads::torque};
  };
  for (const Measured& m : turned_on_by_ringing(c, point, e))
    out.checks.push_back(said(ringing_row(), m));
  out.fails = !out.checks.empty();
  if (out.fails) return out;
  out.undecided = trouble_of(e);
  if (!out.undecided.empty()) return out;
  for (const CheckRow& row : check_rows()) {
    if (is_of_the_design(row.id)) continue;  // no unit can fail it by itself
    for (const Measured& m : row.measure(c, point, e)) {
      if (!std::isfinite(m.value) || !std::isfinite(m.limit)) {
        out.undecided = std::string(row.id) + " of " + m.subject + " has no number";
        out.checks.clear();
        return out;
      }
      out.checks.push_back(said(row, m));
      out.fails = out.fails || out.checks.back().margin < 0;
    }
  }
  return out;
}

/// Up to kLanes points side by side; of fewer the last one fills up.
std::vector<Evidence> seen_together(const Case& c, std::vector<Point> points,
                                    std::vector<HeatGuess> guesses, const StopToken& stop) {
  const std::size_t asked = points.size();
  while (points.size() < kLanes) points.push_back(points.back()), guesses.push_back(guesses.back());
  std::vector<Evidence> out = gather_units(c, points, guesses, stop);
  out.resize(asked);
  return out;
}

std::vector<UnitOutcome> judge_points(const Case& c, const HeatByFigure& heat,
                                      const std::vector<Point>& points, const StopToken& stop) {
  std::vector<HeatGuess> guesses;
  guesses.reserve(points.size());
  for (const Point& p : points) guesses.push_back(heat.at(p));
  const std::vector<Evidence> e = seen_together(c, points, guesses, stop);
  std::vector<UnitOutcome> out;
  out.reserve(points.size());
  for (std::size_t k = 0; k < points.size(); ++k) out.push_back(judged(c, points[k], e[k]));
  return out;
}

/// Figures at the ends of their spreads that the signs say.
Point at_ends(const Case& c, const YieldOptions& o, const std::vector<int>& signs) {
  Point p = typical(c.spreads);
  for (std::size_t k = 0; k < signs.size(); ++k) {
    const Spread& s = c.spreads[k];
    if (signs[k] < 0) p.value[k] = s.typ - o.width * (s.typ - s.min);
    if (signs[k] > 0) p.value[k] = s.typ + o.width * (s.max - s.typ);
  }
  return p;
}

/// f(first, end) of each group of at most kLanes.
template <class F>
void by_groups(const YieldOptions& o, std::size_t count, const F& f) {
  o.parallel((count + kLanes - 1) / kLanes,
             [&](std::size_t group) { f(group * kLanes, std::min((group + 1) * kLanes, count)); });
}

}  // namespace

UnitOutcome judge_unit(const Case& c, const Evidence& nominal, const Point& point,
                       const StopToken& stop) {
  EvidenceWanted w;
  w.torque_asked = true, w.nominal = &nominal;
  return judged(c, point, gather(c, point, w, stop));
}

SingleEffects single_effects(const Case& c, const Evidence& nominal, const YieldOptions& o) {
  const std::size_t n = c.spreads.size();
  std::vector<FigureEnd> ends;
  for (std::size_t k = 0; k < n; ++k)
    for (const int sign : {-1, 1}) {
      if (c.spreads[k].max <= c.spreads[k].min) continue;
      std::vector<int> signs(n, 0);
      signs[k] = sign;
      ends.push_back({k, at_ends(c, o, signs), {}});
    }
  std::vector<UnitOutcome> outcomes(ends.size());
  by_groups(o, ends.size(), [&](std::size_t first, std::size_t end) {
    std::vector<Point> points;
    std::vector<HeatGuess> guesses;
    for (std::size_t k = first; k < end; ++k) {
      points.push_back(ends[k].point);
      guesses.push_back(likely_heat(c, ends[k].point, nominal.move.figures, nominal.hold.figures));
    }
    const std::vector<Evidence> e = seen_together(c, points, guesses, o.stop);
    for (std::size_t k = first; k < end; ++k) {
      const Evidence& seen = e[k - first];
      outcomes[k] = judged(c, ends[k].point, seen);
      ends[k].heat = {seen.move.figures.temperatures, seen.hold.figures.temperatures};
    }
  });
  std::vector<FigureEnd> known;  // where a run did not end, no heat did
  for (std::size_t k = 0; k < ends.size(); ++k)
    if (outcomes[k].undecided.empty()) known.push_back(ends[k]);
  HeatByFigure heat(c, {nominal.move.figures.temperatures, nominal.hold.figures.temperatures},
                    known);
  return {std::move(ends), std::move(outcomes), std::move(heat)};
}

std::vector<UnitOutcome> judge_group(const Case& c, const SingleEffects& effects,
                                     const YieldOptions& o, long group) {
  std::vector<Point> points;
  points.reserve(kLanes);
  for (long k = 0; k < kLanes; ++k) points.push_back(unit_of(c, o, group * kLanes + k));
  return judge_points(c, effects.heat, points, o.stop);
}

namespace {

/// Of margins that are normally distributed.
double share_below_zero(const Moments& margin) {
  if (margin.deviation > 0) return normal_cdf(-margin.mean / margin.deviation);
  return margin.mean < 0 ? 1.0 : 0.0;
}

class Batch {
 public:
  Batch(const Design& d, const YieldOptions& o) : o_(o), case_(case_of(d)) {}

  YieldResult run() {
    out_.units = o_.units;
    case_.dead_time_s = dead_time_of(case_);
    if (!given(case_.dead_time_s)) {
      out_.undecided =
          "dead time: a switch does not turn off within half a step, or the driver oscillates";
      return std::move(out_);
    }
    const Evidence nominal = nominal_evidence(case_, o_.stop);
    if (out_.undecided = trouble_of(nominal); !out_.undecided.empty()) return std::move(out_);
    const UnitOutcome first = judge_unit(case_, nominal, typical(case_.spreads), o_.stop);
    if (out_.undecided = first.undecided; !out_.undecided.empty()) return std::move(out_);
    for (const UnitCheck& k : first.checks) {
      index_[{k.id, k.subject}] = typical_.size();
      typical_.push_back(k);
    }
    const SingleEffects effects = single_effects(case_, nominal, o_);
    if (cancelled()) return std::move(out_);
    units(effects);
    if (cancelled()) return std::move(out_);
    count();
    spread();
    others(effects);
    if (cancelled()) return std::move(out_);
    drivers();
    return std::move(out_);
  }

 private:
  /// What is kept of a unit.
  struct Kept {
    std::string undecided;
    std::vector<std::string> failed;    // ids, each once
    std::vector<double> value, margin;  // one a check of the nominal unit
    std::vector<double> input;          // one a drawn figure
  };

  bool cancelled() { return out_.cancelled = o_.stop.stop_requested(); }

  std::vector<double> by_index(const UnitOutcome& u, double UnitCheck::* member) const {
    // A subject that shows up in this unit only, or in the nominal one only, has no spread.
    std::vector<double> all(typical_.size(), kNotGiven);
    for (const UnitCheck& k : u.checks)
      if (const auto at = index_.find({k.id, k.subject}); at != index_.end())
        all[at->second] = k.*member;
    return all;
  }

  void units(const SingleEffects& effects) {
    kept_.resize(static_cast<std::size_t>(o_.units));
    constexpr std::size_t kAtOnce = 8;  // groups, between looks at the stop token and at the clock
    const std::size_t groups = (kept_.size() + kLanes - 1) / kLanes;
    for (std::size_t at = 0; at < groups && !cancelled(); at += kAtOnce) {
      const std::size_t count = std::min(kAtOnce, groups - at);
      o_.parallel(count, [&](std::size_t k) {
        if (o_.stop.stop_requested()) return;
        const std::vector<UnitOutcome> all =
            judge_group(case_, effects, o_, static_cast<long>(at + k));
        const std::size_t first = (at + k) * kLanes;
        for (std::size_t u = first; u < std::min(first + kLanes, kept_.size()); ++u)
          kept_[u] = kept(all[u - first], unit_of(case_, o_, static_cast<long>(u)));
      });
      if (o_.progress) o_.progress(static_cast<double>(at + count) / static_cast<double>(groups));
    }
  }

  Kept kept(const UnitOutcome& u, const Point& p) const {
    Kept keep;
    keep.undecided = u.undecided;
    for (const UnitCheck& c : u.checks)
      if (c.margin < 0 && (keep.failed.empty() || keep.failed.back() != c.id))
        keep.failed.push_back(c.id);
    keep.value = by_index(u, &UnitCheck::value);
    keep.margin = by_index(u, &UnitCheck::margin);
    keep.input = inputs(p);
    return keep;
  }

  std::vector<double> inputs(const Point& p) const {
    std::vector<double> out;
    for (std::size_t k = 0; k < case_.spreads.size(); ++k)
      if (case_.spreads[k].role.empty()) out.push_back(p.value[k]);
    for (const auto& [name, value] : p.own) out.push_back(value);
    return out;
  }
  std::vector<std::string> input_names() const {
    std::vector<std::string> out;
    for (const Spread& s : case_.spreads)
      if (s.role.empty()) out.push_back(s.name);
    for (const auto& [name, value] : unit_of(case_, o_, 0).own) out.push_back(name);
    return out;
  }

  void count() {
    for (std::size_t k = 0; k < kept_.size(); ++k) {
      const long unit = static_cast<long>(k);
      if (!kept_[k].undecided.empty()) out_.undecided_units.push_back(unit);
      if (kept_[k].failed.empty()) continue;
      out_.failed_units.push_back(unit);
      for (const std::string& id : kept_[k].failed) ++out_.by_check[id];
    }
    out_.failed = static_cast<long>(out_.failed_units.size());
    const long open = static_cast<long>(out_.undecided_units.size()),
               passed = out_.units - out_.failed - open, decided = out_.units - open;
    out_.yield = decided > 0 ? static_cast<double>(passed) / static_cast<double>(decided) : 0.0;
    out_.interval = exact_interval(passed, out_.units, o_.confidence);
    out_.interval.high = exact_interval(passed + open, out_.units, o_.confidence).high;
  }

  std::vector<double> column(std::vector<double> Kept::* member, std::size_t at) const {
    std::vector<double> out;
    for (const Kept& k : kept_)
      if (k.undecided.empty()) out.push_back((k.*member)[at]);
    return out;
  }

  void spread() {
    for (std::size_t k = 0; k < typical_.size(); ++k) {
      const std::vector<double> margins = column(&Kept::margin, k);
      if (margins.empty() || !std::all_of(margins.begin(), margins.end(), given)) continue;
      CheckSpread s;
      s.id = typical_[k].id, s.subject = typical_[k].subject, s.unit = typical_[k].unit;
      s.nominal_value = typical_[k].value, s.nominal_margin = typical_[k].margin;
      s.value = moments_of(column(&Kept::value, k)), s.margin = moments_of(margins);
      constexpr int kBins = 32;  // a thousand units still fill them
      s.margins = histogram_of(margins, kBins);
      s.worst_margin = 1e300;
      for (std::size_t u = 0; u < kept_.size(); ++u)
        if (kept_[u].undecided.empty() && kept_[u].margin[k] < s.worst_margin) {
          s.worst_margin = kept_[u].margin[k], s.worst_value = kept_[u].value[k];
          s.worst_unit = static_cast<long>(u);
        }
      s.share_by_margin = typical_[k].by_trial ? kNotGiven : share_below_zero(s.margin);
      out_.checks.push_back(std::move(s));
    }
    std::stable_sort(
        out_.checks.begin(), out_.checks.end(),
        [](const CheckSpread& a, const CheckSpread& b) { return a.worst_margin < b.worst_margin; });
    keep_what_tells();
  }

  /// The tightest subject of each check; one that no unit changes says nothing, unless it fails.
  void keep_what_tells() {
    constexpr double kMoves = 1e-9;  // of the margin: below is rounding
    std::vector<CheckSpread> kept;
    for (CheckSpread& s : out_.checks) {
      const auto same = [&](const CheckSpread& k) { return k.id == s.id; };
      if (kept.size() == kReported || std::any_of(kept.begin(), kept.end(), same)) continue;
      if (s.margin.deviation > kMoves || s.worst_margin < 0) kept.push_back(std::move(s));
    }
    out_.checks = std::move(kept);
  }

  /// Margins with figures at the ends that each row of signs says.
  std::vector<std::vector<double>> margins_at(const SingleEffects& effects,
                                              const std::vector<std::vector<int>>& signs) const {
    std::vector<std::vector<double>> out(signs.size());
    by_groups(o_, signs.size(), [&](std::size_t first, std::size_t end) {
      std::vector<Point> points;
      for (std::size_t k = first; k < end; ++k) points.push_back(at_ends(case_, o_, signs[k]));
      const std::vector<UnitOutcome> all = judge_points(case_, effects.heat, points, o_.stop);
      for (std::size_t k = first; k < end; ++k)
        out[k] = by_index(all[k - first], &UnitCheck::margin);
    });
    return out;
  }

  /// Sums of single effects, and the corner they point to, for the checks that are reported.
  void others(const SingleEffects& effects) {
    const std::size_t n = case_.spreads.size();
    std::vector<std::vector<double>> single(2 * n);  // margins, by figure and side
    for (std::size_t k = 0; k < effects.ends.size(); ++k) {
      const FigureEnd& end = effects.ends[k];
      const bool low = end.point.value[end.figure] < case_.spreads[end.figure].typ;
      single[2 * end.figure + (low ? 0 : 1)] = by_index(effects.outcomes[k], &UnitCheck::margin);
    }
    const std::vector<Signs> rails = rails_apart(case_.spreads);
    const std::vector<std::vector<double>> at_rails = margins_at(effects, rails);
    std::vector<std::vector<int>> corner(out_.checks.size(), std::vector<int>(n, 0));
    for (std::size_t c = 0; c < out_.checks.size(); ++c) {
      CheckSpread& s = out_.checks[c];
      const std::size_t at = index_.at({s.id, s.subject});
      double sum = 0, squares = 0;
      std::vector<double> falls(n, 0.0);
      for (std::size_t k = 0; k < n; ++k) {
        double worst = 0;
        for (std::size_t side : {2 * k, 2 * k + 1}) {
          const double fall = single[side].empty() ? 0.0 : s.nominal_margin - single[side][at];
          if (fall > worst) worst = fall, corner[c][k] = side == 2 * k ? -1 : 1;
        }
        if (worst < kOfRuns.usual) corner[c][k] = 0;
        falls[k] = worst;
        sum += worst, squares += square(worst);
      }
      Found found;
      found.slope = std::move(falls);
      for (std::size_t k = 0; k < rails.size(); ++k)
        note_joint(found, s.nominal_margin, rails[k], at_rails[k][at]);
      for (std::size_t k = 0; k < found.joint.size(); ++k)
        if (found.joint[k] != 0) corner[c][k] = found.joint[k];
      s.sum_margin = s.nominal_margin - sum;
      s.root_sum_square_margin = s.nominal_margin - std::sqrt(squares);
    }
    const std::vector<std::vector<double>> at_corner = margins_at(effects, corner);
    for (std::size_t c = 0; c < out_.checks.size(); ++c) {
      CheckSpread& s = out_.checks[c];
      s.corner_margin = at_corner[c][index_.at({s.id, s.subject})];
      s.worse_than_corner = beyond_corner(s, o_.shape);
    }
  }

  void drivers() {
    const std::vector<std::string> names = input_names();
    for (CheckSpread& s : out_.checks) {
      const std::vector<double> margin = column(&Kept::margin, index_.at({s.id, s.subject}));
      for (std::size_t k = 0; k < names.size(); ++k)
        s.drivers.push_back({names[k], rank_correlation(column(&Kept::input, k), margin)});
      std::stable_sort(s.drivers.begin(), s.drivers.end(), [](const Driver& a, const Driver& b) {
        return std::abs(a.rank_correlation) > std::abs(b.rank_correlation);
      });
      if (s.drivers.size() > kDrivers) s.drivers.resize(kDrivers);
    }
  }

  const YieldOptions& o_;
  Case case_;
  std::vector<UnitCheck> typical_;
  std::map<Key, std::size_t> index_;
  std::vector<Kept> kept_;
  YieldResult out_;
};

}  // namespace

bool beyond_corner(const CheckSpread& s, Shape shape) {
  // Two runs, each to its accuracy. What is not monotone has no worst corner: a proof scans it.
  // A corner leaves out what acts together; a twentieth of the margin it leaves is allowed for
  // that.
  constexpr double kOfMargin = 0.05;
  const CheckRow* row = find_check(s.id);
  const double allowance =
      2.0 * (row ? row->accuracy : kOfRuns).usual * (1.0 + std::abs(s.worst_margin)) +
      kOfMargin * std::max(s.corner_margin, 0.0);
  return shape != Shape::normal && !scanned(s.id) && s.worst_margin < s.corner_margin - allowance;
}

YieldResult yield_of(const Design& design, const YieldOptions& options) {
  PB_CHECK(options.units > 0 && options.lot >= 0 && options.lot <= 1, options.units, options.lot);
  return Batch(design, options).run();
}

}  // namespace pb
