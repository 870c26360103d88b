// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The scenes' equations. Every node equation is the sum of the currents that leave the node; every
// element is stamped once, with value and slope together, into a sink that keeps what it needs.

#include "tests/ref/scene_model.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <numbers>

namespace pb::ref {
namespace {

constexpr int kGround = -1;

bool is_n(int k) { return k % 2 == 1; }
int source_of(int k) { return is_n(k) ? kGround : kRail; }
int out_of(int k) { return kOut + k / 2; }

/// Keeps the values: the residual.
struct ValueSink {
  const double *y, *dy;
  const double* pin_V;
  double* f;

  double pin(int k) const { return pin_V[k]; }
  double at(int i) const { return i == kGround ? 0.0 : y[i]; }
  void value(int row, double x) {
    if (row != kGround) f[row] += x;
  }
  void slope(int, int, double) {}
  void rate(int row, int column, double c) {  // + c dy[column] in the row
    if (row != kGround && column != kGround) f[row] += c * dy[column];
  }
};

/// Keeps the slopes: the Jacobian.
struct SlopeSink {
  const double* y;
  double cj;
  const EntryTable* table;
  double* storage;

  double pin(int) const { return 0.0; }
  double at(int i) const { return i == kGround ? 0.0 : y[i]; }
  void value(int, double) {}
  void slope(int row, int column, double g) {
    if (row != kGround && column != kGround) storage[(*table)[row][column]] += g;
  }
  void rate(int row, int column, double c) { slope(row, column, cj * c); }
};

/// Notes which entries are touched.
struct PatternSink {
  const double* y;
  std::array<std::array<bool, kUnknowns>, kUnknowns> touched{};

  double pin(int) const { return 0.0; }
  double at(int i) const { return i == kGround ? 0.0 : y[i]; }
  void value(int, double) {}
  void slope(int row, int column, double) {
    if (row != kGround && column != kGround) touched[row][column] = true;
  }
  void rate(int row, int column, double) { slope(row, column, 1.0); }
};

/// Current b.value from node a to node c, which depends on the voltage between them.
template <class Sink>
void branch(Sink& s, int a, int c, const Branch& b) {
  s.value(a, b.value);
  s.value(c, -b.value);
  s.slope(a, a, b.slope);
  s.slope(a, c, -b.slope);
  s.slope(c, a, -b.slope);
  s.slope(c, c, b.slope);
}

template <class Sink>
void resistor(Sink& s, int a, int c, double R_ohm) {
  branch(s, a, c, {(s.at(a) - s.at(c)) / R_ohm, 1.0 / R_ohm});
}

template <class Sink>
void junction(Sink& s, int anode, int cathode, const SeriesJunction& j) {
  branch(s, anode, cathode, j.at(s.at(anode) - s.at(cathode)));
}

template <class Sink>
void capacitor(Sink& s, int a, int c, double C_F) {
  s.rate(a, a, C_F);
  s.rate(a, c, -C_F);
  s.rate(c, a, -C_F);
  s.rate(c, c, C_F);
}

/// Winding `current` between two outputs, its emf and the slope of the emf to the angle.
struct Emf {
  double by_speed;  // emf = by_speed * w
  double by_angle;  // d emf / d th
};

template <class Sink>
void winding(Sink& s, const Scene& p, int current, int out, const Emf& e) {
  const double i_A = s.at(current);
  s.value(out, i_A);
  s.slope(out, current, 1.0);
  s.value(out + 1, -i_A);
  s.slope(out + 1, current, -1.0);
  s.rate(current, current, p.winding_H);
  s.value(current, p.winding_ohm * i_A + e.by_speed * s.at(kSpeed) - s.at(out) + s.at(out + 1));
  s.slope(current, current, p.winding_ohm);
  s.slope(current, kSpeed, e.by_speed);
  s.slope(current, kAngle, e.by_angle);
  s.slope(current, out, -1.0);
  s.slope(current, out + 1, 1.0);
}

}  // namespace

SceneModel::SceneModel(const Scene& s)
    : scene_(s),
      channel_{s.K_A_V2, s.VT0_V, s.n_channel, s.UT_V},
      body_(SeriesJunction::diode(s.body_Is_A, s.body_n * s.UT_V, s.body_ohm)),
      schottky_(SeriesJunction::diode(s.schottky_Is_A, s.schottky_n * s.UT_V, s.schottky_ohm)),
      clamp_(SeriesJunction::clamp(s.clamp_ref_A, s.clamp_V, s.clamp_slope_V, s.clamp_ohm)),
      supply_diode_(ParallelJunction::diode(s.supply_diode_Is_A, s.supply_diode_n * s.UT_V,
                                            s.supply_diode_leak_ohm)) {}

template <class Sink>
void SceneModel::stamp_supply(Sink& s) const {
  const double i_A = s.at(kSupplyCurrent);
  const Branch diode = supply_diode_.at(i_A);
  s.rate(kSupplyCurrent, kSupplyCurrent, scene_.supply_H);
  s.value(kSupplyCurrent, scene_.supply_ohm * i_A + diode.value + s.at(kRail) - scene_.supply_V);
  s.slope(kSupplyCurrent, kSupplyCurrent, scene_.supply_ohm + diode.slope);
  s.slope(kSupplyCurrent, kRail, 1.0);
  s.value(kRail, -i_A);
  s.slope(kRail, kSupplyCurrent, -1.0);
  resistor(s, kRail, kBulk, scene_.bulk_esr_ohm);
  capacitor(s, kBulk, kGround, scene_.bulk_F);
  capacitor(s, kRail, kGround, scene_.ceramic_F);
  branch(s, kRail, kGround, clamp_.at(s.at(kRail)));
}

template <class Sink>
void SceneModel::stamp_switch(Sink& s, int k) const {
  const int gate = kGate + k, drain = kDrain + k, source = source_of(k), out = out_of(k);
  s.value(gate, (s.at(gate) - s.pin(k)) / scene_.gate_ohm);
  s.slope(gate, gate, 1.0 / scene_.gate_ohm);
  capacitor(s, gate, source, scene_.Cgs_F);
  capacitor(s, gate, drain, scene_.Cgd_F);
  capacitor(s, drain, source, scene_.Cds_F);
  resistor(s, drain, out, scene_.series_ohm);

  const double sign = is_n(k) ? 1.0 : -1.0;  // mirrored for P
  const double vs_V = s.at(source);
  const ChannelCurrent c = channel_.at(sign * (s.at(gate) - vs_V), sign * (s.at(drain) - vs_V));
  s.value(drain, sign * c.i_A);
  s.value(source, -sign * c.i_A);
  // Current and voltages both change sign for P, so the slopes do not.
  for (const int row : {drain, source}) {
    const double d = row == drain ? 1.0 : -1.0;
    s.slope(row, gate, d * c.by_vg_S);
    s.slope(row, drain, d * c.by_vd_S);
    s.slope(row, source, -d * (c.by_vg_S + c.by_vd_S));
  }
  if (is_n(k)) {
    junction(s, source, drain, body_);
    junction(s, source, out, schottky_);
  } else {
    junction(s, drain, source, body_);
    junction(s, out, source, schottky_);
  }
}

template <class Sink>
void SceneModel::stamp_motor(Sink& s) const {
  const Scene& p = scene_;
  const double w = s.at(kSpeed), electrical = p.Nr * s.at(kAngle);
  const double sn = std::sin(electrical), cs = std::cos(electrical);
  winding(s, p, kCurrentA, kOut, {-p.Km_Vs_rad * sn, -p.Km_Vs_rad * p.Nr * cs * w});
  winding(s, p, kCurrentB, kOut + 2, {p.Km_Vs_rad * cs, -p.Km_Vs_rad * p.Nr * sn * w});

  const double ia = s.at(kCurrentA), ib = s.at(kCurrentB);
  const double friction = std::tanh(w / p.friction_scale_rad_s);
  s.rate(kSpeed, kSpeed, p.J_kgm2);
  s.value(kSpeed, p.B_Nms_rad * w + p.load_Nm * friction +
                      p.detent_Nm * std::sin(4.0 * electrical) -
                      p.Km_Vs_rad * (-ia * sn + ib * cs));
  s.slope(kSpeed, kSpeed,
          p.B_Nms_rad + p.load_Nm * (1.0 - friction * friction) / p.friction_scale_rad_s);
  s.slope(kSpeed, kAngle,
          4.0 * p.Nr * p.detent_Nm * std::cos(4.0 * electrical) +
              p.Km_Vs_rad * p.Nr * (ia * cs + ib * sn));
  s.slope(kSpeed, kCurrentA, p.Km_Vs_rad * sn);
  s.slope(kSpeed, kCurrentB, -p.Km_Vs_rad * cs);
  s.rate(kAngle, kAngle, 1.0);
  s.value(kAngle, -w);
  s.slope(kAngle, kSpeed, -1.0);
}

template <class Sink>
void SceneModel::stamp(Sink& sink) const {
  stamp_supply(sink);
  for (int k = 0; k < kSwitches; ++k) stamp_switch(sink, k);
  stamp_motor(sink);
}

void SceneModel::residual(const PinVoltages& pin_V, const double* y, const double* dy,
                          double* f) const {
  std::fill_n(f, kUnknowns, 0.0);
  ValueSink sink{y, dy, pin_V.data(), f};
  stamp(sink);
}

void SceneModel::jacobian(double cj, const double* y, const EntryTable& table,
                          double* storage) const {
  SlopeSink sink{y, cj, &table, storage};
  stamp(sink);
}

std::vector<std::array<int, 2>> SceneModel::pattern() const {
  const Vector27 y{};
  PatternSink sink{y.data()};
  stamp(sink);
  std::vector<std::array<int, 2>> entries;
  for (int i = 0; i < kUnknowns; ++i)
    for (int j = 0; j < kUnknowns; ++j)
      if (sink.touched[i][j]) entries.push_back({i, j});
  return entries;
}

// Newton's method on F(y, 0) = 0 with the four motor unknowns held.
bool SceneModel::start(const PinVoltages& pin_V, Vector27& y, Vector27& dy) const {
  y.fill(0.0);
  dy.fill(0.0);
  y[kRail] = y[kBulk] = scene_.supply_V;
  for (int k = 0; k < kSwitches; ++k) {
    const bool rail_on = !is_n(k) && on_at_start(scene_, k);
    if (rail_on) y[out_of(k)] = scene_.supply_V;
    y[kGate + k] = pin_V[k];
  }
  for (int k = 0; k < kSwitches; ++k) y[kDrain + k] = y[out_of(k)];
  y[kAngle] = std::numbers::pi / (4.0 * scene_.Nr);

  EntryTable table;
  for (int i = 0; i < kUnknowns; ++i)
    for (int j = 0; j < kUnknowns; ++j) table[i][j] = i * kUnknowns + j;
  using Matrix = Eigen::Matrix<double, kUnknowns, kUnknowns, Eigen::RowMajor>;
  using Vector = Eigen::Matrix<double, kUnknowns, 1>;
  bool converged = false;
  for (int iteration = 0; iteration < 200 && !converged; ++iteration) {
    Vector f;
    Matrix a = Matrix::Zero();
    residual(pin_V, y.data(), dy.data(), f.data());
    jacobian(0.0, y.data(), table, a.data());
    for (const int held : {kCurrentA, kCurrentB, kSpeed, kAngle}) {
      a.row(held).setZero();
      a(held, held) = 1.0;
      f(held) = 0.0;
    }
    const Vector step = a.partialPivLu().solve(f);
    const double longest = step.cwiseAbs().maxCoeff();
    const double cut = longest > 0.5 ? 0.5 / longest : 1.0;  // volts: keeps the exponentials tame
    for (int i = 0; i < kUnknowns; ++i) y[i] -= cut * step(i);
    converged = longest < 1e-12 * scene_.supply_V;
  }
  dy[kCurrentA] = (y[kOut] - y[kOut + 1]) / scene_.winding_H;
  dy[kCurrentB] = (y[kOut + 2] - y[kOut + 3]) / scene_.winding_H;
  return converged;
}

}  // namespace pb::ref
