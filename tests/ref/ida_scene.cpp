// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A scene solved by SUNDIALS IDA. See ida_scene.h.

#include "tests/ref/ida_scene.h"

#include <ida/ida.h>
#include <nvector/nvector_serial.h>
#include <sunlinsol/sunlinsol_dense.h>
#include <sunlinsol/sunlinsol_klu.h>
#include <sunmatrix/sunmatrix_dense.h>
#include <sunmatrix/sunmatrix_sparse.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <ctime>
#include <memory>
#include <set>

namespace pb::ref {
namespace {

template <auto release>
struct Release {
  template <class T>
  void operator()(T* p) const {
    release(p);
  }
};
void free_context(SUNContext c) { SUNContext_Free(&c); }
void free_ida(void* m) { IDAFree(&m); }

using Context = std::unique_ptr<std::remove_pointer_t<SUNContext>, Release<free_context>>;
using NVector = std::unique_ptr<std::remove_pointer_t<N_Vector>, Release<N_VDestroy>>;
using Matrix = std::unique_ptr<std::remove_pointer_t<SUNMatrix>, Release<SUNMatDestroy>>;
using Solver = std::unique_ptr<std::remove_pointer_t<SUNLinearSolver>, Release<SUNLinSolFree>>;
using Ida = std::unique_ptr<void, Release<free_ida>>;

/// The pin voltages: straight lines between the stops.
class PinDrive {
 public:
  explicit PinDrive(const Scene& scene) : scene_(scene), edges_(drive_edges(scene)) {
    for (int k = 0; k < kSwitches; ++k) from_V_[k] = pin_level_V(scene, k, on_at_start(scene, k));
    const double end_s = whole_picoseconds(scene.end_s);
    std::set<double> stops = {end_s};
    for (const PinEdge& e : edges_) {
      stops.insert(e.t_s);
      if (edge_end_s(e) < end_s) stops.insert(edge_end_s(e));
    }
    stops.erase(0.0);
    stops_.assign(stops.begin(), stops.end());
    begin_span(0.0);
  }

  const std::vector<double>& stops_s() const { return stops_; }

  /// From now on `at` is asked for times from t_s to the next stop.
  void begin_span(double t_s) {
    from_V_ = at(t_s);
    from_s_ = t_s;
    slope_.fill(0.0);
    for (auto e = edges_.begin(); e != edges_.end() && e->t_s <= t_s; ++e) {
      const double end_s = edge_end_s(*e);
      const double level_V = pin_level_V(scene_, e->pin, e->on);
      if (t_s >= end_s) {
        from_V_[e->pin] = level_V;  // exact, without the rounding of the line
      } else {
        slope_[e->pin] = (level_V - from_V_[e->pin]) / (end_s - t_s);
      }
    }
    // Edges that are over need no second look.
    edges_.erase(edges_.begin(), std::find_if(edges_.begin(), edges_.end(), [&](const PinEdge& e) {
                   return edge_end_s(e) > t_s;
                 }));
  }

  PinVoltages at(double t_s) const {
    PinVoltages v;
    for (int k = 0; k < kSwitches; ++k) v[k] = from_V_[k] + slope_[k] * (t_s - from_s_);
    return v;
  }

 private:
  double edge_end_s(const PinEdge& e) const { return whole_picoseconds(e.t_s + scene_.edge_s); }

  Scene scene_;
  std::vector<PinEdge> edges_;
  std::vector<double> stops_;
  double from_s_ = 0.0;
  PinVoltages from_V_{}, slope_{};
};

/// What IDA's callbacks see.
struct Problem {
  SceneModel model;
  PinDrive drive;
  EntryTable table;
  std::vector<sunindextype> row_of, column_start;  // compressed columns, for KLU
};

int residual(double t, N_Vector y, N_Vector dy, N_Vector f, void* user) {
  const auto& p = *static_cast<Problem*>(user);
  p.model.residual(p.drive.at(t), N_VGetArrayPointer(y), N_VGetArrayPointer(dy),
                   N_VGetArrayPointer(f));
  return 0;
}

int dense_jacobian(double, double cj, N_Vector y, N_Vector, N_Vector, SUNMatrix a, void* user,
                   N_Vector, N_Vector, N_Vector) {
  const auto& p = *static_cast<Problem*>(user);
  p.model.jacobian(cj, N_VGetArrayPointer(y), p.table, SUNDenseMatrix_Data(a));
  return 0;
}

int sparse_jacobian(double, double cj, N_Vector y, N_Vector, N_Vector, SUNMatrix a, void* user,
                    N_Vector, N_Vector, N_Vector) {
  const auto& p = *static_cast<Problem*>(user);
  // IDA clears the whole matrix before, its structure too.
  std::copy(p.row_of.begin(), p.row_of.end(), SUNSparseMatrix_IndexValues(a));
  std::copy(p.column_start.begin(), p.column_start.end(), SUNSparseMatrix_IndexPointers(a));
  p.model.jacobian(cj, N_VGetArrayPointer(y), p.table, SUNSparseMatrix_Data(a));
  return 0;
}

void lay_out(Problem& p, bool klu) {
  for (auto& row : p.table) row.fill(-1);
  auto entries = p.model.pattern();
  std::sort(entries.begin(), entries.end(), [](const auto& a, const auto& b) {
    return std::pair(a[1], a[0]) < std::pair(b[1], b[0]);
  });
  p.column_start.assign(kUnknowns + 1, 0);
  for (const auto& [row, column] : entries) {
    p.table[row][column] = klu ? static_cast<int>(p.row_of.size()) : column * kUnknowns + row;
    p.row_of.push_back(row);
    ++p.column_start[column + 1];
  }
  for (int j = 0; j < kUnknowns; ++j) p.column_start[j + 1] += p.column_start[j];
}

double thread_cpu_s() {
  timespec now{};
  clock_gettime(CLOCK_THREAD_CPUTIME_ID, &now);
  return static_cast<double>(now.tv_sec) + 1e-9 * static_cast<double>(now.tv_nsec);
}

/// The size at which each unknown starts to matter: rtol times it is its absolute tolerance.
Vector27 scales() {
  Vector27 s;
  s.fill(1.0);  // volts
  s[kSupplyCurrent] = s[kCurrentA] = s[kCurrentB] = 0.1;
  s[kSpeed] = 1.0;
  s[kAngle] = 0.01;
  return s;
}

class Integration {
 public:
  Integration(const Scene& scene, double rtol, bool klu, double sample_dt_s,
              const RunOptions& options)
      : problem_{SceneModel(scene), PinDrive(scene), {}, {}, {}},
        options_(options),
        sample_dt_s_(sample_dt_s),
        end_s_(whole_picoseconds(scene.end_s)) {
    lay_out(problem_, klu);
    SUNContext context = nullptr;
    SUNContext_Create(nullptr, &context);
    context_.reset(context);
    for (NVector* v : {&y_, &dy_, &tolerance_, &at_, &kind_})
      v->reset(N_VNew_Serial(kUnknowns, context));
    const Vector27 scale = scales();
    for (int i = 0; i < kUnknowns; ++i) {
      data(tolerance_)[i] = rtol * scale[i];
      data(kind_)[i] = kOut <= i && i < kOut + 4 ? 0.0 : 1.0;  // 0: algebraic
    }
    Vector27 y, dy;
    if (!problem_.model.start(problem_.drive.at(0.0), y, dy)) {
      run_.status = 1;
      return;
    }
    std::copy(y.begin(), y.end(), data(y_));
    std::copy(dy.begin(), dy.end(), data(dy_));
    run_.status = set_up(rtol, klu);
  }

  SceneRun solve() {
    if (run_.status != 0) return std::move(run_);
    const auto begin = std::chrono::steady_clock::now();
    const double cpu_begin_s = thread_cpu_s();
    record(0.0, data(y_));
    run_.stored_start_J = problem_.model.stored_J(data(y_));
    double t_s = 0.0;
    for (const double stop_s : problem_.drive.stops_s()) {
      run_.status = span(t_s, stop_s);
      if (run_.status != 0) break;
      count();
      t_s = stop_s;
    }
    run_.stored_end_J = problem_.model.stored_J(data(y_));
    const std::chrono::duration<double> wall = std::chrono::steady_clock::now() - begin;
    run_.wall_s = wall.count();
    run_.cpu_s = thread_cpu_s() - cpu_begin_s;
    return std::move(run_);
  }

 private:
  static double* data(const NVector& v) { return N_VGetArrayPointer(v.get()); }

  int set_up(double rtol, bool klu) {
    SUNContext c = context_.get();
    ida_.reset(IDACreate(c));
    if (!ida_) return IDA_MEM_NULL;
    if (klu) {
      matrix_.reset(SUNSparseMatrix(kUnknowns, kUnknowns,
                                    static_cast<sunindextype>(problem_.row_of.size()), CSC_MAT, c));
      solver_.reset(SUNLinSol_KLU(y_.get(), matrix_.get(), c));
    } else {
      matrix_.reset(SUNDenseMatrix(kUnknowns, kUnknowns, c));
      solver_.reset(SUNLinSol_Dense(y_.get(), matrix_.get(), c));
    }
    for (const int flag :
         {IDAInit(ida_.get(), residual, 0.0, y_.get(), dy_.get()),
          IDASVtolerances(ida_.get(), rtol, tolerance_.get()),
          IDASetUserData(ida_.get(), &problem_), IDASetId(ida_.get(), kind_.get()),
          // Outputs jump with the pins and have no history worth a smaller step: leaving them out
          // of the error test gave the smaller current error at the same cost.
          IDASetSuppressAlg(ida_.get(), SUNTRUE),
          IDASetLinearSolver(ida_.get(), solver_.get(), matrix_.get()),
          IDASetJacFn(ida_.get(), klu ? sparse_jacobian : dense_jacobian),
          IDASetMaxNumSteps(ida_.get(), -1)}) {
      if (flag != IDA_SUCCESS) return flag;
    }
    return IDA_SUCCESS;
  }

  /// From one stop to the next. y and y' are continuous there (only y'' jumps), so they are
  /// consistent as they are; what must be dropped is the history of higher order.
  int span(double t_s, double stop_s) {
    problem_.drive.begin_span(t_s);
    if (int flag = IDAReInit(ida_.get(), t_s, y_.get(), dy_.get()); flag != 0) return flag;
    if (int flag = IDASetStopTime(ida_.get(), stop_s); flag != 0) return flag;
    Energies before;
    if (options_.energies) before = power(t_s, data(y_));
    while (t_s < stop_s) {
      const double from_s = t_s;
      const int flag = IDASolve(ida_.get(), stop_s, &t_s, y_.get(), dy_.get(), IDA_ONE_STEP);
      if (flag < 0) return flag;
      if (options_.energies) integrate(from_s, t_s, before);
      record_until(t_s);
    }
    return 0;
  }

  Energies power(double t_s, const double* y) const {
    return problem_.model.power_W(problem_.drive.at(t_s), y);
  }

  const double* interpolated(double t_s) {
    IDAGetDky(ida_.get(), t_s, 0, at_.get());
    return data(at_);
  }

  /// Boole's rule over one step on IDA's own interpolant; `before` becomes the power at the end.
  void integrate(double from_s, double to_s, Energies& before) {
    const double h_s = to_s - from_s;
    Energies& sum = run_.energy_J;
    sum.add(h_s * 7.0 / 90.0, before);
    for (const auto& [at, weight] : {std::pair(0.25, 32.0), {0.5, 12.0}, {0.75, 32.0}}) {
      const double t_s = from_s + at * h_s;
      sum.add(h_s * weight / 90.0, power(t_s, interpolated(t_s)));
    }
    before = power(to_s, data(y_));
    sum.add(h_s * 7.0 / 90.0, before);
  }

  void record_until(double t_s) {
    for (;;) {
      const double next_s = static_cast<double>(run_.t_s.size()) * sample_dt_s_;
      // A sample that is a stop up to rounding is taken at the stop.
      const double slack_s = 1e-9 * sample_dt_s_;
      if (next_s > t_s + slack_s || next_s > end_s_ + slack_s) return;
      record(next_s, next_s >= t_s ? data(y_) : interpolated(next_s));
    }
  }

  void record(double t_s, const double* y) {
    run_.t_s.push_back(t_s);
    run_.i_a_A.push_back(y[kCurrentA]);
    run_.i_b_A.push_back(y[kCurrentB]);
    run_.theta_rad.push_back(y[kAngle]);
    run_.rail_V.push_back(y[kRail]);
    run_.speed_rad_s.push_back(y[kSpeed]);
    run_.supply_A.push_back(y[kSupplyCurrent]);
    run_.emf_a_V.push_back(problem_.model.emf_a_V(y));
    run_.emf_b_V.push_back(problem_.model.emf_b_V(y));
    run_.torque_Nm.push_back(problem_.model.torque_Nm(y));
    std::copy_n(y, kUnknowns, run_.y.emplace_back().begin());
  }

  void count() {  // IDA's counters start again with every IDAReInit
    long steps = 0, rejected = 0, newton = 0, jacobians = 0;
    IDAGetNumSteps(ida_.get(), &steps);
    IDAGetNumErrTestFails(ida_.get(), &rejected);
    IDAGetNumNonlinSolvIters(ida_.get(), &newton);
    IDAGetNumJacEvals(ida_.get(), &jacobians);
    run_.steps += steps;
    run_.rejected += rejected;
    run_.newton += newton;
    run_.jacobians += jacobians;
  }

  Problem problem_;
  RunOptions options_;
  double sample_dt_s_, end_s_;
  SceneRun run_;
  // Declared so that each is destroyed before what it uses.
  Context context_;
  NVector y_, dy_, tolerance_, at_, kind_;
  Matrix matrix_;
  Solver solver_;
  Ida ida_;
};

}  // namespace

double SceneRun::energy_residual() const {
  const double given_J = energy_J.source + energy_J.pins;
  return (given_J - energy_J.dissipated() - (stored_end_J - stored_start_J)) / given_J;
}

SceneRun run_scene(const Scene& scene, double rtol, bool klu, double sample_dt_s,
                   const RunOptions& options) {
  return Integration(scene, rtol, klu, sample_dt_s, options).solve();
}

}  // namespace pb::ref
