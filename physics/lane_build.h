// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Lockstep over Lanes<kBuild>: included once for each set of instructions it is built for. Such a
// file must leave no function behind that others could be linked to, or a program started on an
// older machine may run into it: what is not of its own Lanes<kBuild> is inlined or elsewhere, and
// tests/house/test_lanes.py looks.
#pragma once

#include <cstring>

#include "physics/lockstep.h"
#include "physics/system_equations.h"
#include "physics/transient_control.h"

namespace pb::physics {

/// The same figure of all units.
template <class R, class Get>
R packed(const Get& get) {
  R x;
  for (int k = 0; k < kLanes; ++k) x.set(k, get(k));
  return x;
}

/// The same law of all units: a struct of nothing but numbers.
template <template <class> class Law, class R, class Get>
Law<R> packed_law(const Get& get) {
  constexpr int kFields = sizeof(Law<double>) / sizeof(double);
  static_assert(sizeof(Law<R>) == kFields * sizeof(R));
  double of[kLanes][kFields];
  for (int k = 0; k < kLanes; ++k) std::memcpy(of[k], &get(k), sizeof of[k]);
  R field[kFields];
  for (int f = 0; f < kFields; ++f)
    for (int k = 0; k < kLanes; ++k) field[f].set(k, of[k][f]);
  Law<R> law;
  std::memcpy(static_cast<void*>(&law), field, sizeof law);  // NOLINT(bugprone-*): plain numbers
  return law;
}

template <class R>
BasicSystem<R>::BasicSystem(const Units& units)
    : names(units.of[0]->names), n_(units.of[0]->n_), lu_(n_.lu) {
  const BasicSystem<double>& first = *units.of[0];
  const R none = R(0.0);
  f.assign(first.f.size(), none);
  for (Vector* v : {&at_, &residual_, &delta_, &allow_, &hold_}) v->assign(first.at_.size(), none);
  base_.assign(first.base_.size(), none);
  for (Vector* v : {&loss_W_, &current_A_}) v->assign(names.size(), none);
  readings.assign(names.size(), {none, none, none, none});
  const auto pack_all = [&](Vector& to, std::vector<double> BasicSystem<double>::* from) {
    to.resize((first.*from).size());
    for (std::size_t m = 0; m < to.size(); ++m)
      to[m] = packed<R>([&](int k) { return (units.of[k]->*from)[m]; });
  };
  pack_all(linear_, &BasicSystem<double>::linear_);
  pack_all(capacitance_, &BasicSystem<double>::capacitance_);
  pack_elements(units);
  pack_sources(units);
  sum_leakage();
  plan_product();
}

template <class R>
void BasicSystem<R>::pack_elements(const Units& units) {
  using One = BasicSystem<double>;
  const One& first = *units.of[0];
  const R none = R(0.0);
  const auto two = [&](std::vector<TwoTerminal>& to, std::vector<One::TwoTerminal> One::* from) {
    for (std::size_t e = 0; e < (first.*from).size(); ++e)
      to.push_back({(first.*from)[e].a, (first.*from)[e].b,
                    packed<R>([&](int k) { return (units.of[k]->*from)[e].value; }),
                    packed<R>([&](int k) { return (units.of[k]->*from)[e].stamped; })});
  };
  two(resistor_, &One::resistor_);
  two(capacitor_, &One::capacitor_);
  for (std::size_t e = 0; e < first.depletion_.size(); ++e) {
    const auto& q = first.depletion_[e];
    depletion_.push_back({q.a, q.b, q.slots,
                          packed_law<BasicDepletion, R>(
                              [&](int k) -> const auto& { return units.of[k]->depletion_[e].law; }),
                          none});
  }
  for (std::size_t e = 0; e < first.ceramic_.size(); ++e) {
    const auto& q = first.ceramic_[e];
    ceramic_.push_back({q.a, q.b, q.slots, packed_law<BasicCeramic, R>([&](int k) -> const auto& {
                          return units.of[k]->ceramic_[e].law;
                        }),
                        none});
  }
  for (std::size_t e = 0; e < first.diode_.size(); ++e) {
    const One::Diode& d = first.diode_[e];
    const auto of = [&](int k) -> const One::Diode& { return units.of[k]->diode_[e]; };
    diode_.push_back(
        {d.anode, d.cathode, d.breaks_down, d.slots,
         packed_law<JunctionLaw, R>([&](int k) -> const auto& { return of(k).forward; }),
         packed_law<JunctionLaw, R>([&](int k) -> const auto& { return of(k).reverse; }),
         packed<R>([&](int k) { return of(k).breakdown_V; }), none, none, none, none, false});
  }
  for (std::size_t e = 0; e < first.mosfet_.size(); ++e) {
    const One::Mosfet& m = first.mosfet_[e];
    mosfet_.push_back({m.drain, m.gate, m.source, m.slots,
                       packed_law<ChannelLaw, R>(
                           [&](int k) -> const auto& { return units.of[k]->mosfet_[e].law; }),
                       none, none, none, none, none});
  }
  for (std::size_t e = 0; e < first.bipolar_.size(); ++e) {
    const One::Bipolar& q = first.bipolar_[e];
    bipolar_.push_back({q.collector,
                        q.base,
                        q.emitter,
                        q.slots,
                        packed_law<BasicBipolar, R>(
                            [&](int k) -> const auto& { return units.of[k]->bipolar_[e].law; }),
                        none,
                        none,
                        {none, none, none, none, none, none, {none, none}, {none, none}}});
  }
  for (std::size_t e = 0; e < first.bridge_.size(); ++e) {
    const One::Bridge& b = first.bridge_[e];
    Bridge to;
    std::memcpy(to.place, b.place, sizeof to.place);
    std::memcpy(to.slot, b.slot, sizeof to.slot);
    to.law = packed_law<BasicBridgeChip, R>(
        [&](int k) -> const auto& { return units.of[k]->bridge_[e].law; });
    bridge_.push_back(to);
  }
  hiccups_ = first.hiccups_;
  for (std::size_t e = 0; e < first.limiter_.size(); ++e) {
    const One::Limiter& l = first.limiter_[e];
    BasicHiccup<R> hiccup;
    hiccup.on_s = l.hiccup.on_s, hiccup.off_s = l.hiccup.off_s;
    limiter_.push_back({l.a, l.b, l.slots,
                        packed_law<BasicSupplyLimit, R>(
                            [&](int k) -> const auto& { return units.of[k]->limiter_[e].law; }),
                        hiccup, R(1.0), none, none, none});
  }
  const auto branch = [&](std::vector<Branch>& to, std::vector<One::Branch> One::* from) {
    for (std::size_t e = 0; e < (first.*from).size(); ++e) {
      const One::Branch& b = (first.*from)[e];
      to.push_back({b.unknown, b.a, b.b,
                    packed<R>([&](int k) { return (units.of[k]->*from)[e].resistance_ohm; }),
                    packed<R>([&](int k) { return (units.of[k]->*from)[e].inductance_H; })});
    }
  };
  branch(inductor_, &One::inductor_);
  branch(winding_, &One::winding_);
  for (const One::Pin& p : first.pin_) pin_.push_back({p.place, p.slot, none, none});
  const auto rotor = [&](double Rotor::* figure) {
    return packed<R>([&](int k) { return units.of[k]->rotor_.*figure; });
  };
  rotor_ = {rotor(&Rotor::teeth),        rotor(&Rotor::motor_constant_Vs),
            rotor(&Rotor::inertia_kgm2), rotor(&Rotor::viscous_Nms),
            rotor(&Rotor::detent_Nm),    rotor(&Rotor::friction_Nm),
            rotor(&Rotor::gravity_Nm),   first.rotor_.locked};
  saturates_ = first.saturates_;
  iron_ = packed_law<BasicIron, R>([&](int k) -> const auto& { return units.of[k]->iron_; });
  stops_ = first.stops_;
  stop_ = packed_law<BasicEndStop, R>([&](int k) -> const auto& { return units.of[k]->stop_; });
  load_ = packed_law<BasicLooseLoad, R>([&](int k) -> const auto& { return units.of[k]->load_; });
  stop_torque_Nm_ = none;
  start_angle_rad_ = packed<R>([&](int k) { return units.of[k]->start_angle_rad_; });
}

template <class R>
void BasicSystem<R>::pack_sources(const Units& units) {
  using One = BasicSystem<double>;
  const One& first = *units.of[0];
  for (std::size_t e = 0; e < first.driven_terms_.size(); ++e) {
    const One::DrivenTerm& t = first.driven_terms_[e];
    const auto of = [&](int k) -> const One::DrivenTerm& { return units.of[k]->driven_terms_[e]; };
    driven_terms_.push_back({t.row, t.driven, packed<R>([&](int k) { return of(k).capacitance_F; }),
                             packed<R>([&](int k) { return of(k).conductance_S; })});
  }
  for (std::size_t e = 0; e < first.storage_terms_.size(); ++e)
    storage_terms_.push_back({first.storage_terms_[e].column, packed<R>([&](int k) {
                                return units.of[k]->storage_terms_[e].value;
                              })});
  for (std::size_t e = 0; e < first.source_.size(); ++e) {
    Source s{first.source_[e].t_s, {}, 0, false};
    for (std::size_t c = 0; c < s.t_s->size(); ++c)
      s.value.push_back(packed<R>([&](int k) { return units.of[k]->source_[e].value[c]; }));
    source_.push_back(std::move(s));
  }
}

template <int kBuild>
class LaneSystem : public BasicSystem<Lanes<kBuild>> {
 public:
  using Units = typename BasicSystem<Lanes<kBuild>>::Units;
  explicit LaneSystem(const Units& units) : BasicSystem<Lanes<kBuild>>(units) {}
};

template <int kBuild>
class LaneRun final : public Lockstep {
 public:
  using R = Lanes<kBuild>;

  LaneRun(System* const* units, const TransientOptions& options)
      : system_(units_of(units)), transient_(system_, options) {
    transient_.on_step = [this](const R& t_s, const std::vector<R>&) {
      for (int k = 0; on_step && k < kLanes; ++k)
        if (of_lane(transient_.stepped(), k)) on_step(k, t_s[k]);
    };
  }

  void start(double t0_s) override {
    transient_.landings_s.swap(landings_s);
    transient_.start(t0_s);
  }
  void start(double t0_s, const std::array<std::vector<double>, kLanes>& x) override {
    transient_.landings_s.swap(landings_s);
    std::vector<R> of(static_cast<std::size_t>(system_.size()));
    for (std::size_t m = 0; m < of.size(); ++m)
      of[m] = packed<R>([&](int k) { return x[static_cast<std::size_t>(k)][m]; });
    transient_.start(t0_s, of);
  }
  void expect(int unknown, double peak) override { transient_.expect(unknown, peak); }
  Outcome run_to(double t_end_s, const StopToken& stop) override {
    return transient_.run_to(t_end_s, stop);
  }
  double time_s() const override { return least(transient_.time_s()); }
  double value(int unit, int unknown) const override { return transient_.state()[unknown][unit]; }
  double slope(int unit, int unknown) const override { return transient_.slope(unknown)[unit]; }
  Ledger ledger(int unit) override {
    const BasicLedger<R>& l = transient_.ledger();
    return {l.source_J[unit], l.loss_J[unit], l.load_J[unit], l.stored_J[unit],
            l.throughput_J[unit]};
  }
  int worst_unknown() const override { return transient_.worst_unknown(); }
  long accepted() const override { return transient_.accepted; }
  void show(int unit, std::vector<double>& x, System& system,
            std::vector<ElementSums>& sums) const override {
    const std::vector<R>& from = transient_.state();
    for (std::size_t m = 0; m < from.size(); ++m) x[m] = from[m][unit];
    for (std::size_t e = 0; e < sums.size(); ++e) {
      const BasicReading<R>& r = system_.readings[e];
      system.readings[e] = {r.voltage_V[unit], r.current_A[unit], r.control_V[unit],
                            r.power_W[unit]};
      const BasicElementSums<R>& s = transient_.sums()[e];
      sums[e] = {s.charge_C[unit], s.i2_A2s[unit], s.loss_J[unit]};
    }
    system_.show_driven(unit, system);
  }

 private:
  static typename LaneSystem<kBuild>::Units units_of(System* const* units) {
    typename LaneSystem<kBuild>::Units of;
    for (int k = 0; k < kLanes; ++k) of.of[k] = units[k];
    return of;
  }

  LaneSystem<kBuild> system_;
  BasicTransient<R> transient_;
};

}  // namespace pb::physics
