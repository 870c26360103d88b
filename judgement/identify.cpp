// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/identify.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

#include "base/math.h"
#include "base/quantity.h"
#include "base/text.h"
#include "judgement/fit.h"

namespace pb {
namespace {

// More rows than this tell nothing more than their means do.
constexpr std::size_t kMostRows = 4000;
constexpr double kFewestBefore = 0.03;  // of the record before the step, for an offset to be known

std::unexpected<Problems> refused(const Capture& c, std::string key, std::string expected,
                                  std::string found, std::string message = "") {
  return std::unexpected(Problems{{.file = c.file,
                                   .key = std::move(key),
                                   .expected = std::move(expected),
                                   .found = std::move(found),
                                   .message = std::move(message)}});
}

std::string names_of(const Capture& c) {
  std::vector<std::string> names;
  names.reserve(c.channels.size());
  for (const CaptureChannel& k : c.channels)
    names.push_back(k.name + (k.unit.empty() ? "" : " in " + k.unit));
  return names.empty() ? "no channel" : escaped(join(names, ", "), 300);
}

/// The channel called so, else the only one of the unit.
const CaptureChannel* choose(const Capture& c, std::initializer_list<std::string_view> names,
                             std::string_view unit) {
  for (std::string_view name : names)
    if (const CaptureChannel* k = find_channel(c, name, unit)) return k;
  const CaptureChannel* only = nullptr;
  for (const CaptureChannel& k : c.channels)
    if (k.unit == unit) {
      if (only) return nullptr;
      only = &k;
    }
  return only;
}

/// Rows in which every series has a number.
struct Table {
  std::vector<double> t, y, v;
};

Table rows_of(const Capture& c, const CaptureChannel& y, const CaptureChannel* v) {
  Table out;
  for (std::size_t k = 0; k < c.t_s.size(); ++k) {
    if (std::isnan(y.y[k]) || (v && std::isnan(v->y[k]))) continue;
    out.t.push_back(c.t_s[k]), out.y.push_back(y.y[k]);
    if (v) out.v.push_back(v->y[k]);
  }
  return out;
}

Table between(const Table& in, double from, double to) {
  Table out;
  for (std::size_t k = 0; k < in.t.size(); ++k) {
    if (in.t[k] < from || in.t[k] > to) continue;
    out.t.push_back(in.t[k]), out.y.push_back(in.y[k]);
    if (!in.v.empty()) out.v.push_back(in.v[k]);
  }
  return out;
}

Table without(const Table& in, double from, double to) {
  Table out;
  for (std::size_t k = 0; k < in.t.size(); ++k) {
    if (in.t[k] >= from && in.t[k] <= to) continue;
    out.t.push_back(in.t[k]), out.y.push_back(in.y[k]);
    if (!in.v.empty()) out.v.push_back(in.v[k]);
  }
  return out;
}

/// Means of as many neighbours each as it takes.
Table thinned(const Table& in) {
  const std::size_t each = (in.t.size() + kMostRows - 1) / kMostRows;
  if (each <= 1) return in;
  const auto means = [&](const std::vector<double>& x) {
    std::vector<double> out;
    for (std::size_t k = 0; k + each <= x.size(); k += each) {
      double sum = 0;
      for (std::size_t j = 0; j < each; ++j) sum += x[k + j];
      out.push_back(sum / static_cast<double>(each));
    }
    return out;
  };
  return {means(in.t), means(in.y), means(in.v)};
}

double mean(const std::vector<double>& x, std::size_t from, std::size_t to) {
  double sum = 0;
  for (std::size_t k = from; k < to; ++k) sum += x[k];
  return to > from ? sum / static_cast<double>(to - from) : 0.0;
}

/// First row where x, going from its mean over the first rows towards its last, has made this share
/// of the way.
std::size_t crossing(const std::vector<double>& x, double from, double to, double share,
                     std::size_t first = 0) {
  const double level = from + share * (to - from);
  for (std::size_t k = first; k < x.size(); ++k)
    if ((to > from) == (x[k] >= level)) return k;
  return x.size() - 1;
}

Problems unfit(const Capture& c, const CaptureChannel& channel, const char* moves) {
  const auto numbers = [](double y) { return !std::isnan(y); };
  double low = HUGE_VAL, high = -HUGE_VAL;
  for (double y : channel.y)
    if (numbers(y)) low = std::min(low, y), high = std::max(high, y);
  const double noise = noise_of(channel);
  constexpr double kSeen = 12;  // of pure noise a long record spans ten deviations
  if (!(high - low > kSeen * noise) || !(high > low))
    return {{.file = c.file,
             .key = escaped(channel.name, 40),
             .expected = moves,
             .found = "one that does not move"}};
  if (is_clipped(channel))
    return {{.file = c.file,
             .key = escaped(channel.name, 40),
             .expected = moves,
             .found = "one cut off at " + significant(high, 4) + " or " + significant(low, 4),
             .message = "the instrument's range was too small"}};
  return {};
}

/// The step a capture shows, as far as it can be seen before any fit.
struct Step {
  double at_s = 0, time_constant_s = 0, before = 0, after = 0;
  std::vector<double> knot_s, knot_V;  // the voltage; times relative to nothing
};

Checked<Step> find_step(const Capture& c, const Table& rows, double voltage_V) {
  const std::size_t n = rows.t.size(), tail = std::max<std::size_t>(n / 20, 1);
  Step s;
  s.before = mean(rows.y, 0, std::max<std::size_t>(n / 100, 1));
  s.after = mean(rows.y, n - tail, n);
  const bool measured = !rows.v.empty();
  double v0 = 0, v1 = voltage_V;
  std::size_t k = 0;
  if (measured) {
    v0 = mean(rows.v, 0, std::max<std::size_t>(n / 100, 1)), v1 = mean(rows.v, n - tail, n);
    const auto [low, high] = std::minmax_element(rows.v.begin(), rows.v.end());
    if (std::abs(v1 - v0) < 0.5 * (*high - *low))
      v0 = std::abs(*low) < std::abs(*high) ? *low : *high;
    k = crossing(rows.v, v0, v1, 0.5);
    s.knot_s = rows.t, s.knot_V = rows.v;
  } else {
    k = crossing(rows.y, s.before, s.after, 0.05);
  }
  const std::size_t rest = std::max<std::size_t>(k * 9 / 10, 1);
  if (k > 0) s.before = mean(rows.y, 0, rest);
  // What flowed before the first row belongs to the mean voltage then, not to that row's noise.
  if (measured && k > 0) s.knot_V.front() = mean(rows.v, 0, rest);
  if (!((v1 - v0) * (s.after - s.before) > 0))
    return std::unexpected(
        Problems{{.file = c.file,
                  .key = "current",
                  .expected = "a current that follows the voltage",
                  .found = "one that goes the other way, or no step",
                  .message = "turn a probe round with --column current_A=NAME*-1"}});
  s.at_s = rows.t[k];
  const std::size_t risen = crossing(rows.y, s.before, s.after, 1.0 - std::exp(-1.0), k);
  s.time_constant_s = std::max(rows.t[risen] - s.at_s, 1e-3 * (rows.t[n - 1] - rows.t[0]));
  if (!measured) {
    const double end = rows.t[n - 1] + s.time_constant_s;
    s.knot_s = {rows.t[0] - 1.0, s.at_s, s.at_s, end}, s.knot_V = {0, 0, voltage_V, voltage_V};
  }
  return s;
}

/// Parameters of the fit of a step, in this order; the last two only where rows before the step
/// show them.
enum { kResistance, kInductance, kDelay, kOffset, kDrift };

std::vector<double> step_model(const Table& rows, const Step& s, std::span<const double> p) {
  auto i = winding_current(rows.t, s.knot_s, s.knot_V, p[kResistance], p[kInductance], p[kDelay]);
  for (std::size_t k = 0; k < i.size(); ++k) {
    if (p.size() > kOffset) i[k] += p[kOffset];
    if (p.size() > kDrift) i[k] += p[kDrift] * (rows.t[k] - s.at_s);
  }
  return i;
}

Fit fit_step(const Table& rows, const Step& s, double jump_V, bool offset) {
  const double change = s.after - s.before, r = jump_V / change, tau = s.time_constant_s;
  std::vector<FitParameter> p = {{r, 0.1 * r, 1e-3 * r, 1e3 * r},
                                 {r * tau, 0.1 * r * tau, 1e-3 * r * tau, 1e3 * r * tau},
                                 {0.0, 0.1 * tau}};
  if (offset) {
    p.push_back({s.before, 0.1 * std::abs(change)});
    p.push_back({0.0, 0.1 * std::abs(change) / tau});
  }
  return least_squares(
      [&](std::span<const double> x, std::span<double> out) {
        const auto model = step_model(rows, s, x);
        for (std::size_t k = 0; k < model.size(); ++k) out[k] = rows.y[k] - model[k];
        return true;
      },
      rows.t.size(), p);
}

void keep_curve(Identified& out, const Table& rows, const Fit& fit) {
  out.t_s = rows.t, out.measured = rows.y, out.fitted = rows.y;
  for (std::size_t k = 0; k < fit.residual.size(); ++k) out.fitted[k] -= fit.residual[k];
  out.noise = std::sqrt(fit.sum_squares / fit.freedom);
  if (fit.alike > 1.5)
    out.notes.push_back("neighbouring residuals are alike; intervals are widened " +
                        significant(std::sqrt(fit.alike), 2) + " times for it");
}

Parameter parameter(const char* name, Dim dim, const Fit& fit, int k) {
  const auto at = static_cast<std::size_t>(k);
  return {name,
          si_unit(dim),
          dim,
          fit.value[at],
          fit.value[at] - fit.half_width[at],
          fit.value[at] + fit.half_width[at]};
}

Checked<Identified> identify_step(const Capture& c, const CaptureChannel& current,
                                  const CaptureChannel* voltage, double voltage_V) {
  if (Problems p = unfit(c, current, "a current that rises"); !p.empty())
    return std::unexpected(std::move(p));
  Table rows = rows_of(c, current, voltage);
  auto step = find_step(c, rows, voltage_V);
  if (!step) return std::unexpected(std::move(step.error()));
  // Long before and after nothing happens that would tell more.
  constexpr double kBefore = 6, kAfter = 12;  // time constants
  rows = between(rows, step->at_s - kBefore * step->time_constant_s,
                 step->at_s + kAfter * step->time_constant_s);
  const auto before = static_cast<double>(
      std::count_if(rows.t.begin(), rows.t.end(), [&](double t) { return t < step->at_s; }));
  const bool offset = before >= std::max(10.0, kFewestBefore * static_cast<double>(rows.t.size()));
  const double jump_V =
      voltage ? mean(rows.v, rows.v.size() * 9 / 10, rows.v.size()) -
                    (offset ? mean(rows.v, 0, static_cast<std::size_t>(before * 0.9)) : 0.0)
              : voltage_V;
  // A probe of finite bandwidth rounds the corner; behind it, all that is left of that is a delay.
  constexpr double kCorner = 0.1;  // time constants
  rows = without(thinned(rows), step->at_s - 0.1 * kCorner * step->time_constant_s,
                 step->at_s + kCorner * step->time_constant_s);
  // A drift too small to be told from none would still move the resistance: it is always fitted.
  const Fit fit = fit_step(rows, *step, jump_V, offset);
  Identified out;
  out.kind = "step";
  out.y_name = "current", out.y_unit = "A";
  if (fit.converged && offset)
    out.notes.push_back("an offset of " + format_quantity(fit.value[kOffset], dim::current, 3) +
                        " that drifts by " + format_quantity(fit.value[kDrift], dim::current, 3) +
                        " a second was fitted along");
  if (out.undecided = fit.converged ? "" : fit.trouble; !out.undecided.empty()) return out;
  keep_curve(out, rows, fit);
  out.parameters = {parameter("winding_resistance", dim::resistance, fit, kResistance),
                    parameter("winding_inductance", dim::inductance, fit, kInductance)};
  if (!offset)
    out.notes.push_back("too few rows before the step to know the current's offset; taken as none");
  if (!voltage)
    out.notes.push_back(
        "the voltage was given, so the resistance includes supply, leads and switch");
  out.notes.push_back("the resistance is that at the winding's temperature during the capture");
  return out;
}

/// Turns of an open winding: v = K/N theta' sin theta + offset, theta a polynomial of time.
constexpr int kPhaseTerms = 5;  // phase, speed and three of its derivatives
struct Spin {
  double middle_s = 0, half_s = 1;
  double u(double t) const { return (t - middle_s) / half_s; }
};
/// Legendre polynomials and their slopes (Abramowitz, Stegun, 22.7.10, 22.8.5): terms that do not
/// trade against each other.
void legendre(double u, double* p, double* slope) {
  p[0] = 1, p[1] = u, slope[0] = 0, slope[1] = 1;
  for (int k = 2; k < kPhaseTerms; ++k) {
    p[k] = ((2 * k - 1) * u * p[k - 1] - (k - 1) * p[k - 2]) / k;
    slope[k] = slope[k - 2] + (2 * k - 1) * p[k - 1];
  }
}

/// Times of the upward crossings of zero, each after a stay well below it; straight between rows.
std::vector<double> rising_zeros(const Table& rows, double offset, double amplitude) {
  std::vector<double> out;
  bool below = false;
  for (std::size_t k = 1; k < rows.t.size(); ++k) {
    const double a = rows.y[k - 1] - offset, b = rows.y[k] - offset;
    if (b < -0.4 * amplitude) below = true;
    if (below && a < 0 && b >= 0) {
      out.push_back(rows.t[k - 1] + (rows.t[k] - rows.t[k - 1]) * a / (a - b));
      below = false;
    }
  }
  return out;
}

/// Coefficients of a phase that grows by one turn from each upward crossing to the next.
std::vector<double> phase_through(const std::vector<double>& zeros, const Spin& spin) {
  const auto n = static_cast<Eigen::Index>(zeros.size());
  const auto terms = std::min<Eigen::Index>(kPhaseTerms, n);
  Eigen::MatrixXd a(n, terms);
  Eigen::VectorXd turns(n);
  for (Eigen::Index k = 0; k < n; ++k) {
    double term[kPhaseTerms], slope[kPhaseTerms];
    legendre(spin.u(zeros[static_cast<std::size_t>(k)]), term, slope);
    for (Eigen::Index j = 0; j < terms; ++j) a(k, j) = term[j];
    turns(k) = 2.0 * kPi * static_cast<double>(k);
  }
  const Eigen::VectorXd c = a.colPivHouseholderQr().solve(turns);
  std::vector<double> out(kPhaseTerms, 0.0);
  std::copy(c.begin(), c.end(), out.begin());
  return out;
}

Checked<Identified> identify_spin(const Capture& c, const CaptureChannel& voltage,
                                  double steps_per_turn) {
  if (Problems p = unfit(c, voltage, "a voltage that swings"); !p.empty())
    return std::unexpected(std::move(p));
  Table rows = rows_of(c, voltage, nullptr);
  const auto [low, high] = std::minmax_element(rows.y.begin(), rows.y.end());
  const double middle = 0.5 * (*low + *high), swing = 0.5 * (*high - *low);
  auto zeros = rising_zeros(rows, middle, swing);
  // A stretch short enough for a polynomial, at the end of which the amplitude is the greatest.
  constexpr std::size_t kCycles = 12;
  if (zeros.size() < 3)
    return refused(c, escaped(voltage.name, 40), "at least two whole swings",
                   std::to_string(zeros.size()) + " upward crossings of its middle");
  if (zeros.size() > kCycles + 1) {
    std::size_t best = 0;
    for (std::size_t k = 0; k + kCycles < zeros.size(); ++k)
      if (zeros[k + kCycles] - zeros[k] < zeros[best + kCycles] - zeros[best]) best = k;
    zeros = {zeros.begin() + static_cast<std::ptrdiff_t>(best),
             zeros.begin() + static_cast<std::ptrdiff_t>(best + kCycles + 1)};
  }
  rows = thinned(between(rows, zeros.front(), zeros.back()));
  const Spin spin{0.5 * (zeros.front() + zeros.back()), 0.5 * (zeros.back() - zeros.front())};
  const double teeth = steps_per_turn / 4.0;
  const double whole_rad = 2.0 * kPi * static_cast<double>(zeros.size() - 1);
  const double speed_rad_s = whole_rad / (2.0 * spin.half_s) / teeth;
  std::vector<FitParameter> start = {{swing / speed_rad_s, 0.1 * swing / speed_rad_s},
                                     {middle, 0.1 * swing}};
  for (double phase : phase_through(zeros, spin)) start.push_back({phase, 0.1});
  const Fit fit = least_squares(
      [&](std::span<const double> p, std::span<double> out) {
        double term[kPhaseTerms], slope[kPhaseTerms];
        for (std::size_t k = 0; k < out.size(); ++k) {
          legendre(spin.u(rows.t[k]), term, slope);
          double phase = 0, rate = 0;
          for (std::size_t j = 0; j < kPhaseTerms; ++j)
            phase += p[2 + j] * term[j], rate += p[2 + j] * slope[j] / spin.half_s;
          out[k] = rows.y[k] - p[1] - p[0] / teeth * rate * std::sin(phase);
        }
        return true;
      },
      rows.t.size(), start);
  Identified out;
  out.kind = "spin";
  out.y_name = "voltage", out.y_unit = "V";
  if (out.undecided = fit.converged ? "" : fit.trouble; !out.undecided.empty()) return out;
  keep_curve(out, rows, fit);
  constexpr double kPoor = 0.1;  // of the swing
  if (out.noise > kPoor * swing) {
    out.undecided = "the voltage is no sine whose height follows its speed";
    return out;
  }
  out.parameters = {parameter("back_emf_constant", dim::motor_constant, fit, 0)};
  out.notes.push_back("fitted over " + std::to_string(zeros.size() - 1) + " swings at " +
                      significant(speed_rad_s, 3) + " rad/s");
  return out;
}

}  // namespace

std::vector<double> winding_current(const std::vector<double>& t_s,
                                    const std::vector<double>& from_s,
                                    const std::vector<double>& v_V, double resistance_ohm,
                                    double inductance_H, double delay_s) {
  const double tau = inductance_H / resistance_ohm;
  double i = v_V.front() / resistance_ohm;  // at knot k
  std::size_t k = 0;
  // Of the straight stretch behind knot k: a forced part, and what has not died away yet.
  const auto behind = [&](double t) {
    const double span = k + 1 < from_s.size() ? from_s[k + 1] - from_s[k] : 0.0;
    const double slope = span > 0 ? (v_V[k + 1] - v_V[k]) / span : 0.0;
    const double h = t - from_s[k], forced = (v_V[k] - slope * tau) / resistance_ohm;
    return forced + slope * h / resistance_ohm + (i - forced) * std::exp(-h / tau);
  };
  std::vector<double> out;
  out.reserve(t_s.size());
  for (double t : t_s) {
    t -= delay_s;
    while (k + 1 < from_s.size() && from_s[k + 1] <= t) {
      i = behind(from_s[k + 1]);
      ++k;
    }
    out.push_back(t <= from_s.front() ? v_V.front() / resistance_ohm : behind(t));
  }
  return out;
}

Checked<Identified> identify(const Capture& c, const IdentifyOptions& options) {
  const CaptureChannel* current = choose(c, {"current", "winding_a", "winding"}, "A");
  const CaptureChannel* voltage = choose(c, {"voltage", "winding_a", "winding"}, "V");
  if (voltage == current) voltage = nullptr;  // its unit is not known
  if (current && (voltage || given(options.voltage_V)))
    return identify_step(c, *current, voltage, options.voltage_V);
  if (current) return refused(c, "voltage", "a channel in V, or --voltage", names_of(c));
  if (voltage && given(options.steps_per_turn))
    return identify_spin(c, *voltage, options.steps_per_turn);
  if (voltage)
    return refused(c, "current", "a channel in A (a step), or --steps-per-turn (a spin)",
                   names_of(c));
  return refused(c, "", "a channel in A, or one in V", names_of(c),
                 "name them: --column current_A=CH1 --column voltage_V=CH2");
}

}  // namespace pb
