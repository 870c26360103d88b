// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The catalogue's reader: figures to SI, every problem at its place, nothing half imported.
#include "files/catalogue.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cstring>

#include "base/quantity.h"

namespace pb {
namespace {

constexpr const char* kHead =
    "number,class,price_breaks,vds_max_V,rds_max_mohm,tj_max_degC,rth_ja_K_W\n";

Catalogue read_parts(const std::string& text) {
  auto out = read_catalogue("p.csv", text);
  EXPECT_TRUE(out) << (out ? "" : to_lines(out.error()));
  return out ? *out : Catalogue{};
}

std::string complaints(const std::string& text) {
  const auto out = read_catalogue("p.csv", text);
  return out ? "none" : to_lines(out.error());
}

bool says(const std::string& lines, const std::string& piece) {
  return lines.find(piece) != std::string::npos;
}

TEST(Catalogue, ReadsFiguresInSi) {
  const Catalogue c = read_parts(std::string(kHead) + "a,n-mosfet,1:0.12;100:0.08,30,40,150,350\n");
  ASSERT_EQ(c.parts.size(), 1u);
  const Part& p = c.parts[0];
  EXPECT_EQ(figure(p, "vds_max"), 30.0);
  EXPECT_EQ(figure(p, "rds_max"), 0.04);
  EXPECT_EQ(figure(p, "tj_max"), 150 + 273.15);
  EXPECT_EQ(figure(p, "rth_ja"), 350.0);
  EXPECT_FALSE(given(figure(p, "ciss")));
  EXPECT_EQ(p.price_breaks, (std::vector<PriceBreak>{{1, 0.12}, {100, 0.08}}));
  EXPECT_EQ(p.currency, "USD");
  EXPECT_EQ(p.lifecycle, "active");
  EXPECT_EQ(p.minimum, 1.0);
  EXPECT_FALSE(given(p.stock));
  EXPECT_EQ(c.origins[0].line, 2);
}

TEST(Catalogue, TakesAUnitWithASlashInEitherSpelling) {
  for (const char* column : {"rth_ja_K_W", "rth_ja_K_per_W"})
    EXPECT_EQ(
        figure(read_parts(std::string("number,class,price_breaks,") + column + "\na,npn,1:1,500\n")
                   .parts[0],
               "rth_ja"),
        500.0);
  EXPECT_NEAR(figure(read_parts("number,class,price_breaks,tempco_ppm_per_K,vz_V,vz_tolerance\n"
                                "a,zener,1:1,450,5.6,5 %\n")
                         .parts[0],
                     "tempco"),
              450e-6, 1e-18);
}

TEST(Catalogue, NamesEveryProblemAtItsPlace) {
  const std::string found = complaints(std::string(kHead) +
                                       "a,n-mosfet,1:-0.12,30,0,150,350\n"
                                       "b,n-mosfett,1:0.1,30,40,150,350\n"
                                       "c,n-mosfet,100:0.1;1:0.2,30,40,nan,350\n"
                                       "=1+1,n-mosfet,1:0.1,1e9,40,150,350\n"
                                       ",n-mosfet,,30,40,150,350\n"
                                       "d,n-mosfet,1:0.1\n");
  EXPECT_TRUE(says(found, "p.csv:2:12: price_breaks: expected a price above 0, found \"-0.12\""))
      << found;
  EXPECT_TRUE(says(found, "p.csv:2:23: rds_max_mohm: expected 100 uohm to 100 ohm, found 0 ohm"))
      << found;
  EXPECT_TRUE(says(
      found,
      "p.csv:3:3: class: expected a class of part, found \"n-mosfett\" (did you mean n-mosfet?)"))
      << found;
  EXPECT_TRUE(says(found, "p.csv:4:12: price_breaks: expected rising quantities")) << found;
  EXPECT_TRUE(says(found, "p.csv:4:32: tj_max_degC: expected a number, found \"nan\"")) << found;
  EXPECT_TRUE(says(found, "p.csv:5:1: number: expected text, found a formula \"=1+1\"")) << found;
  EXPECT_TRUE(says(found, "p.csv:5:21: vds_max_V: expected 1 V to 1 kV, found")) << found;
  EXPECT_TRUE(says(found, "p.csv:6:1: number: expected a value, found nothing")) << found;
  EXPECT_TRUE(says(found, "p.csv:6:11: price_breaks: expected QUANTITY:PRICE pairs")) << found;
  EXPECT_TRUE(says(found, "p.csv:7:1: expected 7 cells, found 3")) << found;
  EXPECT_EQ(std::ranges::count(found, '\n'), 10) << found;
}

TEST(Catalogue, FindsFiguresThatContradictEachOther) {
  const std::string head =
      "number,class,price_breaks,threshold_min_V,threshold_typ_V,threshold_max_V,crss_pF,coss_pF\n";
  EXPECT_TRUE(says(complaints(head + "a,n-mosfet,1:1,2,,1,,\n"),
                   "p.csv:2:16: threshold_min_V: expected at most threshold_max 1 V, found 2 V"));
  EXPECT_TRUE(
      says(complaints(head + "a,n-mosfet,1:1,1,3,2,,\n"), "threshold_typ_V: expected at most"));
  EXPECT_TRUE(
      says(complaints(head + "a,n-mosfet,1:1,,,,100,50\n"), "crss_pF: expected at most coss"));
  EXPECT_EQ(complaints(head + "a,n-mosfet,1:1,1,1,1,50,50\n"), "none");
  const std::string diode = "number,class,price_breaks,if_low_mA,if_high_mA\n";
  EXPECT_TRUE(
      says(complaints(diode + "a,diode,1:1,10,10\n"), "if_low_mA: expected less than if_high"));
}

TEST(Catalogue, RefusesAFigureOfAnotherClassAndOddCounts) {
  EXPECT_TRUE(says(complaints(std::string(kHead) + "a,npn,1:1,30,,,\n"),
                   "vds_max_V: expected nothing, as npn has no such figure, found \"30\""));
  const std::string head = "number,class,price_breaks,stock,minimum,multiple,currency,lifecycle\n";
  EXPECT_TRUE(
      says(complaints(head + "a,npn,1:1,-1,,,,\n"), "stock: expected a whole number of 0 or more"));
  EXPECT_TRUE(says(complaints(head + "a,npn,1:1,,0,,,\n"),
                   "minimum: expected a whole number of 1 or more"));
  EXPECT_TRUE(says(complaints(head + "a,npn,1:1,,,1.5,,\n"), "multiple: expected a whole number"));
  EXPECT_TRUE(
      says(complaints(head + "a,npn,1:1,,,,dollars,\n"), "currency: expected three capital"));
  EXPECT_TRUE(says(complaints(head + "a,npn,1:1,,,,,dead\n"), "lifecycle: expected \"active\""));
}

TEST(Catalogue, RefusesAHeaderItCannotUse) {
  EXPECT_TRUE(says(complaints("number,class,price_breaks,vds_max\n"),
                   "the unit of the figure in the name, such as vds_max_V"));
  EXPECT_TRUE(
      says(complaints("number,class,price_breaks,vds_max_A\n"), "p.csv:1:27: vds_max_A: expected"));
  EXPECT_TRUE(says(complaints("number,class,price_breaks,vds_mx_V\n"), "did you mean vds_max_V?"));
  EXPECT_TRUE(says(complaints("number,class,price_breaks,vds_max_V,vds_max_mV\n"),
                   "expected each column once, found another vds_max_V"));
  EXPECT_TRUE(says(complaints("number,class\n"),
                   "price_breaks: expected a column of this name, found none"));
  EXPECT_TRUE(says(complaints("number;class;price_breaks\n"), "cells are separated by commas"));
  EXPECT_TRUE(says(complaints(""), "expected a row of columns, found nothing"));
  EXPECT_EQ(complaints(std::string(5000, ',') + "\n"),
            "p.csv:1:401: header: expected at most 400 columns, found 5001\n");
  EXPECT_TRUE(says(complaints("\xFF\xFEn"), "UTF-16"));
  EXPECT_TRUE(says(complaints(std::string(kHead) + "\xE4,npn,1:1,,,,\n"),
                   "p.csv:2:1: expected UTF-8 text"));
}

TEST(Catalogue, OneNumberIsOnePart) {
  const std::string a = "a,n-mosfet,1:1,30,40,150,350\n";
  const Catalogue same = read_parts(kHead + a + a);
  EXPECT_EQ(same.parts.size(), 1u);
  ASSERT_EQ(same.notes.size(), 1u);
  EXPECT_EQ(to_line(same.notes[0]), "p.csv:3:1: number: the same row as p.csv:2");
  const std::string found = complaints(kHead + a + "a,n-mosfet,1:1,30,41,150,350\n");
  EXPECT_EQ(
      found,
      "p.csv:2:1: number: expected one part a number, found \"a\" twice (other data at p.csv:3)\n"
      "p.csv:3:1: number: expected one part a number, found \"a\" twice (other data at p.csv:2)\n");
  // Written in another unit it is the same part still.
  const auto other =
      read_catalogue("q.csv",
                     "number,class,price_breaks,vds_max_V,rds_max_ohm,tj_max_K,rth_ja_K_W\n"
                     "a,n-mosfet,1:1.0,30,0.04,423.15,350\nb,npn,1:1,,,,\n");
  ASSERT_TRUE(other);
  const auto both = merge(read_parts(kHead + a), *other);
  ASSERT_TRUE(both) << to_lines(both.error());
  EXPECT_EQ(both->parts.size(), 2u);
  const auto clash =
      merge(read_parts(std::string(kHead) + "a,n-mosfet,1:2,30,40,150,350\n"), *other);
  ASSERT_FALSE(clash);
  EXPECT_EQ(clash.error().size(), 2u);
}

// A column name leads to one figure and one dimension, whatever the class of a row.
TEST(Catalogue, EveryFigureHasAColumnOfItsOwn) {
  for (const PartClass& c : part_classes())
    for (const Figure& f : c.figures) {
      Part part;
      part.number = "=x";
      part.part_class = c.name;
      part.package = "a,b";
      part.source = "s";
      part.price_breaks = {{1, 0.1}, {1000, 1.0 / 3.0}};
      part.figures.assign(c.figures.size(), kNotGiven);
      part.figures[static_cast<std::size_t>(&f - c.figures.data())] =
          f.low + 0.1 * (f.high - f.low);
      const std::string text = write_catalogue({part});
      const Catalogue back = read_parts(text);
      ASSERT_EQ(back.parts.size(), 1u) << text;
      EXPECT_EQ(back.parts[0].number, "=x");
      EXPECT_EQ(back.parts[0].price_breaks, part.price_breaks);
      EXPECT_EQ(figure(back.parts[0], f.name), figure(part, f.name)) << text;
      EXPECT_EQ(row_hash(back.parts[0]), row_hash(part));
    }
}

}  // namespace
}  // namespace pb
