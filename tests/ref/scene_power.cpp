// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Power and stored energy of the scenes, element by element: each entry is the element's own v i,
// none is the remainder of the others, so that their sum tests the solution.

#include <cmath>

#include "tests/ref/scene_model.h"

namespace pb::ref {
namespace {

double square(double x) { return x * x; }
bool is_n(int k) { return k % 2 == 1; }

}  // namespace

double Energies::all_mosfets() const {
  double sum = 0.0;
  for (int k = 0; k < kSwitches; ++k) sum += mosfet(k);
  return sum;
}

double Energies::all_schottkys() const {
  double sum = 0.0;
  for (const double x : schottky) sum += x;
  return sum;
}

double Energies::dissipated() const {
  return supply_ohm + supply_diode + bulk_esr + clamp + winding + gate_ohm + all_mosfets() +
         all_schottkys() + viscous + load;
}

Energies& Energies::add(double factor, const Energies& o) {
  for (double Energies::* entry :
       {&Energies::source, &Energies::pins, &Energies::supply_ohm, &Energies::supply_diode,
        &Energies::bulk_esr, &Energies::clamp, &Energies::winding, &Energies::gate_ohm,
        &Energies::emf, &Energies::mechanical, &Energies::viscous, &Energies::load}) {
    this->*entry += factor * (o.*entry);
  }
  for (int k = 0; k < kSwitches; ++k) {
    channel[k] += factor * o.channel[k];
    series[k] += factor * o.series[k];
    body[k] += factor * o.body[k];
    schottky[k] += factor * o.schottky[k];
  }
  return *this;
}

void SceneModel::switch_power(const PinVoltages& pin_V, const double* y, int k, Energies& p) const {
  const double source_V = is_n(k) ? 0.0 : y[kRail], sign = is_n(k) ? 1.0 : -1.0;
  const double vg_V = sign * (y[kGate + k] - source_V);
  const double vd_V = sign * (y[kDrain + k] - source_V);
  const double vout_V = sign * (y[kOut + k / 2] - source_V);
  const double gate_A = (pin_V[k] - y[kGate + k]) / scene_.gate_ohm;
  p.pins += pin_V[k] * gate_A;
  p.gate_ohm += scene_.gate_ohm * square(gate_A);
  p.channel[k] = vd_V * channel_.at(vg_V, vd_V).i_A;
  p.series[k] = square(vout_V - vd_V) / scene_.series_ohm;
  p.body[k] = -vd_V * body_.at(-vd_V).value;
  p.schottky[k] = -vout_V * schottky_.at(-vout_V).value;
}

Energies SceneModel::power_W(const PinVoltages& pin_V, const double* y) const {
  Energies p;
  const double supply_A = y[kSupplyCurrent], w = y[kSpeed];
  p.source = scene_.supply_V * supply_A;
  p.supply_ohm = scene_.supply_ohm * square(supply_A);
  p.supply_diode = supply_A * supply_diode_.at(supply_A).value;
  p.bulk_esr = square(y[kRail] - y[kBulk]) / scene_.bulk_esr_ohm;
  p.clamp = y[kRail] * clamp_.at(y[kRail]).value;
  for (int k = 0; k < kSwitches; ++k) switch_power(pin_V, y, k, p);
  p.winding = scene_.winding_ohm * (square(y[kCurrentA]) + square(y[kCurrentB]));
  p.emf = emf_a_V(y) * y[kCurrentA] + emf_b_V(y) * y[kCurrentB];
  p.mechanical = torque_Nm(y) * w;
  p.viscous = scene_.B_Nms_rad * square(w);
  p.load = scene_.load_Nm * std::tanh(w / scene_.friction_scale_rad_s) * w;
  return p;
}

double SceneModel::stored_J(const double* y) const {
  const Scene& s = scene_;
  double twice = s.supply_H * square(y[kSupplyCurrent]) + s.bulk_F * square(y[kBulk]) +
                 s.ceramic_F * square(y[kRail]) +
                 s.winding_H * (square(y[kCurrentA]) + square(y[kCurrentB])) +
                 s.J_kgm2 * square(y[kSpeed]);
  for (int k = 0; k < kSwitches; ++k) {
    const double source_V = is_n(k) ? 0.0 : y[kRail];
    twice += s.Cgs_F * square(y[kGate + k] - source_V) +
             s.Cgd_F * square(y[kGate + k] - y[kDrain + k]) +
             s.Cds_F * square(y[kDrain + k] - source_V);
  }
  // The detent is a spring: -Td sin(4 Nr th) is the slope of this potential.
  const double detent = -s.detent_Nm / (4.0 * s.Nr) * std::cos(4.0 * s.Nr * y[kAngle]);
  return 0.5 * twice + detent;
}

double SceneModel::emf_a_V(const double* y) const {
  return -scene_.Km_Vs_rad * y[kSpeed] * std::sin(scene_.Nr * y[kAngle]);
}

double SceneModel::emf_b_V(const double* y) const {
  return scene_.Km_Vs_rad * y[kSpeed] * std::cos(scene_.Nr * y[kAngle]);
}

double SceneModel::torque_Nm(const double* y) const {
  const double electrical = scene_.Nr * y[kAngle];
  return scene_.Km_Vs_rad *
         (-y[kCurrentA] * std::sin(electrical) + y[kCurrentB] * std::cos(electrical));
}

}  // namespace pb::ref
