// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
#include "delivery/report_sections.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include <fmt/format.h>

#include "base/text.h"
#include "delivery/plot.h"
#include "delivery/report_style.h"
#include "delivery/schematic.h"
#include "delivery/values.h"
#include "model/brief.h"

namespace pb::delivery {
namespace {

constexpr double kZeroCelsius_K = 273.15;

std::string celsius(double kelvin) {
  return std::isfinite(kelvin) ? with_unit(kelvin - kZeroCelsius_K, "degC") : "not known";
}

void open_section(Html& page, const char* id, const char* heading) {
  page.open("section", fmt::format("id=\"{}\"", id)).element("h2", heading);
}

constexpr const char* kTypical = "typical values";

std::string corner_text(const Check& check) {
  std::map<std::string, std::vector<std::string>> at;  // by end
  for (const auto& [name, where] : check.corner)
    if (where != "typ") at[where].push_back(words(replace_all(name, ".", " ")));
  std::vector<std::string> pieces;
  pieces.reserve(at.size());
  for (const auto& [where, names] : at) pieces.push_back(where + " " + join(names, ", "));
  return pieces.empty() ? kTypical : join(pieces, "; ");
}

/// "winding_loss_worst_V" and 2.1 as "winding loss worst 2.1 V": facts carry their unit in the
/// name.
std::string fact_text(const std::string& name, double value) {
  const std::size_t cut = name.rfind('_');
  if (cut == std::string::npos) return words(name) + " " + significant(value, 3);
  return words(name.substr(0, cut)) + " " + with_unit(value, name.substr(cut + 1));
}

/// "margin moves most with: supply voltage max -12 %, ...": what it loses or gains there. No line
/// ends between a number and its unit.
std::string inputs_text(const Check& check) {
  std::vector<std::string> pieces;
  pieces.reserve(check.inputs.size());
  for (const Input& i : check.inputs)
    pieces.push_back(words(replace_all(i.figure, ".", " ")) + " " + i.end + " " +
                     replace_all(format_percent(i.margin_change, 2), " ", "\u00a0"));
  return pieces.empty() ? "" : "margin moves most with: " + join(pieces, ", ");
}

/// The twin's difference, as a share of the twin.
std::string difference_text(const Check& c) {
  if (c.hand_value == 0) return "";
  const double share = (c.value - c.hand_value) / std::abs(c.hand_value);
  return std::string("worst is ") + (share < 0 ? "" : "+") + format_percent(share, 2);
}

std::string grades_text(const Verdict& verdict) {
  int count[3] = {};
  for (const Check& c : verdict.checks) ++count[static_cast<int>(c.grade)];
  return fmt::format("Of {} numbers {} are grade G, {} M and {} A.", verdict.checks.size(),
                     count[0], count[1], count[2]);
}

/// What the rows of the margins say once, and then point to.
class SaidOnce {
 public:
  /// What a check looks at; empty if an earlier row has said it.
  std::string help(const Check& c) { return explained_.insert(c.id + c.help).second ? c.help : ""; }
  std::string corner(const Check& c) {
    const std::string text = corner_text(c);
    if (text == kTypical) return kTypical;
    const auto at = std::find(corners_.begin(), corners_.end(), text);
    const auto number = at - corners_.begin() + 1;
    if (at == corners_.end()) corners_.push_back(text);
    return "corner " + std::to_string(number);
  }
  const std::vector<std::string>& corners() const { return corners_; }

 private:
  std::set<std::string> explained_;
  std::vector<std::string> corners_;
};

void margin_row(Html& page, const CheckGroup& group, SaidOnce& said) {
  const Check& c = *group.check;
  const std::string subjects = join(group.subjects, " ");
  page.open("tr").open("th", "scope=\"row\"").text(words(c.id));
  if (!subjects.empty()) page.text(", " + subjects);
  if (const std::string help = said.help(c); !help.empty())
    page.element("span", help, "class=\"note\"");
  page.element("span", "worst at " + said.corner(c), "class=\"note\"");
  std::vector<std::string> facts;
  facts.reserve(c.facts.size());
  for (const auto& [name, value] : c.facts) facts.push_back(fact_text(name, value));
  if (!facts.empty()) page.element("span", join(facts, ", "), "class=\"note\"");
  if (const std::string inputs = inputs_text(c); !inputs.empty())
    page.element("span", inputs, "class=\"note\"");
  page.close();
  page.open("td").markup(margin_svg(c.margin)).close();
  page.element("td", typeset(format_percent(c.margin)) + (c.passes ? "" : " fails"),
               c.passes ? "class=\"n\"" : "class=\"n bad\"");
  page.open("td", "class=\"n\"").text(check_quantity(c, c.value));
  page.element("span", "nominal " + check_quantity(c, c.nominal), "class=\"note\"").close();
  page.open("td", "class=\"n\"");
  page.text((c.sense == Sense::max ? "at most " : "at least ") + check_quantity(c, c.limit));
  page.element("span", c.source, "class=\"note\"").close();
  page.element("td", letter(c.grade));
  page.open("td");
  if (!c.hand_formula.empty()) {
    page.text(check_quantity(c, c.hand_value));
    page.element("span", c.hand_formula, "class=\"note\"");
    page.element("span", difference_text(c), "class=\"note\"");
  }
  page.close().close();
}

/// Exact while it can be read at a glance.
std::string count_text(const Natural& n) {
  constexpr double kGlance = 1e9;
  return n.approximate() < kGlance ? n.text() : typeset(significant(n.approximate(), 3));
}

void space_table(Html& page, const SearchResult& result) {
  page.open_table("What became of the candidates, by wiring",
                  {"wiring", "#all", "#screened out", "#same as another",
                   "#above the winner's cost", "#failed", "#passed", "#undecided"});
  for (const auto& [id, s] : result.space)
    page.row({words(replace_all(id, "-", " ")), count_text(s.total), count_text(s.screened),
              count_text(s.grouped), count_text(s.beyond_cost), count_text(s.failed),
              count_text(s.passed), count_text(s.undecided)});
  page.close_table();
}

/// The fixed columns of a recording, by name.
enum Column { kTime, kCurrentA, kCurrentB, kRailV, kSupplyA, kAngle, kSpeed, kTorque };

std::vector<double> column(const std::vector<const std::vector<double>*>& rows, std::size_t i) {
  std::vector<double> out;
  out.reserve(rows.size());
  for (const auto* row : rows) out.push_back(i < row->size() ? (*row)[i] : kNotGiven);
  return out;
}

void wave_plots(Html& page, const std::vector<const std::vector<double>*>& rows,
                const std::string& when) {
  const std::vector<double> t = column(rows, kTime);
  const auto plot = [&](const std::string& what, const std::string& y_name, const char* unit,
                        std::vector<Trace> traces) {
    page.figure(
        line_plot_svg({what + ", " + when, "time", "s", y_name, unit, t, std::move(traces)}),
        what + ", " + when + ".");
  };
  plot("Winding currents", "current", "A",
       {{"winding a", column(rows, kCurrentA)}, {"winding b", column(rows, kCurrentB)}});
  plot("Motor supply rail", "voltage", "V", {{"rail", column(rows, kRailV)}});
  plot("Supply current", "current", "A", {{"supply", column(rows, kSupplyA)}});
  plot("Rotor angle", "angle", "rad", {{"angle", column(rows, kAngle)}});
  plot("Rotor speed", "speed", "rad/s", {{"speed", column(rows, kSpeed)}});
}

/// As a brief says it: a share of which the table speaks in percent is one here too.
std::string assumed_text(const Assumed& a) {
  const auto number = to_number(a.value);
  if (!number) return a.unit.empty() ? a.value : a.value + " " + a.unit;
  const auto keys = brief_keys();
  const auto key = std::find_if(keys.begin(), keys.end(),
                                [&](const BriefKey& k) { return full_name(k) == a.key; });
  if (key != keys.end() && key->assumed.ends_with('%')) return typeset(format_percent(*number));
  return with_unit(*number, a.unit);
}

}  // namespace

std::string check_quantity(const Check& check, double value) {
  return check.unit == "K" ? celsius(value) : with_unit(value, check.unit);
}

std::string check_sentence(const Check& c, const std::string& subjects) {
  return words(c.id) + (subjects.empty() ? "" : ", " + subjects) + ": " +
         check_quantity(c, c.value) + " against at " +
         (c.sense == Sense::max ? "most " : "least ") + check_quantity(c, c.limit);
}

std::string check_sentence(const Check& c) { return check_sentence(c, c.subject); }

std::vector<CheckGroup> grouped(const Verdict& verdict) {
  std::vector<const Check*> order;
  order.reserve(verdict.checks.size());
  for (const Check& c : verdict.checks) order.push_back(&c);
  std::stable_sort(order.begin(), order.end(),
                   [](const Check* a, const Check* b) { return a->margin < b->margin; });
  std::vector<CheckGroup> out;
  std::map<std::string, std::size_t> place;
  for (const Check* c : order) {
    // All that margin_row() writes but the subject.
    std::string key = check_sentence(*c, "") + "\n" + check_quantity(*c, c->nominal) + "\n" +
                      format_percent(c->margin) + "\n" + corner_text(*c) + "\n" + letter(c->grade) +
                      "\n" + c->hand_formula + "\n" + check_quantity(*c, c->hand_value) + "\n" +
                      c->source + "\n" + c->help;
    for (const auto& [name, value] : c->facts) key += "\n" + fact_text(name, value);
    key += "\n" + inputs_text(*c);
    const auto [it, fresh] = place.try_emplace(key, out.size());
    if (fresh) out.push_back({c, {}});
    if (!c->subject.empty()) out[it->second].subjects.push_back(c->subject);
  }
  for (CheckGroup& g : out) std::sort(g.subjects.begin(), g.subjects.end(), ref_before);
  return out;
}

void open_page(Html& page, const std::string& title, const std::string& kind,
               const std::string& lead) {
  page.markup("<!DOCTYPE html>\n").open("html", "lang=\"en\"").open("head");
  page.markup("<meta charset=\"utf-8\">\n");
  page.markup("<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n");
  page.element("title", title + ": " + kind);
  page.open("style").markup(kReportStyle).close().close();
  page.open("body").open("header").element("h1", title);
  page.element("p", lead).close();
  page.open("main");
}

void close_page(Html& page, const std::string& version, const std::string& input_sha256) {
  page.close().open("footer");
  std::string text = "Pennybridge";
  if (!version.empty()) text += " " + version;
  if (!input_sha256.empty()) text += ", input SHA-256 " + input_sha256;
  page.element("p", text).close().close().close();
}

void schematic_section(Html& page, const Design& design) {
  open_section(page, "schematic", "Schematic");
  page.figure(schematic_svg(design),
              design.wiring.title +
                  ". Symbols after IEC 60617. Ends with the same name are joined; "
                  "flags are controller pins.");
  page.close();
}

void parts_section(Html& page, const Design& design) {
  const std::string& currency = design.brief.build.currency;
  open_section(page, "parts", "Parts");
  page.open_table(
      "Parts of one board; prices at the whole build's quantity",
      {"number", "references", "#pieces", "what", "package", "role", "#each", "#together"});
  bool invented = false;
  for (const PartsLine& line : parts_lines(design)) {
    std::vector<std::string> roles;
    for (const std::string& r : line.roles) {
      const Role* role = find_role(design.wiring, r);
      roles.push_back(words(r) + (role && !role->doc.empty() ? ": " + role->doc : ""));
    }
    const double count = static_cast<double>(line.refs.size());
    invented = invented || line.part->source == "invented";
    page.row({line.part->number, join(line.refs, " "), significant(count, 9),
              description(design, line.roles.front()), line.part->package, join(roles, "; "),
              money(line.unit_price, currency), money(line.unit_price * count, currency)});
  }
  page.close_table();
  if (invented)
    page.element("p",
                 "Parts whose source is \"invented\" stand for a class of parts; no one makes "
                 "them. Put your own catalogue in before you buy.");
  page.close();
}

void settings_section(Html& page, const Design& design, const Proof& proof) {
  open_section(page, "settings", "Settings");
  page.open_table("Choices that cost nothing", {"setting", "value"});
  page.row({"drive sequence", design.settings.sequence});
  page.row({"stop by", design.settings.stop});
  if (const MotionBrief& m = design.brief.motion; given(m.ramp_steps_s2)) {
    const bool chosen = std::any_of(design.assumed.begin(), design.assumed.end(),
                                    [](const Assumed& a) { return a.key == "motion.ramp"; });
    page.row({"ramp", "from " + with_unit(start_rate(m), "steps/s") + " to " +
                          with_unit(m.rate_steps_s, "steps/s") + " with " +
                          with_unit(m.ramp_steps_s2, "steps/s2") +
                          (chosen ? ", chosen by simulation: the brief gives none" : "")});
  }
  page.row({"dead time", with_unit(proof.dead_time_s, "s")});
  for (const auto& [role, ohm] : design.settings.value)
    page.row({words(role), with_unit(ohm, "ohm")});
  page.close_table().close();
}

void cost_section(Html& page, const Cost& c, const Brief& brief) {
  open_section(page, "cost", "Cost ladder");
  const std::vector<Step> steps = {{"parts", c.parts},          {"attrition", c.attrition},
                                   {"placement", c.placement},  {"set-up", c.setup},
                                   {"board area", c.area},      {"test", c.test},
                                   {"one-off work", c.one_off}, {"scrap", c.scrap}};
  page.figure(
      ladder_svg("Landed cost of one good board", steps, brief.build.currency),
      "Landed cost of one good board at " + significant(brief.build.quantity, 9) + " pieces.");
  page.open_table("Landed cost, item by item", {"item", "#a board", "#share"});
  for (const Step& s : steps)
    page.row({s.name, money(s.amount, brief.build.currency),
              c.total > 0 ? format_percent(s.amount / c.total) : ""});
  page.row({"total", money(c.total, brief.build.currency), ""});
  page.close_table().close();
}

void margins_section(Html& page, const Verdict& verdict) {
  open_section(page, "margins", "Margins, tightest first");
  page.element("p",
               "A margin is the room to the limit over the limit. Grade G: rests on limits "
               "that data sheets guarantee; M: on a model; A: on an assumption. The worst value "
               "is at the corner named under each check; corners are listed below. Bars end at "
               "100 %.");
  page.element("p", grades_text(verdict));
  page.open_table("Every check that was judged",
                  {"check", "bar", "#margin", "#worst value", "#limit", "grade", "by hand"});
  SaidOnce said;
  for (const CheckGroup& group : grouped(verdict)) margin_row(page, group, said);
  page.close_table();
  if (!said.corners().empty()) {
    page.element("h3", "Corners").open("ol");
    for (const std::string& corner : said.corners()) page.element("li", corner);
    page.close();
  }
  page.close();
}

void cheaper_section(Html& page, const SearchResult& result, const std::string& currency) {
  open_section(page, "cheaper", result.designs.empty() ? "What was tried" : "Why nothing cheaper");
  if (!result.near_misses.empty()) {
    page.open_table("The cheapest candidate of each wiring that failed, and on what",
                    {"wiring", "#costs at least", "fails", "#value", "#limit"});
    for (const NearMiss& n : result.near_misses) {
      Check c;
      c.unit = n.unit;
      page.row({n.template_title, money(n.floor, currency),
                words(n.check_id) + (n.subject.empty() ? "" : ", " + n.subject),
                check_quantity(c, n.value), check_quantity(c, n.limit)});
    }
    page.close_table();
  }
  if (!result.space.empty()) space_table(page, result);
  if (!result.rejected.empty()) {
    page.open_table("Candidates rejected, by check", {"check", "#candidates"});
    std::vector<std::pair<std::string, Natural>> order(result.rejected.begin(),
                                                       result.rejected.end());
    std::stable_sort(order.begin(), order.end(), [](const auto& a, const auto& b) {
      return a.second.approximate() > b.second.approximate();
    });
    for (const auto& [id, n] : order) page.row({words(id), count_text(n)});
    page.close_table();
  }
  if (!result.undecided.empty()) {
    page.element("h3", "Left undecided").open("ul");
    for (const std::string& u : result.undecided) page.element("li", u);
    page.close();
  }
  page.close();
}

void waveforms_section(Html& page, const physics::RunFigures& run) {
  open_section(page, "waveforms", "Waveforms at typical values");
  std::vector<const std::vector<double>*> all, window;
  for (const auto& row : run.waves.rows) {
    all.push_back(&row);
    if (!row.empty() && row[kTime] >= run.window_from_s && row[kTime] <= run.window_to_s)
      window.push_back(&row);
  }
  page.element(
      "p", fmt::format("Winding a: {} rms, {} peak. Winding b: {} rms, {} peak. Rail: {} to "
                       "{}. Steps asked for: {}, made: {}.",
                       with_unit(run.winding_a.rms_A, "A"), with_unit(run.winding_a.peak_A, "A"),
                       with_unit(run.winding_b.rms_A, "A"), with_unit(run.winding_b.peak_A, "A"),
                       with_unit(run.rail_min_V, "V"), with_unit(run.rail_max_V, "V"),
                       run.steps_commanded, run.steps_made));
  if (const double ripple = physics::speed_ripple(run); given(ripple))
    page.element(
        "p", fmt::format("Velocity ripple of the rotor in the window of the mean values: {} of its "
                         "mean speed, {} (from {} to {}).",
                         typeset(format_percent(ripple)), with_unit(run.speed_mean_rad_s, "rad/s"),
                         with_unit(run.speed_min_rad_s, "rad/s"),
                         with_unit(run.speed_max_rad_s, "rad/s")));
  if (all.size() > 1) wave_plots(page, all, "whole move");
  if (window.size() > 1 && window.size() < all.size())
    wave_plots(page, window, "window of the mean values");
  if (all.size() < 2) page.element("p", "No waveform was recorded.");
  page.close();
}

void torque_section(Html& page, const TorqueSpeed& curve) {
  open_section(page, "torque", "Torque over speed at typical values");
  std::vector<double> rates, every_rate, in, out, asked, lag;
  for (const RatePoint& p : curve.points) {
    every_rate.push_back(p.rate_steps_s), lag.push_back(p.lag_step);
    if (!given(p.pull_out_Nm)) continue;
    rates.push_back(p.rate_steps_s), asked.push_back(curve.asked_Nm);
    in.push_back(p.pull_in_Nm), out.push_back(p.pull_out_Nm);
  }
  const auto rate = [](double steps_s) { return with_unit(steps_s, "steps/s"); };
  if (rates.size() > 1)
    page.figure(
        line_plot_svg({"Torque carried over the step rate",
                       "rate",
                       "steps/s",
                       "torque",
                       "N m",
                       rates,
                       {{"pull-out", out}, {"pull-in", in}, {"load with its margin", asked}}}),
        "Friction at the output shaft that is carried without losing a step: pull-in, started "
        "and stopped at the rate without a ramp; pull-out, at the end of a gentle ramp.");
  page.figure(line_plot_svg({"Greatest lag over the step rate",
                             "rate",
                             "steps/s",
                             "lag",
                             "step",
                             every_rate,
                             {{"lag", lag}}}),
              "Greatest lag of the rotor with the brief's own load, start and ramp. A step is lost "
              "beyond two.");
  page.element("p", curve.resonance
                        ? "Resonance: from " + rate(curve.resonance->from_steps_s) + " to " +
                              rate(curve.resonance->to_steps_s) + ", worst at " +
                              rate(curve.resonance->worst_steps_s) + "."
                        : "No resonance stands out between " + rate(every_rate.front()) + " and " +
                              rate(every_rate.back()) + ".");
  page.open_table("Torque over the step rate", {"#rate", "#pull-in", "#pull-out"});
  for (std::size_t k = 0; k < rates.size(); ++k)
    page.row({rate(rates[k]), with_unit(in[k], "N m"), with_unit(out[k], "N m")});
  page.close_table().close();
}

void energy_section(Html& page, const physics::RunFigures& run) {
  const auto& l = run.ledger;
  open_section(page, "energy", "Energy ledger");
  page.open_table("Energy over the run at typical values; each entry is its own integral",
                  {"entry", "#energy"});
  page.row({"from the supplies", with_unit(l.source_J, "J", 4)});
  page.row({"lost as heat", with_unit(l.loss_J, "J", 4)});
  page.row({"given to the load", with_unit(l.load_J, "J", 4)});
  page.row({"stored at the end, less at the start", with_unit(l.stored_J, "J", 4)});
  page.row({"left over", with_unit(l.residual_J(), "J")});
  page.close_table();
  if (l.throughput_J > 0)
    page.element("p", "Left over: " + format_percent(l.residual_J() / l.throughput_J) +
                          " of the energy that passed.");
  page.close();
}

void temperatures_section(Html& page, const Design& design, const physics::RunFigures& run) {
  open_section(page, "temperatures", "Temperatures and losses at typical values");
  struct Hot {
    std::string ref;
    double T_K, loss_W, limit_K;
    bool on_board;
  };
  std::vector<Hot> hot;
  for (const auto& [ref, figures] : run.parts) {
    if (ref == "winding_a" || ref == "winding_b") continue;  // one row for the motor
    const auto at = run.temperatures.junction_K.find(ref);
    const Place* place = find_place(design.wiring, ref);
    const auto part = place ? design.parts.find(place->role) : design.parts.end();
    double limit = kNotGiven;
    if (part != design.parts.end() &&
        figure_index(*find_part_class(part->second.part_class), "tj_max") >= 0)
      limit = figure(part->second, "tj_max");
    hot.push_back({ref, at == run.temperatures.junction_K.end() ? kNotGiven : at->second,
                   figures.loss_W, limit, place != nullptr});
  }
  std::stable_sort(hot.begin(), hot.end(),
                   [](const Hot& a, const Hot& b) { return a.loss_W > b.loss_W; });
  page.open_table("Greatest loss first; the margins above hold at the worst corner",
                  {"part", "#mean loss", "#temperature", "#rated"});
  page.row({"windings", with_unit(run.winding_loss_W, "W"), celsius(run.temperatures.winding_K),
            celsius(design.brief.motor.max_winding_temperature_K)});
  page.row({"board", with_unit(physics::board_loss_W(design, run), "W"),
            celsius(run.temperatures.board_K), ""});
  for (const Hot& h : hot)
    page.row({words(h.ref), with_unit(h.loss_W, "W"),
              given(h.T_K) ? celsius(h.T_K)
              : h.on_board ? "as the board"
                           : "",
              given(h.limit_K) ? celsius(h.limit_K) : ""});
  page.close_table().close();
}

void assumptions_section(Html& page, const std::vector<Assumed>& assumed) {
  open_section(page, "assumptions", "Assumptions");
  if (assumed.empty()) {
    page.element("p", "The brief gives every figure; nothing was assumed.").close();
    return;
  }
  page.element("p", "The brief does not give these; if one is wrong, so may be the result.");
  page.open_table("Figures assumed", {"key", "value"});
  for (const Assumed& a : assumed) page.row({a.key, assumed_text(a)});
  page.close_table().close();
}

void limits_section(Html& page, const Verdict* verdict) {
  open_section(page, "limits", "Limits of the models");
  page.open("ul");
  page.element("li",
               "Tracks, pads and leads count as ideal but for what the brief says of the "
               "supply and its cable; a poor layout can ring and overshoot more.");
  page.element("li", "Interference sent out or picked up is not computed.");
  page.element("li",
               "Capacitances and gains are typical where data sheets guarantee nothing; such "
               "numbers carry grade M.");
  page.element("li",
               "Each part has one temperature; parts heat each other only through the ambient "
               "and enclosure the brief gives.");
  page.element("li",
               "The worst corner is found from sensitivities and its neighbours, not by "
               "trying every combination. Ageing is not included.");
  if (verdict != nullptr)
    page.element("li", "Energy left unexplained by the simulation, at worst: " +
                           format_percent(verdict->energy_residual) + " of what passed.");
  page.close();
  if (verdict != nullptr && !verdict->not_judged.empty()) {
    page.element("h3", "Not judged").open("p");
    std::vector<std::string> names;
    names.reserve(verdict->not_judged.size());
    for (const std::string& id : verdict->not_judged) names.push_back(words(id));
    page.text(join(names, ", ") + ".").close();
  }
  if (verdict != nullptr && !verdict->undecided.empty()) {
    page.element("h3", "Undecided").open("ul");
    for (const std::string& u : verdict->undecided) page.element("li", u);
    page.close();
  }
  page.close();
}

void cautions_section(Html& page) {
  open_section(page, "cautions", "Cautions");
  page.open("div", "class=\"cautions\"").open("ul");
  page.element("li",
               "First power-up: use an isolated supply whose current is limited, with a fuse.");
  page.element("li",
               "Moving parts: the motor may start, reverse or stop without notice. Keep hands, "
               "hair and cables clear.");
  page.element("li",
               "Hot parts: transistors, resistors and the motor case can burn, also at rest "
               "while windings hold.");
  page.element("li",
               "A stalled motor draws its full current and heats up; do not leave one "
               "unattended.");
  page.element("li",
               "Stored energy: capacitors stay charged after switching off, and a motor that "
               "is turned by hand feeds the rail.");
  page.element("li",
               "Static discharge kills gates unseen: earth yourself before you touch the board.");
  page.element("li", "This is a calculation, not a certificate. Measure before you rely on it.");
  page.element("li",
               "Where people can be hurt, local codes hold and a competent or licensed person "
               "decides.");
  page.close().close().close();
}

}  // namespace pb::delivery
