// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/statistics.h"

#include <array>
#include <cmath>

#include "base/math.h"
#include "judgement/fit.h"
#include "tests/book/topics.h"

namespace pb::book {
namespace {

const Source kManual{"Clopper, Pearson, Biometrika 26, 1934, 404-413: the example of a manual",
                     Basis::published};
const Source kExact{"Clopper, Pearson, evaluated in another language", Basis::published_law};
const Source kNormal{"normal distribution, evaluated in another language", Basis::published_law};
const Source kMisra{
    "NIST Statistical Reference Datasets, Misra1a: data and certified values, from memory",
    Basis::remembered};

void add_intervals(std::vector<Row>& rows) {
  struct Count {
    long hits, count;
    double confidence, low, high;
    Source source;
  };
  for (const Count& c : {Count{7, 50, 0.95, 0.0581917003, 0.2673960025, kManual},
                         Count{3, 1000, 0.95, 0.0006190999, 0.0087420232, kExact},
                         Count{3, 1000, 0.99, 0.0003381446, 0.0109337774, kExact}}) {
    const std::string what = std::to_string(c.hits) + " of " + std::to_string(c.count) + ", " +
                             std::to_string(std::lround(100 * c.confidence)) + " %",
                      id = std::to_string(c.hits) + "-" + std::to_string(c.count) + "-" +
                           std::to_string(std::lround(100 * c.confidence));
    rows.push_back({"exact-low-" + id, "Exact interval of " + what + ": low", c.source, 100 * c.low,
                    "%", within(5e-7), [c](const Skew&) {
                      return 100 * exact_interval(c.hits, c.count, c.confidence).low;
                    }});
    rows.push_back({"exact-high-" + id, "Exact interval of " + what + ": high", c.source,
                    100 * c.high, "%", within(5e-7), [c](const Skew&) {
                      return 100 * exact_interval(c.hits, c.count, c.confidence).high;
                    }});
  }
  rows.push_back({"exact-none",
                  "None of 1000 failed, 95 %: high",
                  {"1 - 0.025^(1/n)", Basis::closed_form},
                  100 * -std::expm1(std::log(0.025) / 1000),
                  "%",
                  within(1e-9),
                  [](const Skew&) { return 100 * exact_interval(0, 1000, 0.95).high; }});
}

void add_normal(std::vector<Row>& rows) {
  rows.push_back({"normal-97.5", "97.5 % point of the normal distribution", kNormal, 1.9599639845,
                  "", within(1e-10), [](const Skew&) { return normal_quantile(0.975); }, 10});
  struct Capability {
    const char* text;
    double cpk, ppm;
  };
  for (const Capability& c : {Capability{"1", 1, 1349.90}, Capability{"1.5", 1.5, 3.39767},
                              Capability{"2", 2, 9.86588e-4}})
    rows.push_back({std::string("ppm-") + c.text,
                    std::string("Bad parts on one side at a margin of three sigma times ") + c.text,
                    kNormal, c.ppm, "ppm", within(5e-6),
                    [c](const Skew&) { return 1e6 * normal_cdf(-3 * c.cpk); }});
}

constexpr std::array<double, 14> kX = {77.6,  114.9, 141.1, 190.8, 239.9, 289.0, 332.8,
                                       378.4, 434.8, 477.3, 536.8, 593.1, 689.1, 760.0};
constexpr std::array<double, 14> kY = {10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02,
                                       44.82, 50.76, 55.05, 61.01, 66.40, 75.47, 81.78};

Fit misra() {
  return least_squares(
      [](std::span<const double> b, std::span<double> out) {
        for (std::size_t k = 0; k < kX.size(); ++k)
          out[k] = kY[k] + b[0] * std::expm1(-b[1] * kX[k]);
        return true;
      },
      kX.size(), {{500, 500}, {1e-4, 1e-4}});
}

void add_fit(std::vector<Row>& rows) {
  rows.push_back({"fit-b1", "Least squares on a reference dataset: b1", kMisra, 2.3894212918e2, "",
                  within(1e-7), [](const Skew&) { return misra().value.at(0); }, 7});
  rows.push_back({"fit-b2", "Least squares on that dataset: b2", kMisra, 5.5015643181e-4, "",
                  within(1e-7), [](const Skew&) { return misra().value.at(1); }, 7});
  rows.push_back({"fit-b2-deviation", "Least squares on that dataset: standard deviation of b2",
                  kMisra, 7.2668688436e-6, "", within(1e-5),
                  [](const Skew&) { return misra().deviation.at(1); }, 5});
  rows.push_back({"fit-squares", "Least squares on that dataset: sum of squares left", kMisra,
                  1.2455138894e-1, "", within(1e-8),
                  [](const Skew&) { return misra().sum_squares; }, 7});
}

}  // namespace

Topic statistics() {
  Topic t{"Statistics", "What is said of many units, and of a capture from the bench.", {}};
  add_intervals(t.rows);
  add_normal(t.rows);
  add_fit(t.rows);
  return t;
}

}  // namespace pb::book
