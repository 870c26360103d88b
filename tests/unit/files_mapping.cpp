// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Catalogues of others: their columns, signs, units and cells with several figures in them.
#include "files/mapping.h"

#include <gtest/gtest.h>

#include "files/catalogue.h"

namespace pb {
namespace {

// Invented rows in the manner of a distributor's export.
const std::string kMapping = R"toml(
format = 1
separator = ";"
decimal = ","
thousands = "."
empty = ["-", "n/a"]

[constant]
source = "a distributor"

[column."Part no."]
to = "number"
[column.Kind]
to = "class"
values = {"N-Channel" = "n-mosfet", "P-Channel" = "p-mosfet"}
[column."Vds, Id"]
pattern = "{vds_max} {drain_pulsed} (Tj)"
[column.Vgs]
pattern = ["±{vgs_max}", "+{vgs_max}, {}"]
[column."Rds on"]
pattern = "{rds_max} @ {rds_gate}, {}"
[column."Vgs(th) max"]
to = "threshold_max"
magnitude = true
[column."Ciss / pF"]
to = "ciss_pF"
[column."T max"]
pattern = "{tj_max} (TJ)"
[column.Stock]
to = "stock"
[column."1 pc"]
price_at = 1
[column."1000 pc"]
price_at = 1000
)toml";

const std::string kHead =
    "Part no.;Kind;Vds, Id;Vgs;Rds on;Vgs(th) max;Ciss / pF;T max;Stock;1000 pc;1 pc;Photo\n";

Mapping mapping(const std::string& text = kMapping) {
  auto out = read_mapping("m.toml", text);
  EXPECT_TRUE(out) << (out ? "" : to_lines(out.error()));
  return out ? *out : Mapping{};
}

std::string refusal(const std::string& text) {
  const auto out = read_mapping("m.toml", text);
  return out ? "none" : to_lines(out.error());
}

std::string problems(const std::string& rows) {
  const Mapping m = mapping();
  const auto out = read_catalogue("p.csv", rows, &m);
  return out ? "none" : to_lines(out.error());
}

TEST(Mapping, ReadsFiguresOutOfText) {
  const Mapping m = mapping();
  const auto c = read_catalogue(
      "p.csv",
      kHead +
          "X1;N-Channel;20V 3A (Tj);±12 V;45 mOhm @ 4,5 V, 3 A;-1,2 V;350;150°C (TJ);12.500;"
          "$0,08;0,12 EUR;=IMAGE(0)\n"
          "X2;P-Channel;20 V 2,5 A (Tj);+8V, -12V;0.0001;n/a;-;;-;0,07;-;\n",
      &m);
  ASSERT_FALSE(c);  // X2's on-resistance is in no form the pattern knows
  EXPECT_EQ(to_lines(c.error()),
            "p.csv:3:40: Rds on: expected text like \"{rds_max} @ {rds_gate}, {}\", found "
            "\"0.0001\"\n");
  const auto survey = survey_catalogue(
      "p.csv",
      kHead +
          "X1;N-Channel;20V 3A (Tj);±12 V;45 mOhm @ 4,5 V, 3 A;-1,2 V;350;150°C (TJ);12.500;"
          "$0,08;0,12 EUR;=IMAGE(0)\n"
          "X2;P-Channel;20 V 2,5 A (Tj);+8V, -12V;;n/a;-;;-;0,07;-;\n",
      &m);
  ASSERT_TRUE(survey);
  EXPECT_EQ(to_lines(survey->problems), "");
  EXPECT_EQ(survey->left_out, std::vector<std::string>{"Photo"});
  ASSERT_EQ(survey->good.parts.size(), 2u);
  const Part& a = survey->good.parts[0];
  EXPECT_EQ(a.number, "X1");
  EXPECT_EQ(a.part_class, "n-mosfet");
  EXPECT_EQ(a.source, "a distributor");
  EXPECT_EQ(a.stock, 12500.0);
  EXPECT_EQ(a.price_breaks, (std::vector<PriceBreak>{{1, 0.12}, {1000, 0.08}}));
  EXPECT_EQ(figure(a, "vds_max"), 20.0);
  EXPECT_EQ(figure(a, "drain_pulsed"), 3.0);
  EXPECT_EQ(figure(a, "vgs_max"), 12.0);
  EXPECT_EQ(figure(a, "rds_max"), 0.045);
  EXPECT_EQ(figure(a, "rds_gate"), 4.5);
  EXPECT_EQ(figure(a, "threshold_max"), 1.2);
  EXPECT_EQ(figure(a, "ciss"), 350e-12);
  EXPECT_EQ(figure(a, "tj_max"), 150 + 273.15);
  const Part& b = survey->good.parts[1];
  EXPECT_EQ(figure(b, "vds_max"), 20.0);  // "20 V 2,5 A": the first text that is a voltage
  EXPECT_EQ(figure(b, "drain_pulsed"), 2.5);
  EXPECT_EQ(figure(b, "vgs_max"), 8.0);  // the second pattern
  EXPECT_FALSE(given(figure(b, "rds_max")));
  EXPECT_FALSE(given(b.stock));
  EXPECT_EQ(b.price_breaks, (std::vector<PriceBreak>{{1000, 0.07}}));
}

TEST(Mapping, PointsAtTheirColumns) {
  EXPECT_NE(problems(kHead + "a;J-Channel;;;;;;;;;1;\n")
                .find("p.csv:2:3: Kind: expected a text the mapping has a value for, found "
                      "\"J-Channel\""),
            std::string::npos);
  EXPECT_NE(problems(kHead + "a;N-Channel;;;;;0;;;;1;\n").find("p.csv:2:17: Ciss / pF: expected"),
            std::string::npos);
  EXPECT_NE(problems(kHead + "a;N-Channel;;;;;;;;;-1;\n").find("1 pc: expected a price above 0"),
            std::string::npos);
  EXPECT_NE(problems(kHead + "a;N-Channel;;;;;;;;;;\n").find("expected QUANTITY:PRICE pairs"),
            std::string::npos);
  EXPECT_NE(problems(kHead + "=1+1;N-Channel;;;;;;;;;1;\n").find("a formula \"=1+1\""),
            std::string::npos);
  EXPECT_NE(problems("Part no;Kind\n").find("Part no.: expected a column of this name"),
            std::string::npos);
}

TEST(Mapping, ReadsLatin1) {
  const Mapping m = mapping(
      "encoding = \"latin-1\"\n[constant]\nclass = \"npn\"\n[column.N]\nto = \"number\"\n"
      "[column.P]\nprice_at = 1\n[column.C]\npattern = \"{cob} \\u00b1 {}\"\n");
  const auto c = read_catalogue("p.csv", "N,P,C\nK\xF6ln,1,4 pF \xB1 1\n", &m);
  ASSERT_TRUE(c) << to_lines(c.error());
  EXPECT_EQ(c->parts[0].number, "K\u00f6ln");
  EXPECT_EQ(figure(c->parts[0], "cob"), 4e-12);
}

TEST(Mapping, RefusesWhatItCannotUse) {
  const std::string rest = "[constant]\nclass = \"npn\"\n[column.P]\nprice_at = 1\n";
  const auto says = [&](const std::string& text, const std::string& piece) {
    const std::string found = refusal(text);
    EXPECT_NE(found.find(piece), std::string::npos) << found;
  };
  says("", "column: expected a table, found nothing");
  says(rest, "number: expected a column or a constant for it, found none");
  says(rest + "[column.N]\nto = \"numbr\"\n", "did you mean number?");
  says(rest + "[column.N]\nto = \"class\"\n", "expected each column of ours once");
  says(rest + "[column.N]\nto = \"number\"\nprice_at = 2\n",
       "expected one of to, pattern, price_at, found several");
  says(rest + "[column.N]\npattern = \"{number\"\n", "expected a } for each {");
  says(rest + "[column.N]\npattern = \"number\"\n", "expected a place such as {rds_max}");
  says(rest + "[column.N]\npattern = \"{rds_max_pF}\"\n", "the unit of the figure in the name");
  says(rest + "[column.N]\nto = \"number\"\nunit = \"V\"\n", "an unknown key");
  says("decimal = \",\"\nthousands = \",\"\n" + rest, "another sign than the decimal one");
  says("separator = \"|\"\n", "expected one of");
}

TEST(Mapping, PatternsTakeLongCellsInTheirStride) {
  const auto p = CellPattern::compile("{} {} {} {} {} {} {} x");
  ASSERT_TRUE(p);
  std::string cell;
  for (int i = 0; i < 190; ++i) cell += "a ";
  const auto any = [](std::size_t, std::string_view) { return true; };
  EXPECT_TRUE(p->match(cell, any).empty());  // ends, though 190 over 7 splits would all fail
  EXPECT_EQ(p->match(cell + "X", any).size(), 7u);
  EXPECT_TRUE(p->match(std::string(100000, 'a'), any).empty());
}

}  // namespace
}  // namespace pb
