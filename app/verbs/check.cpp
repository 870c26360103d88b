// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// check: the verdict on one design, hand-written ones too.
#include <fmt/core.h>

#include <algorithm>
#include <nlohmann/json.hpp>
#include <optional>
#include <set>

#include "app/design_json.h"
#include "app/inputs.h"
#include "app/torque_curve.h"
#include "app/verbs/verbs.h"
#include "base/text.h"
#include "delivery/report.h"
#include "delivery/values.h"
#include "files/json_verdict.h"
#include "judgement/cost.h"
#include "judgement/proof.h"

namespace pb::app {
namespace {

struct CheckArguments {
  DesignArguments design;
  std::string out;
  bool torque_curve = false;
};

/// Spaces up to so many characters on the screen: a sign such as µ has more than one byte.
std::string to_width(const std::string& text, std::size_t width) {
  const auto shown = static_cast<std::size_t>(std::count_if(
      text.begin(), text.end(), [](unsigned char byte) { return (byte & 0xC0U) != 0x80U; }));
  return std::string(width > shown ? width - shown : 0, ' ') + text;
}

/// What a failing follower costs: volts that the winding does not get.
std::string loss_of(const Check& c) {
  const auto typ = c.facts.find("winding_loss_typ_V");
  const auto worst = c.facts.find("winding_loss_worst_V");
  if (c.passes || typ == c.facts.end() || worst == c.facts.end()) return "";
  return fmt::format("       of the winding's voltage {} loses {}, at its greatest threshold {}\n",
                     c.subject, delivery::with_unit(typ->second, "V"),
                     delivery::with_unit(worst->second, "V"));
}

std::string row(const Check& c) {
  return fmt::format("{:6} {:20} {:30} {} {} {:>8}\n", c.passes ? "pass" : "FAIL", c.id, c.subject,
                     to_width(delivery::with_unit(c.value, c.unit, 4), 12),
                     to_width((c.sense == Sense::max ? "<= " : ">= ") +
                                  delivery::with_unit(c.limit, c.unit, 4),
                              15),
                     format_percent(c.margin)) +
         loss_of(c);
}

/// What the verdict shows without judging it: legs that short in a pattern of pins the program
/// never writes.
std::string shown_only(const Verdict& v) {
  int legs = 0;
  double worst_A = 0;
  for (const Check& c : v.checks) {
    const auto shorts = c.facts.find("patterns_that_conduct_through_1");
    const auto worst = c.facts.find("worst_of_all_patterns_A");
    if (shorts == c.facts.end() || worst == c.facts.end() || shorts->second == 0 || !c.passes)
      continue;
    ++legs;
    worst_A = std::max(worst_A, worst->second);
  }
  if (legs == 0) return "";
  return fmt::format(
      "Shown, not judged: {} legs short the supply in a pattern of pins that the program never "
      "writes, {} A at worst; rules.wrong_pins = \"survive\" judges it\n",
      legs, significant(worst_A, 3));
}

/// Every failure, then the tightest subject of each check that passes: that is what a reader wants
/// to know. The rest is in the JSON.
std::string for_people(const Verdict& v) {
  std::vector<const Check*> checks;
  checks.reserve(v.checks.size());
  for (const Check& c : v.checks) checks.push_back(&c);
  std::sort(checks.begin(), checks.end(), [](const Check* a, const Check* b) {
    if (a->passes != b->passes) return b->passes;
    return a->margin != b->margin ? a->margin < b->margin : a < b;  // ties in the verdict's order
  });
  std::string out = fmt::format("{:6} {:20} {:30} {:>12} {:>15} {:>8}\n", "", "check", "subject",
                                "value", "limit", "margin");
  std::set<std::string> shown;
  std::size_t hidden = 0;
  for (const Check* c : checks) {
    if (c->passes && !shown.insert(c->id).second)
      ++hidden;
    else
      out += row(*c);
  }
  if (hidden > 0) out += fmt::format("and {} easier subjects of the same checks pass\n", hidden);
  out += shown_only(v);
  if (!v.not_judged.empty()) out += "Not judged yet: " + join(v.not_judged, ", ") + "\n";
  for (const std::string& u : v.undecided) out += "Undecided: " + u + "\n";
  const bool fails = !checks.empty() && !checks.front()->passes;
  if (fails) return out + "The design does not pass.\n";
  return out + (v.passes && v.undecided.empty() ? "The design passes.\n"
                                                : "The proof could not be finished.\n");
}

int status_of(const Verdict& v) {
  const bool fails =
      std::any_of(v.checks.begin(), v.checks.end(), [](const Check& c) { return !c.passes; });
  if (fails) return kDoesNotPass;  // one proven failure is enough, whatever else is open
  return v.undecided.empty() && v.passes ? kPasses : kUndecided;
}

Answer write_output(Answer answer, const std::string& out, const DesignInput& input,
                    const Proof& proof, const TorqueSpeed* torque) {
  const std::vector<CostLine> lines = cost_lines(input.design);
  std::optional<Cost> cost;  // a part without a price leaves it open
  if (cost_faults(input.design.brief, lines).empty()) cost = landed_cost(input.design.brief, lines);
  const std::string report =
      delivery::report_html(delivery::CheckedInput{.design = input.design,
                                                   .proof = proof,
                                                   .cost = cost ? &*cost : nullptr,
                                                   .version = PB_VERSION,
                                                   .input_sha256 = input.sha256,
                                                   .torque = torque});
  const std::string verdict = whole_object(answer);
  answer.text += "Written to " + out + ": report.html and verdict.json\n";
  return write_folder(std::move(answer), out, {{"report.html", report}, {"verdict.json", verdict}});
}

Answer check(const CheckArguments& options, Session& session) {
  const auto input = read_design_input(options.design);
  if (!input) return refuse(input.error());
  if (auto refused = refuse_place(options.out)) return std::move(*refused);
  Proof proof;
  Answer answer = judge(*input, session, proof);
  if (session.stop.stop_requested()) return answer;
  std::optional<TorqueSpeed> curve;
  if (options.torque_curve && given(proof.dead_time_s)) {
    curve = add_torque_curve(answer, input->design, proof.dead_time_s, session);
    if (!curve) return {};
  }
  if (options.out.empty()) return answer;
  return write_output(std::move(answer), options.out, *input, proof, curve ? &*curve : nullptr);
}

}  // namespace

Answer judge(const DesignInput& input, Session& session, Proof& proof) {
  ProofOptions proof_options;
  proof_options.parallel = session.parallel;
  proof_options.stop = session.stop;
  proof_options.progress = [&](double share) {
    session.progress(format_percent(share, 2));
    session.share(share);
  };
  proof = prove(input.design, proof_options);
  if (session.stop.stop_requested()) return {};
  Answer answer;
  answer.status = status_of(proof.verdict);
  answer.json->update(answer_head(input));
  answer.json->update(to_json(proof.verdict));
  (*answer.json)["tightest_margin"] = tightest_json(proof.verdict);
  (*answer.json)["dead_time_s"] = json_number(proof.dead_time_s);
  answer.text = for_people(proof.verdict);
  return answer;
}

Run add_check(Command& command) {
  const auto options = std::make_shared<CheckArguments>();
  add_design_arguments(command, options->design);
  command.flag("--torque-curve", options->torque_curve, kTorqueCurveHelp);
  command.option("--out", options->out, "folder for report.html and verdict.json").type("DIR");
  return [options](Session& session) { return check(*options, session); };
}

}  // namespace pb::app
