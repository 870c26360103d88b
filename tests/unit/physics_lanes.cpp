// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Units in lockstep against the same units one by one, the laws of devices on lanes against those
// on single numbers, and both builds against each other.
#include <gtest/gtest.h>

#include <cmath>
#include <memory>
#include <random>

#include "physics/devices/junction.h"
#include "physics/devices/mosfet.h"
#include "physics/devices/motor.h"
#include "physics/lockstep.h"
#include "physics/system_contacts.h"
#include "tests/rigs/circuit.h"

namespace pb::physics {

Lockstep* lockstep_widest(System* const* units, const TransientOptions& options);
Lockstep* lockstep_wide(System* const* units, const TransientOptions& options);
Lockstep* lockstep_plain(System* const* units, const TransientOptions& options);

namespace {

using rigs::driven;
using rigs::grounded;
using Eight = Lanes<1>;  // a build of this test's own

Eight drawn(std::mt19937& random, double low, double high) {
  std::uniform_real_distribution<double> value(low, high);
  Eight x;
  for (int k = 0; k < kLanes; ++k) x.set(k, value(random));
  return x;
}

// Libm's own sine is within one unit in the last place, 1e-16.
TEST(Lanes, SineAndCosineAreLibms) {
  std::mt19937 random(3);
  for (double range : {1.0, 30.0, 1e4}) {
    for (int round = 0; round < 200; ++round) {
      const Eight x = drawn(random, -range, range);
      const SineCosine<Eight> a = sine_cosine(x);
      for (int k = 0; k < kLanes; ++k) {
        const SineCosine<double> one = sine_cosine(x[k]);
        EXPECT_EQ(a.sin[k], one.sin);
        EXPECT_EQ(a.cos[k], one.cos);
        EXPECT_NEAR(one.sin, std::sin(x[k]), 2e-15) << x[k];
        EXPECT_NEAR(one.cos, std::cos(x[k]), 2e-15) << x[k];
      }
    }
  }
}

TEST(Lanes, TablesAreThoseOfSingleNumbers) {
  std::mt19937 random(4);
  for (int round = 0; round < 500; ++round) {
    const Eight z = drawn(random, -60, 400);
    const BasicValueSlope<Eight> w = kOmega(z), f = kSoftplus(z);
    for (int k = 0; k < kLanes; ++k) {
      EXPECT_EQ(w.value[k], kOmega(z[k]).value) << z[k];
      EXPECT_EQ(w.slope[k], kOmega(z[k]).slope) << z[k];
      EXPECT_EQ(f.value[k], kSoftplus(z[k]).value) << z[k];
      EXPECT_EQ(f.slope[k], kSoftplus(z[k]).slope) << z[k];
    }
  }
}

// ln(1 + e^x) of libm.
TEST(Lanes, TableOfSoftplusIsClose) {
  for (double x = -17.99; x < 40; x += 0.0137) {
    EXPECT_NEAR(kSoftplus(x).value, softplus(x).value, 1e-6 * softplus(x).value) << x;
    EXPECT_NEAR(kSoftplus(x).slope, softplus(x).slope, 3e-5 * softplus(x).slope) << x;
  }
}

/// Of lanes all at once; e^x of libm, tanh(x) of libm.
TEST(Lanes, ExponentialAndFrictionAreLibms) {
  for (double x = -705; x < 705; x += 0.731) {
    Eight at(0.0), slow(0.0);
    for (int k = 0; k < kLanes; ++k) at.set(k, x + 0.0913 * k), slow.set(k, 0.03 * (x + k));
    const Eight e = exponential(at), share = friction_share(slow);
    for (int k = 0; k < kLanes; ++k) {
      const double expected = exponential(at[k]);
      EXPECT_NEAR(e[k], expected, 1e-15 * expected) << at[k];
      EXPECT_NEAR(share[k], std::tanh(slow[k]), 4e-16) << slow[k];
      EXPECT_NEAR(friction_share(slow[k]), std::tanh(slow[k]), 4e-16) << slow[k];
    }
  }
  const Eight wrong = exponential(Eight(std::nan("")));
  EXPECT_NEAR(wrong[3], std::exp(-700.0), 1e-15 * std::exp(-700.0));
  EXPECT_EQ(exponential(Eight(0.0))[5], 1.0);
}

/// How wrong a tangent is after a step is never more than the law says it can be.
TEST(Lanes, TangentsAreBoundedAsSaid) {
  std::mt19937 random(5);
  std::uniform_real_distribution<double> share(0, 1);
  const auto in = [&](double low, double high) { return low + (high - low) * share(random); };
  const JunctionLaw<double> j = law_of(prepared({1e-9, 0.03, 0.1, 0}));
  const ChannelLaw<double> c = law_of(Channel{-1, 2.0, 1.5, 1.3, 0.026});
  int known = 0;
  for (int round = 0; round < 200000; ++round) {
    const double v = in(-2, 1.5), dv = in(-1, 1) * std::pow(10.0, in(-5, 0)), z = j.z(v);
    const ValueSlope at = j.at(z), then = j.at(j.z(v + dv));
    const double error = tangent_error(j, z, dv, at.slope);
    known += error < 1e299;
    EXPECT_LE(std::abs(then.value - at.value - at.slope * dv), error * (1 + 1e-3) + 1e-12);
    const double gs = in(-6, 1), ds = in(-10, 2), dgs = dv, dds = in(-1, 1) * std::abs(dv);
    const ChannelCurrent i = c(gs, ds), next = c(gs + dgs, ds + dds);
    EXPECT_LE(std::abs(next.i_A - i.i_A - i.g_gs_S * dgs - i.g_ds_S * dds),
              c.tangent_error(gs, ds, dgs, dds) * (1 + 1e-3) + 1e-9 * (1 + std::abs(i.i_A)));
  }
  EXPECT_GT(known, 100000);
}

/// The same of a bipolar transistor's currents and of the friction's tanh.
TEST(Lanes, TangentsOfTransistorAndFrictionAreBoundedAsSaid) {
  std::mt19937 random(6);
  std::uniform_real_distribution<double> share(0, 1);
  const auto in = [&](double low, double high) { return low + (high - low) * share(random); };
  int known = 0, flat = 0;
  for (const double sign : {1.0, -1.0}) {
    const Bipolar q{sign, 1e-14, 200, 5, 0.0259, 1.6e-9, 1.6e-7};
    for (int round = 0; round < 100000; ++round) {
      const double be = in(-3, 0.8), bc = in(-8, 0.8), dbe = in(-1, 1) * std::pow(10.0, in(-5, 0)),
                   dbc = in(-1, 1) * std::abs(dbe);
      const BipolarCurrent at = bipolar_current(q, be, bc),
                           then = bipolar_current(q, be + dbe, bc + dbc);
      const double error = tangent_error(q, be, dbe, at.gc_be_S + at.gb_be_S) +
                           tangent_error(q, bc, dbc, -at.gc_bc_S);
      known += error < 1e299;
      const double ic = then.ic_A - at.ic_A - at.gc_be_S * dbe - at.gc_bc_S * dbc,
                   ib = then.ib_A - at.ib_A - at.gb_be_S * dbe - at.gb_bc_S * dbc;
      const double rounding = 1e-12 * (std::abs(at.ic_A) + std::abs(at.ib_A)) + 1e-20;
      for (const double missed : {ic, ib, ic + ib})
        ASSERT_LE(std::abs(missed), error * (1 + 1e-9) + rounding) << be << ' ' << bc << ' ' << dbe;
      // Of what is under way, by its transit time.
      const double of_be = tangent_error(q, be, dbe, at.gc_be_S),
                   of_bc = tangent_error(q, bc, dbc, at.bc.slope / 1.6e-7);
      const double be_C = then.be.value - at.be.value - at.be.slope * dbe,
                   bc_C = then.bc.value - at.bc.value - at.bc.slope * dbc;
      ASSERT_LE(std::abs(be_C), 1.6e-9 * (of_be * (1 + 1e-9) + rounding)) << be << ' ' << dbe;
      ASSERT_LE(std::abs(bc_C), 1.6e-7 * (of_bc * (1 + 1e-9) + rounding)) << bc << ' ' << dbc;
    }
  }
  EXPECT_GT(known, 50000);
  for (int round = 0; round < 100000; ++round) {
    const double x = in(-30, 30), dx = in(-1, 1) * std::pow(10.0, in(-3, 2));
    const double slope = 1.0 - std::tanh(x) * std::tanh(x),
                 missed = std::tanh(x + dx) - std::tanh(x) - slope * dx,
                 error = turning_error(x, dx);
    flat += error < 1e-6 && std::abs(dx) > 1.0;
    ASSERT_LE(std::abs(missed), error + 1e-14 * (1 + std::abs(dx))) << x << ' ' << dx;
  }
  EXPECT_GT(flat, 1000);
}

/// A switch that pulls a coil down through a gate resistor and lets go again, with a diode across;
/// a bipolar one beside it.
Circuit switched(double share) {
  Circuit c = grounded();
  const int rail = driven(c, 12.0 * (1 + 0.1 * share)), pin = driven(c, 0.0);
  c.nodes[pin].voltage_V = {{0.0, 1e-6, 1.05e-6, 60e-6, 60.05e-6}, {0.0, 0.0, 5.0, 5.0, 0.0}};
  const int gate = c.add_node("gate"), out = c.add_node("out"), base = c.add_node("base"),
            collector = c.add_node("collector");
  c.resistors.push_back({"rg", pin, gate, 1.0 / (330 * (1 - share))});
  c.resistors.push_back({"rb", pin, base, 1e-4});
  c.resistors.push_back({"rc", rail, collector, 1e-3});
  c.capacitors.push_back({"cg", gate, 0, 5e-10 * (1 + share)});
  c.capacitors.push_back({"cgd", gate, out, 1e-10});
  c.capacitors.push_back({"co", out, 0, 1.5e-10});
  c.capacitors.push_back({"cb", base, 0, 1e-11});
  c.capacitors.push_back({"cc", collector, 0, 1e-11});
  c.mosfets.push_back({"q", out, gate, 0, {1, 1.8 * (1 - share), 4.0, 1.3, 0.0259}});
  c.diodes.push_back({"d", out, rail, prepared({1e-7, 0.028, 0.05 * (1 + share), 0}), 0, {}});
  c.bipolars.push_back(
      {"b",
       collector,
       base,
       0,
       {1, 1e-14, 150 * (1 + share), 5, 0.0259, 1.6e-9 * (1 - share), 1.6e-7 * (1 + share)}});
  c.inductors.push_back({"l", rail, out, 1e-3 * (1 - share), 10});
  return c;
}

struct Eights {
  explicit Eights(double width) {
    for (int k = 0; k < kLanes; ++k) {
      own.push_back(std::make_unique<System>(switched(width * (k - 3.5) / 3.5)));
      units[static_cast<std::size_t>(k)] = own.back().get();
    }
  }
  std::vector<std::unique_ptr<System>> own;
  std::array<System*, kLanes> units{};
};

constexpr double kEnd_s = 120e-6;

TEST(Lockstep, UnitsEndWhereTheyDoAlone) {
  for (double width : {0.0, 0.1}) {
    Eights e(width);
    const std::unique_ptr<Lockstep> run = lockstep(e.units, rigs::tight());
    ASSERT_TRUE(run);
    run->start(0.0);
    ASSERT_EQ(run->run_to(kEnd_s, {}), Outcome::reached_end);
    std::vector<double> x(static_cast<std::size_t>(e.units[0]->size()));
    std::vector<ElementSums> sums(e.units[0]->names.size());
    for (int k = 0; k < kLanes; ++k) {
      System alone(switched(width * (k - 3.5) / 3.5));
      Transient t(alone, rigs::tight());
      t.start(0.0);
      ASSERT_EQ(t.run_to(kEnd_s), Outcome::reached_end);
      run->show(k, x, *e.units[static_cast<std::size_t>(k)], sums);
      const auto coil = static_cast<std::size_t>(alone.inductor_unknown(0));
      EXPECT_GT(std::abs(t.state()[coil]), 1e-2);
      EXPECT_NEAR(x[coil], t.state()[coil], 1e-3 * std::abs(t.state()[coil])) << k << ' ' << width;
      EXPECT_NEAR(run->ledger(k).loss_J, t.ledger().loss_J, 1e-3 * t.ledger().loss_J);
      EXPECT_LT(std::abs(run->ledger(k).residual_J()), 1e-3 * run->ledger(k).throughput_J);
      for (std::size_t n = 0; n < e.units[0]->names.size(); ++n)
        EXPECT_NEAR(sums[n].loss_J, t.sums()[n].loss_J, 2e-3 * t.ledger().loss_J);
      if (width == 0.0) {  // the exponentials of lanes differ from libm's in the last bit
        EXPECT_NEAR(static_cast<double>(run->accepted()), static_cast<double>(t.accepted),
                    0.01 * static_cast<double>(t.accepted));
      }
    }
  }
}

/// While their transistors are still saturated, a time after the base has let go.
TEST(Lockstep, UnitsKeepTheirOwnStoredCharge) {
  constexpr double kStored_s = 60.5e-6;
  Eights e(0.1);
  const std::unique_ptr<Lockstep> run = lockstep(e.units, rigs::tight());
  ASSERT_TRUE(run);
  run->start(0.0);
  ASSERT_EQ(run->run_to(kStored_s, {}), Outcome::reached_end);
  for (int k = 0; k < kLanes; ++k) {
    System alone(switched(0.1 * (k - 3.5) / 3.5));
    Transient t(alone, rigs::tight());
    t.start(0.0);
    ASSERT_EQ(t.run_to(kStored_s), Outcome::reached_end);
    const int base = alone.unknown(5), collector = alone.unknown(6);
    const auto stored_V = [&](auto value) { return value(base) - value(collector); };
    const double alone_V = stored_V([&](int m) { return t.state()[static_cast<std::size_t>(m)]; }),
                 here_V = stored_V([&](int m) { return run->value(k, m); });
    EXPECT_GT(alone_V, 0.4) << k;
    EXPECT_NEAR(here_V, alone_V, 2e-5) << k;
  }
}

// No operation is fused or reordered, so the instructions it is made of change no bit.
TEST(Lockstep, AllBuildsGiveTheSameBits) {
#if defined(__x86_64__)
  if (!__builtin_cpu_supports("avx2")) GTEST_SKIP() << "this machine has the plain build only";
  using Build = Lockstep* (*)(System* const*, const TransientOptions&);
  std::vector<Build> builds = {lockstep_plain, lockstep_wide};
  if (__builtin_cpu_supports("avx512f") && __builtin_cpu_supports("avx512dq") &&
      __builtin_cpu_supports("avx512vl"))
    builds.push_back(lockstep_widest);
  Eights first(0.1);
  const std::unique_ptr<Lockstep> plain(builds[0](first.units.data(), {}));
  for (const Build build : builds) {
    Eights e(0.1);
    const std::unique_ptr<Lockstep> run(build(e.units.data(), {}));
    run->start(0.0);
    ASSERT_EQ(run->run_to(kEnd_s, {}), Outcome::reached_end);
    if (build == builds[0]) {
      plain->start(0.0);
      ASSERT_EQ(plain->run_to(kEnd_s, {}), Outcome::reached_end);
    }
    EXPECT_EQ(run->accepted(), plain->accepted());
    for (int k = 0; k < kLanes; ++k)
      for (int m = 0; m < e.units[0]->size(); ++m)
        EXPECT_EQ(run->value(k, m), plain->value(k, m)) << k << ' ' << m;
  }
#else
  GTEST_SKIP() << "this machine has the plain build only";
#endif
}

/// The same of one unit alone: run_to() takes what the machine has, advance() what every machine
/// has.
TEST(Transient, InstructionsOfTheMachineChangeNoBit) {
  System first(switched(0.05)), second(switched(0.05));
  Transient chosen(first, {}), plain(second, {});
  for (Transient* t : {&chosen, &plain}) t->start(0.0);
  ASSERT_EQ(chosen.run_to(kEnd_s), Outcome::reached_end);
  ASSERT_EQ(plain.advance(kEnd_s), Outcome::reached_end);
  EXPECT_EQ(chosen.accepted, plain.accepted);
  EXPECT_EQ(chosen.state(), plain.state());
  EXPECT_EQ(chosen.ledger().loss_J, plain.ledger().loss_J);
}

TEST(Lockstep, OtherWiringIsRefused) {
  Eights e(0.0);
  Circuit other = switched(0.0);
  other.resistors[0].b = 0;
  System odd(other);
  e.units[3] = &odd;
  EXPECT_FALSE(lockstep(e.units, {}));
  Circuit later = switched(0.0);
  later.nodes[2].voltage_V.t_s[1] = 2e-6;
  System edge(later);
  e.units[3] = &edge;
  EXPECT_FALSE(lockstep(e.units, {}));
}

}  // namespace
}  // namespace pb::physics
