// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A chopped drive on means over its periods against the same with every edge simulated: a move of
// 0.2 s at 20 kHz. A time is reported only with the error it bought; beyond 1 % of a winding's rms
// current or 3 % of a switch's loss the program fails. Times are those of the thread, the means'
// best of several runs: for rms currents and losses alone, and with the edges about the ends of
// each winding's drive, where peaks are; of either from nothing, and with its periods known
// already, as in every run of a proof but its first at some temperatures.
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
  const auto best_s = [&](bool losses_only, bool known) {
    double best = 1e300;
    r.losses_only = losses_only;
    for (int k = 0; k < kRuns; ++k) {
      if (k == 0 || !known) r.periods = std::make_shared<physics::PeriodStore>(d, spreads);
      if (k == 0 && known) rigs::by_means(d, r, table);
      began_s = cpu_s();
      means = rigs::by_means(d, r, table);
      best = std::min(best, cpu_s() - began_s);
    }
    return best;
  };
  const double losses_s = best_s(true, false), losses_again_s = best_s(true, true);
  const rigs::Apart apart = rigs::apart(d, means, edges, part_class);
  const double all_s = best_s(false, false), all_again_s = best_s(false, true);
  const bool sound = apart.rms < kRms && apart.loss < kLoss && apart.parts > 0,
             same = rigs::apart(d, means, edges, part_class).loss == apart.loss;
  const double per_100_ms = 1e3 * 0.1 / r.plan.end_s;
  std::printf("%-12s %-6s %6.2f %6.2f %9.1f %9.1f %9.1f %9.1f %9.1f%s\n", part_class, decay,
              100 * apart.rms, 100 * apart.loss, per_100_ms * edges_s, per_100_ms * losses_s,
              per_100_ms * losses_again_s, per_100_ms * all_s, per_100_ms * all_again_s,
              !sound  ? "  beyond the error allowed"
              : !same ? "  losses depend on whether peaks are asked for"
                      : "");
  return sound && same;
}

}  // namespace

int main() {
  std::printf(
      "CPU time of 0.1 s of a move at 20 kHz [ms]: by every edge; on means, losses alone and\n"
      "with peaks about turn-rounds, from nothing and with the periods known\n");
  std::printf("%-12s %-6s %6s %6s %9s %9s %9s %9s %9s\n", "switches", "decay", "rms %", "loss %",
              "edges", "losses", "known", "peaks", "known");
  const bool chip = compare("bridge-chip", "slow"), discrete = compare("p-mosfet", "diode");
  return chip && discrete ? 0 : 1;
}
