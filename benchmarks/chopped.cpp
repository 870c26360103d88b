// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A chopped drive on means over its periods against the same with every edge simulated: a move of
// 0.2 s at 20 kHz. A time is reported only with the error it bought; beyond 1 % of a winding's rms
// current or 3 % of a switch's loss the program fails. Times are those of the thread, the means'
// best of several runs.
//
//   bench_chopped
#include <time.h>

#include <algorithm>
#include <cstdio>
#include <memory>

#include "files/toml_brief.h"
#include "physics/period_means.h"
#include "tests/rigs/chopped.h"
#include "tests/unit/files_samples.h"

namespace {

using namespace pb;

double cpu_s() {
  timespec t{};
  clock_gettime(CLOCK_THREAD_CPUTIME_ID, &t);
  return static_cast<double>(t.tv_sec) + 1e-9 * static_cast<double>(t.tv_nsec);
}

bool compare(const char* part_class, const char* decay) {
  constexpr int kRuns = 5, kSteps = 24;
  constexpr double kRms = 0.01, kLoss = 0.03;
  const Design d = rigs::chopped(read_brief("least.toml", test::kLeastBrief)->brief,
                                 test::kRoot.string(), part_class, decay, "two-phase");
  const auto spreads = physics::spreads_of(d);
  const physics::DriveTable table = physics::drive_table(
      d, "two-phase",
      physics::computed_dead_time(d, spreads, physics::typical(spreads), "two-phase"));
  physics::RunRequest r;
  r.plan = physics::plan_move(d, table, kSteps);
  double began_s = cpu_s();
  const physics::RunFigures edges = rigs::by_edges(d, r);
  const double edges_s = cpu_s() - began_s;
  physics::RunFigures means;
  const auto best_s = [&] {
    double best = 1e300;
    for (int k = 0; k < kRuns; ++k) {
      began_s = cpu_s();
      means = rigs::by_means(d, r, table);
      best = std::min(best, cpu_s() - began_s);
    }
    return best;
  };
  const double means_s = best_s();
  // As every run of a proof but its first: edges of these periods have been simulated.
  r.periods = std::make_shared<physics::PeriodStore>(d, spreads);
  const double again_s = best_s(), per_100_ms = 0.1 / r.plan.end_s;
  const rigs::Apart apart = rigs::apart(d, means, edges, part_class);
  const bool sound = apart.rms < kRms && apart.loss < kLoss && apart.parts > 0;
  std::printf("%-12s %-6s %8.2f %8.2f %10.1f %10.1f %10.1f %8.0f%s\n", part_class, decay,
              100 * apart.rms, 100 * apart.loss, 1e3 * per_100_ms * edges_s,
              1e3 * per_100_ms * means_s, 1e3 * per_100_ms * again_s, edges_s / means_s,
              sound ? "" : "  beyond the error allowed");
  return sound;
}

}  // namespace

int main() {
  std::printf(
      "CPU time of 0.1 s of a move at 20 kHz: by every edge, on means, on means known already\n");
  std::printf("%-12s %-6s %8s %8s %10s %10s %10s %8s\n", "switches", "decay", "rms %", "loss %",
              "edges ms", "means ms", "again ms", "ratio");
  const bool chip = compare("bridge-chip", "slow"), discrete = compare("p-mosfet", "diode");
  return chip && discrete ? 0 : 1;
}
