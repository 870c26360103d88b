// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The sections about money, drawn rather than listed.
#include "base/text.h"
#include "delivery/cost_plots.h"
#include "delivery/report_sections.h"
#include "delivery/values.h"

namespace pb::delivery {
namespace {

std::string from_boards(double quantity) {
  return given(quantity) ? "from " + significant(quantity, 9) + " boards on" : "at no quantity";
}

void break_even_list(Html& page, const PriceLadder& ladder) {
  if (ladder.break_even.empty()) return;
  page.open("ul");
  for (const BreakEven& b : ladder.break_even)
    page.element("li", "Cheaper than " + b.against + " " + from_boards(b.with_one_off) +
                           "; without the one-off work " + from_boards(b.without_one_off) + ".");
  page.close();
}

void dots(Html& page, const std::vector<ParetoPoint>& front, const std::string& currency,
          const char* name, const char* unit, double (*of)(const Goals&)) {
  Dots d{std::string("Landed cost against ") + name, name, unit, {}, {}};
  for (const ParetoPoint& p : front) {
    d.cost.push_back(p.goals.landed_cost);
    d.y.push_back(of(p.goals));
  }
  page.open("figure").markup(dots_svg(d, currency)).close();
}

}  // namespace

void price_ladder_section(Html& page, const PriceLadder& ladder, const std::string& currency) {
  if (ladder.lines.empty()) return;
  page.open("section", "id=\"price-ladder\"").element("h2", "Cost over quantity");
  for (const bool with_one_off : {true, false})
    page.figure(price_ladder_svg(ladder, currency, with_one_off),
                std::string("Landed cost of a good board ") + (with_one_off ? "with" : "without") +
                    " the one-off work of a driver of one's own.");
  page.element("p",
               "Every line is one board with its own parts, each bought at the break that suits "
               "the quantity. The search was not repeated: at another quantity another design may "
               "be cheaper.");
  break_even_list(page, ladder);
  page.open("ul");
  for (const LadderLine& line : ladder.lines)
    if (!line.passes)
      page.element(
          "li", line.kind + ": not drawn, as " + line.name + " does not pass, " + line.why + ".");
  page.close().close();
}

void tornado_section(Html& page, const std::vector<TornadoBar>& bars, double cost,
                     const std::string& currency) {
  if (bars.empty()) return;
  page.open("section", "id=\"tornado\"").element("h2", "What the cost hangs on");
  page.figure(tornado_svg(bars, cost, currency),
              "Each input alone at the ends of its range, times its value in the brief or the "
              "catalogue; parts are bought anew each time. The ranges are common practice.");
  page.close();
}

void pareto_section(Html& page, const std::vector<ParetoPoint>& front,
                    const std::string& currency) {
  if (front.size() < 2) return;
  page.open("section", "id=\"pareto\"").element("h2", "What a dearer one buys");
  page.element("p",
               "Of the designs that were proven, those than which no other is as good in all of "
               "cost, heat, room, parts and energy.");
  page.open("div", "class=\"dots\"");
  dots(page, front, currency, "hottest junction, worst corner", "degC",
       [](const Goals& g) { return g.hottest_degC; });
  dots(page, front, currency, "board area", "m2", [](const Goals& g) { return g.board_area_m2; });
  dots(page, front, currency, "parts on a board", "", [](const Goals& g) { return g.parts; });
  dots(page, front, currency, "energy from the supply, one move", "J",
       [](const Goals& g) { return g.energy_J; });
  page.close().open("ol");
  for (const ParetoPoint& p : front)
    page.element("li", p.design->wiring.title + ", " + money(p.goals.landed_cost, currency));
  page.close().close();
}

namespace {

std::string outcome_text(const TrialOutcome& o) {
  if (!o.tried) return "not tried, out of time";
  if (!o.passes) return "does not pass, " + o.fails;
  return std::string(o.proven ? "passes" : "passes a trial, not proven in full for want of time") +
         ", tightest margin " + format_percent(o.margin);
}

}  // namespace

void pairs_section(Html& page, const std::vector<PairTrial>& pairs, const std::string& currency) {
  if (pairs.empty()) return;
  page.open("section", "id=\"pairs\"").element("h2", "Two transistors in one package");
  page.element("p",
               "In place of two single ones: one part to place and one footprint. The halves share "
               "their way to ambient, so each heats the other; the design was judged anew with "
               "that. The board is not drawn with them.");
  page.open_table("Pairs, each for two places",
                  {"number", "stands for", "#landed cost", "a board", "proof"});
  for (const PairTrial& t : pairs) {
    std::vector<std::string> places;
    places.reserve(t.plan.places.size());
    for (const auto& refs : t.plan.places) places.push_back(join({refs[0], refs[1]}, " and "));
    page.row({t.pair.number + ", " + t.pair.package, join(places, ", "),
              money(t.landed_cost, currency), saving_text(t.saves, currency), outcome_text(t)});
  }
  page.close_table();
  page.close();
}

void values_section(Html& page, const std::vector<Trial>& values, const std::string& currency) {
  if (values.empty()) return;
  page.open("section", "id=\"one-value\"").element("h2", "Values that could be one");
  page.element(
      "p",
      "A resistor of another value is another reel, with its own set-up and price: the landed "
      "cost counts one for each list of values. The same value in two places, judged anew:");
  page.open("ul");
  for (const Trial& t : values) {
    std::vector<std::string> roles;
    roles.reserve(t.roles.size());
    for (const std::string& r : t.roles) roles.push_back(words(r));
    page.element("li", join(roles, " and ") + " both " + with_unit(t.ohm, "ohm") + ": " +
                           saving_text(t.saves, currency) + "; " + outcome_text(t) + ".");
  }
  page.close().close();
}

void saves_section(Html& page, const std::vector<NearMiss>& misses,
                   const std::vector<Save>& saves) {
  if (misses.empty() || saves.size() != misses.size()) return;
  page.open("section", "id=\"saves\"").element("h2", "What would make a cheaper one pass");
  page.element("p",
               "For the cheapest candidate of each wiring that failed: the smallest single change "
               "of the brief, or of one part, with which it was judged anew and passed.");
  page.open("ul");
  for (std::size_t k = 0; k < misses.size(); ++k) {
    const Save& s = saves[k];
    const std::string failed =
        misses[k].template_title + " (fails " + words(misses[k].check_id) + "): ";
    page.element("li", failed + (s.found ? s.change.text + (s.proven ? "." : "; by a trial only.")
                                 : s.tried == 0 ? std::string("not looked for.")
                                                : "none of the " + std::to_string(s.tried) +
                                                      " changes tried."));
  }
  page.close().close();
}

}  // namespace pb::delivery
