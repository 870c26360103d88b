// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Speed of the transient engine against SUNDIALS IDA on the scenes of tests/ref/scene.h. Every time
// is reported with the error it bought: all are given the loosest tolerances of a sweep that keep
// the winding currents within 1e-3 of their peak and what the switches lose within 2 %, against IDA
// at 1e-7; a method that never gets there has no time, and the program fails. Times are those of
// the thread, best of several runs by turns, all in this one process. Units in lockstep: eight
// alike, and eight whose figures lie apart, these against IDA on the same eight, one after the
// other, at the tolerances that the worst of them needs; per unit and core.
//
// Distance to the floor: a study before this project put what full gate detail must cost at 8 ms
// per simulated second alone, 1.5 ms a unit in lockstep, where IDA with sparse elimination took 421
// (second scene: 0.45 s, 0.08 s and 28.1 s). Machines differ; the column is our time over IDA's
// times that share.
//
//   bench_engine [--all] [--json FILE]
//
// --all adds the chopped scene, which takes minutes, and the speed reached where losses are to be
// within 0.5 %.
#include <stdlib.h>
#include <time.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <cstdio>
#include <cstring>
#include <functional>
#include <string>
#include <thread>
#include <vector>

#include "base/parallel.h"
#include "base/random.h"
#include "tests/ref/ida_scene.h"
#include "tests/slow/scene_circuit.h"

namespace {

using namespace pb;

constexpr double kSample_s = 1e-4, kAllowed = 1e-3, kAllowedLoss = 0.02, kCloserLoss = 0.005;
constexpr int kRuns = 7;
/// Times the tolerances that designs are proven with.
constexpr double kSweep[] = {32.0, 24.0, 16.0, 12.0, 8.0, 6.0, 5.0,  4.0,
                             3.0,  2.5,  2.0,  1.5,  1.0, 0.5, 0.25, 0.1};

constexpr double kIdaSweep[] = {4e-3,   2e-3, 1.5e-3, 1e-3, 8e-4, 6e-4, 5e-4, 4e-4, 3e-4,
                                2.5e-4, 2e-4, 1.5e-4, 1e-4, 5e-5, 2e-5, 1e-5, 5e-6, 3e-6};
constexpr ref::RunOptions kLean{.energies = false};

physics::TransientOptions usual_times(double factor) {
  physics::TransientOptions o;
  o.rtol *= factor, o.atol_A *= factor, o.atol_V *= factor, o.atol_rad *= factor;
  o.loss_share *= factor;
  o.peaks = false;  // currents at samples and losses are compared, no peaks
  return o;
}

struct Row {
  std::string method, scene;
  double tolerance = 0, error = 1e300, loss_error = 1e300, simulated_s = 0, cpu_s = 0;
  double allowed_loss = kAllowedLoss;
  long steps = 0;
  double floor = 0;               // share of IDA's time, sparse; 0: none known
  std::size_t yardstick = 1;      // row of IDA, sparse, on the same job
  std::function<double()> again;  // the same run once more; its time [s]
  bool reached() const { return error <= kAllowed && loss_error <= allowed_loss; }
  double ms_per_s() const { return 1e3 * cpu_s / simulated_s; }
};

template <typename Run>
double error_of(const Run& x, const ref::SceneRun& r) {
  if (x.t_s.size() != r.t_s.size()) return 1e300;
  double worst = 0, peak = 0;
  for (std::size_t k = 0; k < r.t_s.size(); ++k) {
    peak = std::max({peak, std::abs(r.i_a_A[k]), std::abs(r.i_b_A[k])});
    worst = std::max({worst, std::abs(x.i_a_A[k] - r.i_a_A[k]), std::abs(x.i_b_A[k] - r.i_b_A[k])});
  }
  return worst / peak;
}

/// Of what all channels lose.
double channels_J(const ref::SceneRun& r) {
  double sum = 0;
  for (const double x : r.energy_J.channel) sum += x;
  return sum;
}
double loss_error_of(double loss_J, const ref::SceneRun& r) {
  return std::abs(loss_J / channels_J(r) - 1.0);
}

Row ida(const char* name, const ref::Scene& scene, const ref::SceneRun& reference, bool klu) {
  Row row;
  row.method = klu ? "IDA, sparse" : "IDA, dense", row.scene = name;
  row.simulated_s = scene.end_s;
  for (double rtol : kIdaSweep) {
    ref::SceneRun x = ref::run_scene(scene, rtol, klu, kSample_s, kLean);
    row.tolerance = rtol, row.error = error_of(x, reference);
    if (x.status != 0 || row.error > kAllowed) continue;
    row.loss_error =
        loss_error_of(channels_J(ref::run_scene(scene, rtol, klu, kSample_s)), reference);
    if (!row.reached()) continue;
    row.cpu_s = x.cpu_s, row.steps = x.steps;
    row.again = [=] { return ref::run_scene(scene, rtol, klu, kSample_s, kLean).cpu_s; };
    break;
  }
  return row;
}

using Eight = std::array<ref::Scene, physics::kLanes>;

/// The worst unit's errors, each unit against its own reference; one after the other, time a unit.
Row ida_apart(const char* name, const Eight& scenes, const std::vector<ref::SceneRun>& references) {
  constexpr double kShare = 1.0 / physics::kLanes;
  Row row;
  row.method = "IDA, 8, 5 %", row.scene = name, row.simulated_s = scenes[0].end_s;
  for (double rtol : kIdaSweep) {
    row.tolerance = rtol, row.error = row.loss_error = row.cpu_s = 0, row.steps = 0;
    for (std::size_t k = 0; k < scenes.size(); ++k) {
      const ref::SceneRun lean = ref::run_scene(scenes[k], rtol, true, kSample_s, kLean),
                          full = ref::run_scene(scenes[k], rtol, true, kSample_s);
      const bool ended = lean.status == 0 && full.status == 0;
      row.error = std::max(row.error, ended ? error_of(lean, references[k]) : 1e300);
      row.loss_error = std::max(row.loss_error, loss_error_of(channels_J(full), references[k]));
      row.cpu_s += kShare * lean.cpu_s, row.steps += lean.steps / physics::kLanes;
    }
    if (!row.reached()) continue;
    row.again = [=] {
      double sum = 0;
      for (const ref::Scene& scene : scenes)
        sum += ref::run_scene(scene, rtol, true, kSample_s, kLean).cpu_s;
      return kShare * sum;
    };
    break;
  }
  return row;
}

Row engine(const char* method, const char* name, const ref::Scene& scene,
           const ref::SceneRun& reference, double allowed_loss = kAllowedLoss) {
  Row row;
  row.method = method, row.scene = name, row.simulated_s = scene.end_s;
  row.allowed_loss = allowed_loss;
  for (double factor : kSweep) {
    const physics::TransientOptions o = usual_times(factor);
    scenes::Samples x = scenes::run(scene, o, kSample_s);
    row.tolerance = o.rtol, row.error = error_of(x, reference);
    row.loss_error = loss_error_of(x.switch_loss_J, reference);
    if (x.outcome != physics::Outcome::reached_end || !row.reached()) continue;
    row.cpu_s = x.cpu_s, row.steps = x.accepted;
    row.again = [=] { return scenes::run(scene, o, kSample_s).cpu_s; };
    break;
  }
  return row;
}

/// Figures of one unit within these parts of their own either way, drawn by seed, unit and name.
ref::Scene unit_of(ref::Scene s, std::uint64_t unit, double share) {
  const Draws draws(1, unit);
  const auto spread = [&](double& x, const char* name) {
    x *= 1.0 + share * (2.0 * draws.uniform(name) - 1.0);
  };
  spread(s.supply_V, "supply"), spread(s.winding_ohm, "winding_ohm");
  spread(s.winding_H, "winding_H"), spread(s.Km_Vs_rad, "Km"), spread(s.load_Nm, "load");
  spread(s.VT0_V, "VT0"), spread(s.K_A_V2, "K"), spread(s.series_ohm, "series");
  spread(s.Cgs_F, "Cgs"), spread(s.Cgd_F, "Cgd"), spread(s.gate_ohm, "gate_ohm");
  spread(s.schottky_Is_A, "schottky_Is"), spread(s.clamp_V, "clamp");
  return s;
}
constexpr double kSpread = 0.05;

Eight eight_of(const ref::Scene& scene, std::uint64_t first, double share) {
  Eight out;
  for (std::size_t k = 0; k < out.size(); ++k) out[k] = unit_of(scene, first + k, share);
  return out;
}

/// The worst unit's errors, each unit against its own reference.
Row lanes(const char* method, const char* name, const Eight& scenes,
          const std::vector<ref::SceneRun>& references, double allowed_loss = kAllowedLoss) {
  Row row;
  row.method = method, row.scene = name, row.simulated_s = scenes[0].end_s;
  row.allowed_loss = allowed_loss;
  for (double factor : kSweep) {
    const physics::TransientOptions o = usual_times(factor);
    scenes::Units units = scenes::units_of(scenes);
    const auto x = scenes::run(units, scenes[0].end_s, o, kSample_s);
    row.tolerance = o.rtol, row.error = row.loss_error = 0;
    for (std::size_t k = 0; k < x.size(); ++k) {
      const ref::SceneRun& r = references[std::min(k, references.size() - 1)];
      row.error = std::max(row.error, error_of(x[k], r));
      row.loss_error = std::max(row.loss_error, loss_error_of(x[k].switch_loss_J, r));
    }
    if (x[0].outcome != physics::Outcome::reached_end || !row.reached()) continue;
    row.cpu_s = x[0].cpu_s, row.steps = x[0].accepted;
    row.again = [=] {
      scenes::Units same = scenes::units_of(scenes);
      return scenes::run(same, scenes[0].end_s, o, kSample_s)[0].cpu_s;
    };
    break;
  }
  return row;
}

/// A thousand units of a scene on all cores, start states included.
struct Thousand {
  double wall_s = 0, cpu_s = 0;
  long units = 0;
  bool sound = true;
};
Thousand once_a_thousand_of(const ref::Scene& scene, const physics::TransientOptions& options) {
  constexpr std::size_t kGroups = 125;
  const auto clock_s = [](clockid_t clock) {
    timespec t{};
    clock_gettime(clock, &t);
    return static_cast<double>(t.tv_sec) + 1e-9 * static_cast<double>(t.tv_nsec);
  };
  const double wall = clock_s(CLOCK_MONOTONIC), cpu = clock_s(CLOCK_PROCESS_CPUTIME_ID);
  std::vector<char> ended(kGroups, 0);
  threads(0)(kGroups, [&](std::size_t g) {
    scenes::Units units =
        scenes::units_of(eight_of(scene, g * static_cast<std::size_t>(physics::kLanes), kSpread));
    const auto x = scenes::run(units, scene.end_s, options, 0.0);
    ended[g] = x[0].outcome == physics::Outcome::reached_end;
  });
  Thousand out{clock_s(CLOCK_MONOTONIC) - wall, clock_s(CLOCK_PROCESS_CPUTIME_ID) - cpu,
               static_cast<long>(kGroups) * physics::kLanes, true};
  for (const char e : ended) out.sound = out.sound && e;
  return out;
}

/// The best of as many runs as the table's other rows have.
Thousand thousand_of(const ref::Scene& scene, const physics::TransientOptions& options) {
  Thousand best = once_a_thousand_of(scene, options);
  for (int run = 1; run < kRuns; ++run) {
    const Thousand next = once_a_thousand_of(scene, options);
    const bool sound = best.sound && next.sound;
    if (next.wall_s < best.wall_s) best = next;
    best.sound = sound;
  }
  return best;
}

double load_now() {
  double load[1] = {0};
  return getloadavg(load, 1) == 1 ? load[0] : 0.0;
}

std::string today() {
  const time_t now = time(nullptr);
  tm utc{};
  gmtime_r(&now, &utc);
  char text[16];
  strftime(text, sizeof text, "%Y-%m-%d", &utc);
  return text;
}

/// The rows of a scene: IDA dense, IDA sparse, engine, and units in lockstep where they were run.
using SceneRows = std::vector<Row>;

/// By turns, so that a machine which others use, too, is slow to all of them alike.
void time_by_turns(SceneRows& rows, int runs) {
  for (int k = 1; k < runs; ++k)
    for (Row& r : rows)
      if (r.again) r.cpu_s = std::min(r.cpu_s, r.again());
}

void print(const std::vector<SceneRows>& all) {
  std::printf("%-11s %-14s %8s %8s %8s %8s %8s %9s %9s %9s %8s\n", "scene", "method", "rtol",
              "current", "losses", "steps", "us/step", "ms/sim. s", "x dense", "x sparse",
              "x floor");
  for (const SceneRows& rows : all)
    for (const Row& r : rows) {
      if (!r.reached()) {
        std::printf("%-11s %-14s never within %g, losses %g, of the reference\n", r.scene.c_str(),
                    r.method.c_str(), kAllowed, r.allowed_loss);
        continue;
      }
      std::printf("%-11s %-14s %8.1e %8.1e %8.1e %8ld %8.2f %9.1f %9.2f %9.2f ", r.scene.c_str(),
                  r.method.c_str(), r.tolerance, r.error, r.loss_error, r.steps,
                  1e6 * r.cpu_s / static_cast<double>(r.steps), r.ms_per_s(),
                  rows[0].cpu_s / r.cpu_s, rows[r.yardstick].cpu_s / r.cpu_s);
      if (r.floor > 0)
        std::printf("%8.1f\n", r.cpu_s / rows[r.yardstick].cpu_s / r.floor);
      else
        std::printf("%8s\n", "-");
    }
}

bool write_json(const char* path, const std::vector<SceneRows>& all, const Thousand& t,
                const Thousand& proven) {
  std::FILE* f = std::fopen(path, "w");
  if (!f) return false;
  std::fprintf(f,
               "{\n \"date\": \"%s\",\n \"machine\": \"shared virtual x86-64 server, %u logical "
               "cores\",\n \"load\": %.1f,\n \"current_error_allowed\": %g,\n "
               "\"loss_error_allowed\": %g,\n \"thousand_units\": {\"scene\": \"case 1\", "
               "\"wall_s\": %.3g, \"cpu_s\": %.3g, \"usual_tolerances\": {\"wall_s\": %.3g, "
               "\"cpu_s\": %.3g}},\n \"rows\": [",
               today().c_str(), std::thread::hardware_concurrency(), load_now(), kAllowed,
               kAllowedLoss, t.wall_s, t.cpu_s, proven.wall_s, proven.cpu_s);
  const char* comma = "";
  for (const SceneRows& rows : all)
    for (const Row& r : rows) {
      std::fprintf(f,
                   "%s\n  {\"scene\": \"%s\", \"method\": \"%s\", \"rtol\": %g, \"error\": %.3g, "
                   "\"loss_error\": %.3g, \"steps\": %ld, \"us_per_step\": %.3g, "
                   "\"ms_per_simulated_s\": %.4g, \"times_dense\": %.3g, "
                   "\"times_sparse\": %.3g",
                   comma, r.scene.c_str(), r.method.c_str(), r.tolerance, r.error, r.loss_error,
                   r.steps, 1e6 * r.cpu_s / static_cast<double>(r.steps), r.ms_per_s(),
                   rows[0].cpu_s / r.cpu_s, rows[r.yardstick].cpu_s / r.cpu_s);
      if (r.floor > 0)
        std::fprintf(f, ", \"times_floor\": %.3g", r.cpu_s / rows[r.yardstick].cpu_s / r.floor);
      std::fprintf(f, "}");
      comma = ",";
    }
  std::fprintf(f, "\n ]\n}\n");
  return std::fclose(f) == 0;
}

/// A scene and what is run of it.
struct Job {
  const char* name;
  ref::Scene scene;
  int runs;
  bool lanes, apart;
  double floor_alone, floor_lanes;  // share of IDA's time, sparse; 0: none known
};

std::vector<Job> jobs(bool everything) {
  std::vector<Job> out = {{"case 1", ref::case_1(), kRuns, true, true, 8.0 / 421, 1.5 / 421},
                          {"small bulk", ref::case_1_small_bulk(), kRuns, true, true, 0, 0},
                          {"coast", ref::case_1_coast(), kRuns, false, false, 0, 0}};
  if (everything)
    out.push_back({"case 2", ref::case_2(), 5, true, false, 0.45 / 28.1, 0.08 / 28.1});
  return out;
}

ref::SceneRun reference(const ref::Scene& scene, bool& sound) {
  ref::SceneRun r = ref::run_scene(scene, 1e-7, true, kSample_s);
  sound = sound && r.status == 0;
  return r;
}

void add_units_apart(SceneRows& rows, const Job& job, bool& sound) {
  const Eight apart = eight_of(job.scene, 0, kSpread);
  std::vector<ref::SceneRun> own;
  for (const ref::Scene& scene : apart) own.push_back(reference(scene, sound));
  rows.push_back(ida_apart(job.name, apart, own));
  rows.push_back(lanes("8 units, 5 %", job.name, apart, own));
  rows.back().floor = job.floor_lanes, rows.back().yardstick = rows.size() - 2;
}

SceneRows rows_of(const Job& job, bool everything, bool& sound) {
  const Eight alike = eight_of(job.scene, 0, 0.0);
  const std::vector<ref::SceneRun> one = {reference(job.scene, sound)};
  SceneRows rows = {ida(job.name, job.scene, one[0], false), ida(job.name, job.scene, one[0], true),
                    engine("engine", job.name, job.scene, one[0])};
  rows.back().floor = job.floor_alone;
  if (job.lanes) {
    rows.push_back(lanes("8 units alike", job.name, alike, one));
    rows.back().floor = job.floor_lanes;
  }
  if (job.apart) add_units_apart(rows, job, sound);
  if (job.lanes && everything) {
    rows.push_back(engine("engine, 0.5 %", job.name, job.scene, one[0], kCloserLoss));
    rows.push_back(lanes("8 alike, 0.5 %", job.name, alike, one, kCloserLoss));
  }
  for (const Row& r : rows) sound = sound && r.reached();
  time_by_turns(rows, job.runs);
  return rows;
}

}  // namespace

int main(int argc, char** argv) {
  bool everything = false;
  const char* json = nullptr;
  for (int k = 1; k < argc; ++k) {
    if (!std::strcmp(argv[k], "--all")) {
      everything = true;
    } else if (!std::strcmp(argv[k], "--json") && k + 1 < argc) {
      json = argv[++k];
    } else {
      std::fprintf(stderr, "usage: bench_engine [--all] [--json FILE]\n");
      return 2;
    }
  }
  bool sound = true;
  std::vector<SceneRows> all;
  for (const Job& job : jobs(everything)) all.push_back(rows_of(job, everything, sound));
  const Row* apart = nullptr;
  for (const SceneRows& rows : all)
    for (const Row& r : rows)
      if (r.scene == "case 1" && r.method == "8 units, 5 %") apart = &r;
  const physics::TransientOptions usual;
  const double factor = apart->tolerance / usual.rtol;
  const Thousand thousand = thousand_of(ref::case_1(), usual_times(factor)),
                 proven = thousand_of(ref::case_1(), usual);
  sound = sound && thousand.sound && proven.sound;
  std::printf("%s, %u logical cores, load %.1f\n\n", today().c_str(),
              std::thread::hardware_concurrency(), load_now());
  print(all);
  std::printf(
      "\n%ld units of case 1, 5 %% apart, on all cores, start states included: %.2f s by the wall, "
      "%.2f s of CPU; at the tolerances that designs are proven with %.2f s and %.2f s\n",
      thousand.units, thousand.wall_s, thousand.cpu_s, proven.wall_s, proven.cpu_s);
  if (json && sound && !write_json(json, all, thousand, proven)) {
    std::fprintf(stderr, "%s: expected a file that can be written\n", json);
    return 1;
  }
  return sound ? 0 : 1;
}
