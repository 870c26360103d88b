// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Speed of the transient engine against SUNDIALS IDA on the scenes of tests/ref/scene.h. Every time
// is reported with the error it bought: both are given the loosest tolerances of a sweep that keep
// the winding currents within 1e-3 of their peak, against IDA at 1e-7; a method that never gets
// there has no time, and the program fails. Times are those of the thread, best of several runs,
// all in this one process.
//
//   bench_engine [--all] [--json FILE]     --all adds the chopped scene, which takes minutes
#include <time.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstring>
#include <string>
#include <thread>
#include <vector>

#include "tests/ref/ida_scene.h"
#include "tests/slow/scene_circuit.h"

namespace {

using namespace pb;

constexpr double kSample_s = 1e-4, kAllowed = 1e-3;
constexpr int kRuns = 5;

struct Row {
  std::string method, scene;
  double tolerance = 0, error = 1e300, simulated_s = 0, cpu_s = 0;
  long steps = 0;
  bool reached() const { return error <= kAllowed; }
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

Row time_ida(const char* name, const ref::Scene& scene, const ref::SceneRun& reference, bool klu,
             int runs) {
  Row row{klu ? "IDA, sparse" : "IDA, dense", name, 0, 1e300, scene.end_s, 0, 0};
  for (double rtol : {1e-3, 6e-4, 3e-4, 2e-4, 1e-4, 5e-5, 2e-5, 1e-5, 3e-6}) {
    const ref::RunOptions lean{.energies = false};
    ref::SceneRun x = ref::run_scene(scene, rtol, klu, kSample_s, lean);
    row.tolerance = rtol, row.error = error_of(x, reference);
    if (x.status != 0 || !row.reached()) continue;
    row.cpu_s = x.cpu_s, row.steps = x.steps;
    for (int k = 1; k < runs; ++k)
      row.cpu_s = std::min(row.cpu_s, ref::run_scene(scene, rtol, klu, kSample_s, lean).cpu_s);
    break;
  }
  return row;
}

Row time_engine(const char* name, const ref::Scene& scene, const ref::SceneRun& reference,
                int runs) {
  Row row{"engine", name, 0, 1e300, scene.end_s, 0, 0};
  for (double factor : {1.0, 0.5, 0.25, 0.1}) {
    physics::TransientOptions o;
    o.rtol *= factor, o.atol_A *= factor, o.atol_V *= factor, o.atol_rad *= factor;
    scenes::Samples x = scenes::run(scene, o, kSample_s);
    row.tolerance = o.rtol, row.error = error_of(x, reference);
    if (x.outcome != physics::Outcome::reached_end || !row.reached()) continue;
    row.cpu_s = x.cpu_s, row.steps = x.accepted;
    for (int k = 1; k < runs; ++k)
      row.cpu_s = std::min(row.cpu_s, scenes::run(scene, o, kSample_s).cpu_s);
    break;
  }
  return row;
}

std::string today() {
  const time_t now = time(nullptr);
  tm utc{};
  gmtime_r(&now, &utc);
  char text[16];
  strftime(text, sizeof text, "%Y-%m-%d", &utc);
  return text;
}

/// The three rows of a scene: engine, IDA dense, IDA sparse.
using Scene3 = std::vector<Row>;

void print(const std::vector<Scene3>& all) {
  std::printf("%-12s %-12s %9s %9s %8s %9s %12s %9s %9s\n", "scene", "method", "rtol", "error",
              "steps", "us/step", "ms/simul. s", "x dense", "x sparse");
  for (const Scene3& rows : all)
    for (const Row& r : rows) {
      if (!r.reached()) {
        std::printf("%-12s %-12s never within %g of the reference\n", r.scene.c_str(),
                    r.method.c_str(), kAllowed);
        continue;
      }
      std::printf("%-12s %-12s %9.1e %9.1e %8ld %9.2f %12.1f %9.2f %9.2f\n", r.scene.c_str(),
                  r.method.c_str(), r.tolerance, r.error, r.steps,
                  1e6 * r.cpu_s / static_cast<double>(r.steps), r.ms_per_s(),
                  rows[1].cpu_s / r.cpu_s, rows[2].cpu_s / r.cpu_s);
    }
}

bool write_json(const char* path, const std::vector<Scene3>& all) {
  std::FILE* f = std::fopen(path, "w");
  if (!f) return false;
  std::fprintf(f,
               "{\n \"date\": \"%s\",\n \"machine\": \"shared virtual x86-64 server, %u logical "
               "cores\",\n \"error_allowed\": %g,\n \"rows\": [",
               today().c_str(), std::thread::hardware_concurrency(), kAllowed);
  const char* comma = "";
  for (const Scene3& rows : all)
    for (const Row& r : rows) {
      std::fprintf(f,
                   "%s\n  {\"scene\": \"%s\", \"method\": \"%s\", \"rtol\": %g, \"error\": %.3g, "
                   "\"steps\": %ld, \"ms_per_simulated_s\": %.4g, \"times_dense\": %.3g, "
                   "\"times_sparse\": %.3g}",
                   comma, r.scene.c_str(), r.method.c_str(), r.tolerance, r.error, r.steps,
                   r.ms_per_s(), rows[1].cpu_s / r.cpu_s, rows[2].cpu_s / r.cpu_s);
      comma = ",";
    }
  std::fprintf(f, "\n ]\n}\n");
  return std::fclose(f) == 0;
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
  struct Named {
    const char* name;
    ref::Scene scene;
    int runs;
  };
  std::vector<Named> scenes = {{"case 1", ref::case_1(), kRuns},
                               {"small bulk", ref::case_1_small_bulk(), kRuns},
                               {"coast", ref::case_1_coast(), kRuns}};
  if (everything) scenes.push_back({"case 2", ref::case_2(), 1});
  std::vector<Scene3> all;
  bool sound = true;
  for (const Named& n : scenes) {
    const ref::SceneRun reference =
        ref::run_scene(n.scene, 1e-7, true, kSample_s, {.energies = false});
    sound = sound && reference.status == 0;
    all.push_back({time_engine(n.name, n.scene, reference, n.runs),
                   time_ida(n.name, n.scene, reference, false, n.runs),
                   time_ida(n.name, n.scene, reference, true, n.runs)});
    for (const Row& r : all.back()) sound = sound && r.reached();
  }
  print(all);
  if (json && sound && !write_json(json, all)) {
    std::fprintf(stderr, "%s: expected a file that can be written\n", json);
    return 1;
  }
  return sound ? 0 : 1;
}
