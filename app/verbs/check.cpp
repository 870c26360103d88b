// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// check: the verdict on one design, hand-written ones too.
#include <fmt/core.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <nlohmann/json.hpp>
#include <set>

#include "app/inputs.h"
#include "app/verbs/verbs.h"
#include "base/text.h"
#include "files/json_verdict.h"
#include "judgement/proof.h"
#include "physics/plan.h"

namespace pb::app {
namespace {

struct Options {
  std::string design;
  std::vector<std::string> sets;
};

std::string row(const Check& c) {
  return fmt::format("{:6} {:20} {:24} {:>12} {:>15} {:>8}\n", c.passes ? "pass" : "FAIL", c.id,
                     c.subject, significant(c.value, 4) + " " + c.unit,
                     (c.sense == Sense::max ? "<= " : ">= ") + significant(c.limit, 4),
                     format_percent(c.margin));
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
  std::string out = fmt::format("{:6} {:20} {:24} {:>12} {:>15} {:>8}\n", "", "check", "subject",
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

Answer check(const Options& options, Session& session) {
  const auto input = read_design_input(options.design, options.sets);
  if (!input) return refuse(input.error());
  if (!physics::supports(input->design.wiring, input->design.settings.sequence))
    return refuse({{.file = options.design,
                    .key = "settings.sequence",
                    .expected = "a sequence the wiring has states for",
                    .found = pb::quoted(input->design.settings.sequence)}});
  ProofOptions proof_options;
  proof_options.parallel = session.parallel;
  proof_options.stop = session.stop;
  proof_options.progress = [&](double share) { session.progress(format_percent(share, 2)); };
  const Proof proof = prove(input->design, proof_options);
  Answer answer;
  answer.status = status_of(proof.verdict);
  answer.json->update(answer_head(*input));
  answer.json->update(to_json(proof.verdict));
  (*answer.json)["dead_time_s"] = json_number(proof.dead_time_s);
  answer.text = for_people(proof.verdict);
  return answer;
}

}  // namespace

Run add_check(CLI::App& command) {
  const auto options = std::make_shared<Options>();
  command.add_option("design", options->design, "design.toml")->required();
  command
      .add_option("--set", options->sets, "change a key of the brief: motion.rate=\"200 step/s\"")
      ->type_name("KEY=QTY")
      ->allow_extra_args(false);
  return [options](Session& session) { return check(*options, session); };
}

}  // namespace pb::app
