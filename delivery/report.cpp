// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The decision, and the order of the sections.
#include "delivery/report.h"

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "delivery/report_sections.h"
#include "delivery/values.h"
#include "judgement/checks.h"

namespace pb::delivery {
namespace {

const ChipOffer* cheapest_passing(const std::vector<ChipOffer>& chips) {
  const ChipOffer* best = nullptr;
  for (const ChipOffer& c : chips)
    if (c.passes && (best == nullptr || c.landed_cost < best->landed_cost)) best = &c;
  return best;
}

std::string pieces_text(const Brief& brief) {
  return significant(brief.build.quantity, 9) + " pieces";
}

void fact(Html& page, const std::string& name, const std::string& value) {
  page.open("div").element("dt", name).element("dd", value).close();
}

void design_facts(Html& page, const Design& design, const Proof& proof) {
  fact(page, "wiring", design.wiring.title);
  if (const Check* t = tightest(proof.verdict))
    fact(page, "tightest margin", typeset(format_percent(t->margin)) + ", " + check_sentence(*t));
  fact(page, "supply current, mean and peak",
       with_unit(proof.nominal.supply_mean_A, "A") + ", " +
           with_unit(proof.nominal.supply_peak_A, "A"));
}

void chip_table(Html& page, const std::vector<ChipOffer>& chips, const std::string& currency) {
  if (chips.empty()) {
    page.element("p", "No driver chip was priced.");
    return;
  }
  page.open_table("Chips that could be bought instead",
                  {"chip", "kind", "#landed cost", "passes", "remark"});
  for (const ChipOffer& c : chips)
    page.row({c.number, c.kind, money(c.landed_cost, currency), c.passes ? "yes" : "no", c.why});
  page.close_table();
}

/// One-off work weighs on the discrete driver alone: without it the answer may turn.
std::string without_one_off(const Ranked& best, const ChipOffer& chip, const Brief& brief) {
  if (!(best.cost.one_off > 0)) return "";
  const std::string& currency = brief.build.currency;
  const double rest = best.cost.total - best.cost.one_off, saving = chip.landed_cost - rest;
  const std::string head = " Of that, " + money(best.cost.one_off, currency) +
                           " a board is one-off work; without it the board lands at " +
                           money(rest, currency);
  if (saving <= 0)
    return head + ", and at this quantity's prices the chip is still the cheaper one.";
  return head + ": at this quantity's prices it pays from " +
         significant(std::ceil(best.cost.one_off * brief.build.quantity / saving), 3) +
         " pieces on.";
}

/// What the proof says of a chip that is recommended.
std::string spares(const ChipOffer& chip) {
  const Check* t = tightest(chip.proof.verdict);
  return t ? " Its tightest margin is " + typeset(format_percent(t->margin)) + ", " +
                 check_sentence(*t) + "."
           : "";
}

void decide_to_build(Html& page, const ReportInput& in) {
  const Ranked& best = in.result.designs.front();
  const std::string& currency = in.brief.build.currency;
  const ChipOffer* chip = cheapest_passing(in.result.chips);
  const std::string cost = money(best.cost.total, currency);
  if (chip != nullptr && chip->landed_cost < best.cost.total) {
    page.element("p", "Buy the chip: " + chip->number + " (" + chip->kind + ").",
                 "class=\"verdict\"");
    page.element("p", "It lands at " + money(chip->landed_cost, currency) + " a board." +
                          spares(*chip) +
                          " The cheapest driver made of single parts that passes, " +
                          best.design.wiring.title + ", lands at " + cost + "." +
                          without_one_off(best, *chip, in.brief));
    page.element("p", "What follows shows that driver of single parts, for comparison.");
  } else {
    page.element("p", "Build: " + best.design.wiring.title + ".", "class=\"verdict\"");
    page.element("p",
                 "It lands at " + cost + " a good board at " + pieces_text(in.brief) +
                     ", everything in." +
                     (chip != nullptr ? " The cheapest chip that passes, " + chip->number +
                                            ", lands at " + money(chip->landed_cost, currency) + "."
                                      : ""));
  }
  page.element("p", in.result.claim,
               in.result.nothing_cheaper ? "class=\"proven\"" : "class=\"open\"");
  if (const PairTrial* pair = in.study ? cheapest_saving(in.study->pairs) : nullptr)
    page.element(
        "p", "With " + pair->pair.number + ", two transistors in one package, it would land at " +
                 money(pair->landed_cost, currency) + ", and is proven to pass: see pairs below.");
  if (const Trial* value = in.study ? cheapest_saving(in.study->values) : nullptr)
    page.element("p", "With one value for " + words(join(value->roles, " and ")) +
                          " it would land at " + money(value->landed_cost, currency) +
                          ", and is proven to pass: see values below.");
  page.open("dl", "class=\"facts\"");
  fact(page, "landed cost", cost);
  design_facts(page, best.design, best.proof);
  page.close();
}

void decide_against(Html& page, const ReportInput& in) {
  const SearchResult& r = in.result;
  const std::string& currency = in.brief.build.currency;
  if (const ChipOffer* chip = cheapest_passing(in.result.chips)) {
    page.element("p", "Buy the chip: " + chip->number + " (" + chip->kind + ").",
                 "class=\"verdict\"");
    page.element(
        "p",
        "It lands at " + money(chip->landed_cost, currency) + " a board." + spares(*chip) +
            (r.undecided.empty() ? " No driver made of single parts passes that would cost less."
                                 : " No driver made of single parts was proven in the time."));
  } else {
    page.element(
        "p",
        r.impossible_key.empty() ? "Nothing passes." : "The brief asks what no driver can give.",
        "class=\"verdict bad\"");
  }
  if (!r.impossible_key.empty()) page.element("p", r.impossible_key + ": " + r.impossible_why);
  if (!r.claim.empty()) page.element("p", r.claim, "class=\"open\"");
  const auto nearest =
      std::min_element(r.near_misses.begin(), r.near_misses.end(),
                       [](const NearMiss& a, const NearMiss& b) { return a.floor < b.floor; });
  if (nearest == r.near_misses.end()) return;
  Check c;
  c.id = nearest->check_id, c.subject = nearest->subject, c.unit = nearest->unit;
  page.element("p", "Cheapest that was tried: " + nearest->template_title + ", at least " +
                        money(nearest->floor, currency) + ". It fails " + words(c.id) +
                        (c.subject.empty() ? "" : ", " + c.subject) + ": " +
                        check_quantity(c, nearest->value) + " against " +
                        check_quantity(c, nearest->limit) + ".");
}

void ranking_table(Html& page, const SearchResult& result, const std::string& currency) {
  if (result.designs.size() < 2) return;
  page.open_table("The cheapest designs that pass",
                  {"#rank", "wiring", "#landed cost", "tightest margin"});
  int rank = 0;
  for (const Ranked& r : result.designs) {
    const Check* t = tightest(r.proof.verdict);
    page.row(
        {std::to_string(++rank), r.design.wiring.title, money(r.cost.total, currency),
         t ? typeset(format_percent(t->margin)) + ", " + words(t->id) + " " + t->subject : ""});
  }
  page.close_table();
}

void study_sections(Html& page, const ReportInput& in) {
  if (in.study == nullptr) return;
  const std::string& currency = in.brief.build.currency;
  price_ladder_section(page, in.study->ladder, currency);
  const SearchResult& r = in.result;
  const ChipOffer* chip = cheapest_passing(r.chips);
  if (!r.designs.empty())
    tornado_section(page, in.study->tornado, r.designs.front().cost.total, currency);
  else if (chip != nullptr)
    tornado_section(page, in.study->tornado, chip->landed_cost, currency);
  pareto_section(page, in.study->pareto, currency);
  pairs_section(page, in.study->pairs, currency);
  values_section(page, in.study->values, currency);
  saves_section(page, r.near_misses, in.study->saves);
}

void design_sections(Html& page, const Design& design, const Proof& proof, const Cost* cost,
                     const TorqueSpeed* torque, const ReportInput* found) {
  schematic_section(page, design);
  parts_section(page, design);
  settings_section(page, design, proof);
  if (cost != nullptr) cost_section(page, *cost, design.brief);
  margins_section(page, proof.verdict);
  if (found != nullptr) {
    cheaper_section(page, found->result, design.brief.build.currency);
    study_sections(page, *found);
  }
  waveforms_section(page, proof.nominal);
  if (torque != nullptr) torque_section(page, *torque);
  energy_section(page, proof.nominal);
  temperatures_section(page, design, proof.nominal);
}

std::string titled(const Brief& brief) {
  return brief.title.empty() ? "Motor driver" : brief.title;
}

}  // namespace

std::string report_html(const ReportInput& in) {
  Html page;
  open_page(page, titled(in.brief));
  page.open("section", "id=\"decision\"").element("h2", "Decision");
  if (in.result.cancelled)
    page.element("p", "The search was stopped before its end.", "class=\"open\"");
  if (in.result.designs.empty())
    decide_against(page, in);
  else
    decide_to_build(page, in);
  chip_table(page, in.result.chips, in.brief.build.currency);
  ranking_table(page, in.result, in.brief.build.currency);
  page.close();
  const Verdict* verdict = nullptr;
  if (in.result.designs.empty()) {
    cheaper_section(page, in.result, in.brief.build.currency);
    study_sections(page, in);
  } else {
    const Ranked& best = in.result.designs.front();
    design_sections(page, best.design, best.proof, &best.cost, in.torque, &in);
    verdict = &best.proof.verdict;
  }
  assumptions_section(page, in.assumed);
  limits_section(page, verdict);
  cautions_section(page);
  close_page(page, in.version, in.input_sha256);
  return page.finish();
}

std::string report_html(const CheckedInput& in) {
  const Verdict& verdict = in.proof.verdict;
  Html page;
  open_page(page, titled(in.design.brief));
  page.open("section", "id=\"decision\"").element("h2", "Decision");
  if (!verdict.undecided.empty() || in.proof.cancelled) {
    page.element("p", "Undecided: the proof did not finish.", "class=\"verdict bad\"");
  } else if (verdict.passes) {
    page.element("p", "This design passes every check that was judged.", "class=\"verdict\"");
  } else {
    page.element("p", "This design does not pass.", "class=\"verdict bad\"");
  }
  page.open("ul");
  for (const std::string& u : verdict.undecided) page.element("li", u);
  for (const CheckGroup& g : grouped(verdict))
    if (!g.check->passes) page.element("li", check_sentence(*g.check, join(g.subjects, " ")));
  if (verdict.passes && verdict.undecided.empty()) page.element("li", "no check fails");
  page.close();
  page.open("dl", "class=\"facts\"");
  if (in.cost != nullptr)
    fact(page, "landed cost", money(in.cost->total, in.design.brief.build.currency));
  design_facts(page, in.design, in.proof);
  page.close().close();
  design_sections(page, in.design, in.proof, in.cost, in.torque, nullptr);
  assumptions_section(page, in.design.assumed);
  limits_section(page, &verdict);
  cautions_section(page);
  close_page(page, in.version, in.input_sha256);
  return page.finish();
}

}  // namespace pb::delivery
