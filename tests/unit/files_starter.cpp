// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The starter catalogue: its prices follow parts/pricing.toml, its registered types their published
// sheets, its invented parts hang together and say what they are.
#include <gtest/gtest.h>

#include <toml++/toml.h>
#include <cmath>
#include <fstream>
#include <map>
#include <regex>
#include <set>
#include <sstream>

#include "base/text.h"
#include "files/catalogue.h"
#include "judgement/package.h"

namespace pb {
namespace {

const std::string kFolder = PB_SOURCE_DIR "/parts/";
constexpr const char* kRegistered = "registered type, published sheets";

const std::vector<Part>& starter() {
  static const std::vector<Part> parts = [] {
    std::ifstream in(kFolder + "starter.csv", std::ios::binary);
    std::stringstream text;
    text << in.rdbuf();
    const auto out = read_catalogue("starter.csv", text.str());
    EXPECT_TRUE(out) << (out ? "" : to_lines(out.error()));
    EXPECT_TRUE(!out || out->notes.empty()) << to_lines(out->notes);
    return out ? out->parts : std::vector<Part>{};
  }();
  return parts;
}

const Part& named(const std::string& number) {
  for (const Part& p : starter())
    if (p.number == number) return p;
  ADD_FAILURE() << number;
  static const Part kNone;
  return kNone;
}

bool has(const Part& p, const std::string& name) {
  return figure_index(*find_part_class(p.part_class), name) >= 0;
}

/// The rule of pricing.toml.
class Pricing {
 public:
  Pricing() : table_(toml::parse_file(kFolder + "pricing.toml")) {}

  std::vector<double> breaks() const {
    std::vector<double> out;
    for (const auto& b : *table_["breaks"].as_array()) out.push_back(*b.value<double>());
    return out;
  }

  double price(const Part& p, double quantity) const {
    const toml::table& row = row_of(p);
    const double k = *row["at_1k"].value<double>(), tenk = *row["at_10k"].value<double>();
    double out = k * std::pow(tenk / k, std::log10(quantity / 1000));
    for (const auto& [name, scale] : *row["scale"].as_table()) {
      const toml::table& s = *scale.as_table();
      out *= std::pow(figure(p, name.str()) / *s["reference"].value<double>(),
                      *s["exponent"].value<double>());
    }
    return out * table_["package_factor"][p.package].value_or(1.0);
  }

  double digits() const { return *table_["digits"].value<double>(); }
  std::string currency() const { return *table_["currency"].value<std::string>(); }

 private:
  static bool within(const toml::table& row, const Part& p) {
    for (const auto& [name, range] : *row["within"].as_table()) {
      const double x = figure(p, name.str());
      const toml::array& ends = *range.as_array();
      if (!(x >= *ends[0].value<double>() && x <= *ends[1].value<double>())) return false;
    }
    return true;
  }
  const toml::table& row_of(const Part& p) const {
    for (const auto& row : *table_["price"].as_array()) {
      const toml::table& t = *row.as_table();
      if (*t["class"].value<std::string>() == p.part_class && within(t, p)) return t;
    }
    throw std::runtime_error("no price for " + p.number);
  }

  toml::table table_;
};

TEST(Starter, HasPartsOfEveryClassReadyForAProof) {
  EXPECT_GE(starter().size(), 250u);
  std::map<std::string, int> count;
  for (const Part& p : starter()) {
    ++count[p.part_class];
    EXPECT_TRUE(missing_figures(p).empty()) << p.number << ": " << join(missing_figures(p), ", ");
    EXPECT_NE(find_package(p.package), nullptr) << p.number << ' ' << p.package;
    EXPECT_GT(p.stock, 0) << p.number;
  }
  for (const PartClass& c : part_classes())
    EXPECT_GE(count[std::string(c.name)], is_pair(c) ? 3 : 10) << c.name;
}

TEST(Starter, EveryPriceFollowsTheRule) {
  const Pricing rule;
  for (const Part& p : starter()) {
    EXPECT_EQ(p.currency, rule.currency());
    const std::vector<double> breaks = rule.breaks();
    ASSERT_EQ(p.price_breaks.size(), breaks.size()) << p.number;
    for (std::size_t i = 0; i < breaks.size(); ++i) {
      EXPECT_EQ(p.price_breaks[i].quantity, breaks[i]) << p.number;
      const double expected = rule.price(p, breaks[i]);
      // Half a unit of the last digit kept.
      const double unit =
          std::pow(10, std::floor(std::log10(expected)) - (rule.digits() - 1)) * 0.5000001;
      EXPECT_NEAR(p.price_breaks[i].unit_price, expected, unit) << p.number << ' ' << breaks[i];
    }
  }
}

double price_at_1k(const Part& p) {
  for (const PriceBreak& b : p.price_breaks)
    if (b.quantity == 1000) return b.unit_price;
  return 0;
}

// Prices of chips at 1,000 pieces as the trade has them (common practice, no source): a single
// bridge 0.04 to 0.20 USD; a driver of both windings over a dollar in general, just under two in
// the dearer class, less for low voltage only.
TEST(Starter, ChipsCostWhatTheTradeSays) {
  double dearest_single = 0, cheapest_dual = 1e9, dearest_dual = 0, cheapest_chopper = 1e9,
         dearest_chopper = 0;
  for (const Part& p : starter()) {
    if (!is_bought_driver(*find_part_class(p.part_class))) continue;
    const double at_1k = price_at_1k(p);
    if (p.part_class == "dual-chopper-chip") {
      cheapest_chopper = std::min(cheapest_chopper, at_1k);
      dearest_chopper = std::max(dearest_chopper, at_1k);
      continue;
    }
    const bool single = find_part_class(p.part_class)->inputs.size() == 2;
    if (single) {
      EXPECT_GE(at_1k, 0.04) << p.number;
      EXPECT_LE(at_1k, 0.20) << p.number;
      dearest_single = std::max(dearest_single, at_1k);
    } else {
      if (figure(p, "supply_max") > 13) {
        EXPECT_GT(at_1k, 1.0) << p.number;
      }
      cheapest_dual = std::min(cheapest_dual, at_1k);
      dearest_dual = std::max(dearest_dual, at_1k);
    }
  }
  EXPECT_LT(dearest_single, cheapest_dual);
  EXPECT_LT(cheapest_dual, 1.0);
  EXPECT_GT(dearest_dual, 1.7);
  EXPECT_LT(dearest_dual, 2.0);
  // With choppers inside they are the dearest of all; above two dollars for the greatest supplies.
  EXPECT_GT(cheapest_chopper, 1.4);
  EXPECT_GT(dearest_chopper, dearest_dual);
  for (const Part& chopper : starter())
    for (const Part& plain : starter()) {
      if (chopper.part_class == "dual-chopper-chip" && plain.part_class == "dual-bridge-chip" &&
          figure(chopper, "supply_max") >= figure(plain, "supply_max") - 5 &&
          figure(chopper, "on_resistance_max") <= figure(plain, "on_resistance_max")) {
        EXPECT_GT(price_at_1k(chopper), price_at_1k(plain)) << chopper.number << plain.number;
      }
    }
}

// Only types registered by the trade's bodies carry their number; every other row says it is
// invented.
TEST(Starter, NamesOnlyRegisteredTypes) {
  std::set<std::string> registered = {"2N7002", "BSS84",  "BC847",  "BC857",  "2N3904", "2N3906",
                                      "1N4148", "1N5817", "1N5818", "1N5819", "BAT54"};
  for (int n = 4728; n <= 4754; ++n) registered.insert("1N" + std::to_string(n) + "A");
  std::set<std::string> found;
  const std::regex invented("[A-Z]{3,}(-[0-9A-Za-z.]+){2,3}-[a-h]");
  for (const Part& p : starter()) {
    if (p.source == kRegistered) {
      found.insert(p.number);
    } else {
      EXPECT_EQ(p.source, "invented") << p.number;
      EXPECT_TRUE(std::regex_match(p.number, invented)) << p.number;
    }
  }
  EXPECT_EQ(found, registered);
}

// The name of an invented switch is its headline: NFET-30V-40mR-SOT23-a.
TEST(Starter, SwitchNamesTellTheFigures) {
  const std::regex form(
      "(NFET|PFET|PAIRNN|PAIRPP|PAIRNP)-([0-9]+)V-([0-9.]+)(m?)R-"
      "([A-Z0-9]+x?[0-9]*)-[a-h]");
  const std::map<std::string, std::string> classes = {{"NFET", "n-mosfet"},
                                                      {"PFET", "p-mosfet"},
                                                      {"PAIRNN", "n-mosfet-pair"},
                                                      {"PAIRPP", "p-mosfet-pair"},
                                                      {"PAIRNP", "np-mosfet-pair"}};
  int seen = 0;
  for (const Part& p : starter()) {
    std::smatch m;
    if (!has(p, "rds_max") || p.source == kRegistered) continue;
    ASSERT_TRUE(std::regex_match(p.number, m, form)) << p.number;
    ++seen;
    EXPECT_EQ(p.part_class, classes.at(m[1]));
    EXPECT_EQ(figure(p, "vds_max"), std::stod(m[2]));
    EXPECT_NEAR(figure(p, "rds_max"), std::stod(m[3]) * (m[4] == "m" ? 1e-3 : 1), 1e-9);
    EXPECT_EQ(replace_all(p.package, "-", ""), m[5]);
  }
  EXPECT_GE(seen, 80);
}

// Halves heat each other less than themselves, and together more than alone.
TEST(Starter, HalvesOfAPairShareTheirWayOut) {
  for (const Part& p : starter()) {
    if (!is_pair(*find_part_class(p.part_class))) continue;
    EXPECT_GT(figure(p, "rth_mutual"), 0.4 * figure(p, "rth_ja")) << p.number;
    EXPECT_LT(figure(p, "rth_mutual"), 0.8 * figure(p, "rth_ja")) << p.number;
  }
}

// One process has one product of input capacitance and on-resistance: a bigger die has less of one
// and more of the other. Common practice, no source; within a rating it may not spread by more than
// 2 (gate class and make).
TEST(Starter, InputCapacitanceRisesAsOnResistanceFalls) {
  std::map<std::pair<std::string, double>, std::pair<double, double>> span;
  for (const Part& p : starter()) {
    if (!has(p, "rds_max") || p.source == kRegistered || figure(p, "ciss") < 25e-12) continue;
    const double product = figure(p, "ciss") * figure(p, "rds_max");
    auto [at, fresh] = span.try_emplace({p.part_class, figure(p, "vds_max")}, product, product);
    at->second = {std::min(at->second.first, product), std::max(at->second.second, product)};
    EXPECT_LT(figure(p, "crss"), figure(p, "coss")) << p.number;
    EXPECT_LT(figure(p, "coss"), figure(p, "ciss")) << p.number;
    EXPECT_LT(figure(p, "threshold_max"), figure(p, "rds_gate")) << p.number;
  }
  for (const auto& [group, ends] : span)
    EXPECT_LT(ends.second / ends.first, 2) << group.first << ' ' << group.second;
}

// A suppressor or zener may burn what its junction can stand at 25 degC.
TEST(Starter, ZenerPowerFitsItsThermalResistance) {
  for (const Part& p : starter()) {
    if (!has(p, "power_max") || !has(p, "rth_ja")) continue;
    EXPECT_LE(figure(p, "power_max"), (figure(p, "tj_max") - 298.15) / figure(p, "rth_ja") * 1.001)
        << p.number;
  }
}

struct SheetRow {
  const char* number;
  const char* figure;
  double value;
};
// Values printed in published data sheets of the registered types, several makes agreeing.
constexpr SheetRow kSheets[] = {
    {"2N7002", "vds_max", 60},
    {"2N7002", "threshold_min", 1.0},
    {"2N7002", "threshold_max", 2.5},
    {"2N7002", "rds_max", 7.5},
    {"2N7002", "rds_gate", 5},
    {"2N7002", "rth_ja", 625},
    {"BSS84", "vds_max", 50},
    {"BSS84", "threshold_max", 2.0},
    {"BSS84", "rds_max", 10},
    {"BSS84", "threshold_current", 1e-3},
    {"BC847", "vce_max", 45},
    {"BC847", "hfe_min", 110},
    {"BC847", "vce_sat_max", 0.6},
    {"BC857", "veb_max", 5},
    {"BC857", "hfe_min", 125},
    {"2N3904", "vce_max", 40},
    {"2N3904", "hfe_max", 300},
    {"2N3904", "rth_ja", 200},
    {"2N3906", "vce_sat_max", 0.4},
    {"1N4148", "vf_high_max", 1.0},
    {"1N4148", "if_high", 0.01},
    {"1N5817", "vf_high_max", 0.45},
    {"1N5818", "vf_high_max", 0.55},
    {"1N5819", "vf_high_max", 0.60},
    {"1N5819", "vr_max", 40},
    {"1N5819", "ir_max", 1e-3},
    {"1N5819", "ir_hot_max", 12e-3},
    {"BAT54", "vr_max", 30},
    {"1N4742A", "vz", 12},
    {"1N4742A", "zz", 9},
    {"1N4733A", "iz_test", 0.049},
    {"1N4728A", "zzk", 400},
    {"1N4734A", "zzk", 600},
    {"1N4742A", "zzk", 700},
    {"1N4742A", "izk", 0.25e-3},
    {"1N4754A", "zz", 60},
};
TEST(Starter, RegisteredTypesCarryPublishedFigures) {
  for (const SheetRow& r : kSheets)
    EXPECT_NEAR(figure(named(r.number), r.figure), r.value, 1e-9 * r.value)
        << r.number << ' ' << r.figure;
}

// A Schottky diode leaks 6 to 12 times as much at 100 to 125 degC in the sheets of the registered
// types, at most 20 times at 100 degC in those of the class (from memory).
TEST(Starter, SchottkyDiodesSayWhatTheyLeakHot) {
  int seen = 0;
  for (const Part& p : starter()) {
    if (!p.number.starts_with("SCHOTTKY-") && !p.number.starts_with("1N581")) continue;
    ++seen;
    EXPECT_NEAR(figure(p, "ir_hot_at"), 373.15, 1e-9) << p.number;
    EXPECT_GE(figure(p, "ir_hot_max"), 6 * figure(p, "ir_max")) << p.number;
    EXPECT_LE(figure(p, "ir_hot_max"), 20.001 * figure(p, "ir_max")) << p.number;
  }
  EXPECT_GE(seen, 20);
}

// The JEDEC 1 W family is tested at a quarter of its power: V_Z * I_ZT is about 0.25 W.
TEST(Starter, RegisteredZenersAreTestedAtAQuarterWatt) {
  for (const Part& p : starter()) {
    if (p.part_class != "zener" || p.source != kRegistered) continue;
    EXPECT_NEAR(figure(p, "vz") * figure(p, "iz_test"), 0.25, 0.012) << p.number;
  }
}

}  // namespace
}  // namespace pb
