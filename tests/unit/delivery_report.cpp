// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The report as a page: well formed, self-contained, nothing of an input taken for markup, and the
// decision first.
#include "delivery/report.h"

#include <algorithm>
#include <cmath>
#include <set>

#include <gtest/gtest.h>

#include "base/check.h"
#include "delivery/html.h"
#include "delivery/report_sections.h"
#include "tests/unit/delivery_samples.h"

namespace pb::delivery {
namespace {

const std::string kEvil = "<img src=x onerror=\"alert('1')\">&amp;";

Check check_of(const std::string& id, double value, double limit, const std::string& unit) {
  Check c;
  c.id = id, c.subject = "Q1" + kEvil, c.unit = unit;
  c.value = c.nominal = value, c.limit = limit;
  c.margin = margin_of(Sense::max, value, limit);
  c.passes = c.margin >= 0;
  c.corner = {{"threshold" + kEvil, "max"}, {"ambient", "typ"}};
  c.hand_formula = "I < R & " + kEvil;
  c.source = c.help = kEvil;
  return c;
}

/// Every text a file or a user can put in is evil.
Ranked sample_design() {
  Template t = test::all_templates().front();
  t.title = t.wins_when = kEvil;
  Ranked r;
  r.design = test::design_of(t, true);
  r.design.brief.title = kEvil;
  for (auto& [role, part] : r.design.parts) part.number = part.package = part.source = kEvil;
  r.proof.verdict.passes = true;
  r.proof.verdict.checks = {check_of("switch_peak", 1, 4, "A"), check_of("rail_peak", 11, 12, "V"),
                            check_of("switch_junction", 353.15, 398.15, "K")};
  r.proof.verdict.not_judged = {"switch_soa" + kEvil};
  auto& run = r.proof.nominal;
  for (int i = 0; i < 3000; ++i) {
    const double x = i * 1e-3;
    run.waves.rows.push_back({x, std::sin(x), std::cos(x), 12, 0.2, x, 1, 0.01});
  }
  run.window_from_s = 2, run.window_to_s = 3;
  run.parts[kEvil].loss_W = 0.1;
  run.ledger = {1, 0.9, 0.1, 0, 1};
  r.cost = {0.2, 0.01, 0.08, 0.02, 0.1, 0.05, 0.03, 0.01, 0.5};
  return r;
}

SearchResult sample_search() {
  SearchResult s;
  s.designs = {sample_design(), sample_design()};
  s.designs[1].cost.total = 0.6;
  s.nothing_cheaper = true;
  s.claim = "nothing cheaper passes " + kEvil;
  s.undecided = {kEvil};
  s.space[kEvil].total = 12;
  s.rejected[kEvil] = 3;
  s.near_misses = {{kEvil, "gate_drive_on", kEvil, 2, 4.5, 0.3, "V", ""}};
  return s;
}

std::string search_page(SearchResult s, std::vector<ChipOffer> chips = {}) {
  s.chips = std::move(chips);
  const Ranked sample = sample_design();
  std::vector<Assumed> assumed = sample.design.assumed;
  assumed.push_back({"key" + kEvil, kEvil, kEvil});
  return report_html(ReportInput{s, sample.design.brief, assumed, kEvil, kEvil});
}

std::string checked_page(const Ranked& r) {
  return report_html(CheckedInput{r.design, r.proof, &r.cost});
}

std::vector<std::string> pages() {
  Ranked failing = sample_design();
  failing.proof.verdict.passes = false;
  failing.proof.verdict.checks.push_back(check_of("supply_mean", 3, 2, "A"));
  SearchResult none = sample_search();
  none.designs.clear();
  SearchResult impossible = none;
  impossible.impossible_key = "motion.rate" + kEvil;
  impossible.impossible_why = kEvil;
  SearchResult empty;
  return {search_page(sample_search(), {{kEvil, kEvil, 0.4, true, kEvil}}),
          search_page(none),
          search_page(impossible),
          search_page(empty),
          checked_page(sample_design()),
          checked_page(failing)};
}

TEST(DeliveryReport, WritesAssumedSharesAsABriefDoes) {
  Ranked sample = sample_design();
  sample.design.assumed = {{"build.attrition", "0.0123", ""}, {"load.gear_ratio", "7.25", ""}};
  const std::string page = checked_page(sample);
  EXPECT_NE(page.find(">1.23"), std::string::npos);
  EXPECT_EQ(page.find("0.0123"), std::string::npos);
  EXPECT_NE(page.find(">7.25<"), std::string::npos);
}

TEST(DeliveryReport, EveryCornerIsListedOnce) {
  Ranked sample = sample_design();
  auto& checks = sample.proof.verdict.checks;
  ASSERT_GE(checks.size(), 3U);
  checks[0].corner = checks[1].corner = {{"supply.voltage", "max"}};
  checks[2].corner = {{"supply.voltage", "min"}};
  const std::string page = checked_page(sample);
  for (const char* corner : {"<li>max supply voltage</li>", "<li>min supply voltage</li>"}) {
    const std::size_t at = page.find(corner);
    ASSERT_NE(at, std::string::npos) << corner;
    EXPECT_EQ(page.find(corner, at + 1), std::string::npos) << corner;
  }
  EXPECT_NE(page.find("worst at corner 2"), std::string::npos);
}

TEST(DeliveryReport, IsWellFormedAndEscapesEveryInput) {
  for (const std::string& page : pages()) {
    const std::set<std::string> known = {
        "html",    "head",   "meta", "title",  "style", "body",     "header",     "main",
        "section", "footer", "h1",   "h2",     "h3",    "p",        "ul",         "ol",
        "li",      "dl",     "dt",   "dd",     "div",   "span",     "table",      "caption",
        "thead",   "tbody",  "tr",   "th",     "td",    "figure",   "figcaption", "svg",
        "g",       "line",   "rect", "circle", "path",  "polyline", "polygon",    "text"};
    for (const auto& e : test::read_markup(page)) {
      EXPECT_TRUE(known.contains(e.name)) << e.name;  // above all no img, no script
      for (const auto& [name, value] : e.attributes) EXPECT_FALSE(name.starts_with("on")) << name;
    }
    EXPECT_EQ(page.find("<img"), std::string::npos);
  }
}

TEST(DeliveryReport, NeedsNothingFromOutside) {
  for (const std::string& page : pages()) {
    for (const char* reference :
         {"http:", "https:", "src=\"", "href=\"", "url(", "@import", "<script"})
      EXPECT_EQ(page.find(reference), std::string::npos) << reference;
  }
}

TEST(DeliveryReport, EveryPictureHasANameAndEveryTableHeadings) {
  for (const std::string& page : pages()) {
    std::set<std::string> ids;
    int h1 = 0;
    for (const auto& e : test::read_markup(page)) {
      h1 += e.name == "h1";
      if (e.name == "svg") {
        EXPECT_EQ(e.attributes.at("role"), "img");
        EXPECT_FALSE(e.attributes.at("aria-label").empty());
      }
      EXPECT_EQ(e.attributes.contains("scope"), e.name == "th");
      EXPECT_EQ(e.attributes.contains("lang"), e.name == "html");
      const auto id = e.attributes.find("id");
      EXPECT_TRUE(id == e.attributes.end() || ids.insert(id->second).second);
    }
    EXPECT_EQ(h1, 1);
  }
}

TEST(DeliveryReport, SectionsComeInTheOrderOfTheReader) {
  const std::vector<std::string> wanted = {
      "decision",  "schematic", "parts",        "settings",    "cost",   "margins", "cheaper",
      "waveforms", "energy",    "temperatures", "assumptions", "limits", "cautions"};
  std::vector<std::string> found;
  for (const auto& e : test::read_markup(pages().front()))
    if (e.name == "section") found.push_back(e.attributes.at("id"));
  EXPECT_EQ(found, wanted);
}

TEST(DeliveryReport, EveryPageCarriesTheCautions) {
  for (const std::string& page : pages())
    for (const char* word :
         {"isolated", "fuse", "Moving parts", "motor case", "stalled", "Stored energy",
          "Static discharge", "not a certificate", "local codes", "competent or licensed"})
      EXPECT_NE(page.find(word), std::string::npos) << word;
}

TEST(DeliveryReport, SaysBuyTheChipFirstWhenItIsCheaper) {
  const SearchResult s = sample_search();
  const std::vector<ChipOffer> dear = {{"CHIP-1", "dual bridge", 0.51, true, "", {}}};
  const std::vector<ChipOffer> cheap = {{"CHIP-1", "dual bridge", 0.49, true, "", {}},
                                        {"CHIP-2", "dual bridge", 0.10, false, "", {}}};
  const auto wins = [](SearchResult result, std::vector<ChipOffer> chips) {
    result.chips = std::move(chips);
    return chip_wins(result);
  };
  EXPECT_FALSE(wins(s, dear));
  EXPECT_TRUE(wins(s, cheap));
  EXPECT_FALSE(wins(SearchResult{}, {{"CHIP-2", "", 0.1, false, "", {}}}));
  EXPECT_TRUE(wins(SearchResult{}, dear));
  EXPECT_EQ(search_page(s, dear).find("Buy the chip"), std::string::npos);
  const std::string page = search_page(s, cheap);
  EXPECT_LT(page.find("Buy the chip: CHIP-1"), page.find("0.50 USD"));
  EXPECT_LT(page.find("Buy the chip: CHIP-1"), page.find("<table"));
}

TEST(DeliveryReport, SaysThatNothingPassesAndWhy) {
  SearchResult none = sample_search();
  none.designs.clear();
  EXPECT_NE(search_page(none).find("Nothing passes."), std::string::npos);
  EXPECT_NE(search_page(none).find("2 V against 4.5 V"), std::string::npos);
  none.impossible_key = "motion.rate";
  EXPECT_NE(search_page(none).find("motion.rate"), std::string::npos);
}

TEST(DeliveryReport, MarginsAreSortedAndTemperaturesInCelsius) {
  const std::string page = checked_page(sample_design());
  const std::string table = page.substr(page.find("id=\"margins\""));
  // (12-11)/12 = 8.33 %, (398.15-353.15)/398.15 = 11.3 %, (4-1)/4 = 75 %
  EXPECT_LT(table.find("8.33 %"), table.find("11.3 %"));
  EXPECT_LT(table.find("11.3 %"), table.find("75 %"));
  EXPECT_NE(table.find("80 °C"), std::string::npos);
  EXPECT_NE(table.find("at most 125 °C"), std::string::npos);
}

TEST(DeliveryReport, AlikeChecksShareARowAndUnlikeOnesDoNot) {
  Verdict v;
  for (const char* subject : {"Q10", "Q2", "Q4"}) {
    v.checks.push_back(check_of("switch_peak", 1, 4, "A"));
    v.checks.back().subject = subject;
  }
  v.checks[2].corner["threshold"] = "min";
  v.checks.push_back(check_of("switch_peak", 3, 4, "A"));
  v.checks.back().subject = "Q3";
  const auto groups = grouped(v);
  ASSERT_EQ(groups.size(), 3u);
  EXPECT_EQ(groups[0].subjects, std::vector<std::string>{"Q3"});  // the tightest
  EXPECT_EQ(groups[1].subjects, (std::vector<std::string>{"Q2", "Q10"}));
  EXPECT_EQ(groups[2].subjects, std::vector<std::string>{"Q4"});
}

TEST(DeliveryReport, AnUndecidedProofIsNeverCalledPassed) {
  Ranked r = sample_design();
  r.proof.verdict.undecided = {"no convergence"};
  EXPECT_NE(checked_page(r).find("Undecided: the proof did not finish."), std::string::npos);
  EXPECT_EQ(checked_page(r).find("passes every check"), std::string::npos);
}

TEST(DeliveryHtml, AnUnbalancedPageIsABug) {
  Html page;
  page.open("p");
  EXPECT_THROW(page.finish(), InternalError);
  page.close();
  EXPECT_THROW(page.close(), InternalError);
}

}  // namespace
}  // namespace pb::delivery
