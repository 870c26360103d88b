// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// handoff: one folder with all that is needed to build, program and judge a design, and the same as
// a ZIP file. A design that does not pass is not handed over.
#include <algorithm>
#include <nlohmann/json.hpp>

#include "app/inputs.h"
#include "app/parts_input.h"
#include "app/verbs/verbs.h"
#include "base/hash.h"
#include "delivery/handoff.h"
#include "files/zip.h"
#include "judgement/proof.h"

namespace pb::app {
namespace {

constexpr const char* kZip = "handoff.zip";

struct HandoffArguments {
  DesignArguments design;
  std::string out, store;
  std::vector<std::string> parts;
  int alternatives = AlternativesOptions{}.most;
};

/// What is computed for the handoff alone.
struct Extras {
  CopperTable copper;
  Placement placement;
  BenchPlan bench;
  ProductionTest production;
  Alternatives alternatives;
};

Extras extras_of(const Design& design, const Proof& proof, const std::vector<Part>& catalogue,
                 const HandoffArguments& options, Session& session) {
  Case judged = case_of(design);
  judged.dead_time_s = proof.dead_time_s;
  Extras out;
  session.progress("copper");
  out.copper = copper_table(judged, session.stop);
  if (const auto bare = on_bare_footprints(design); bare && !session.stop.stop_requested()) {
    ProofOptions whole;
    whole.parallel = session.parallel, whole.stop = session.stop;
    const Proof proven = prove(*bare, whole);
    if (!proven.cancelled) spare_copper(out.copper, proven.verdict);
  }
  std::map<std::string, double> current_A;
  for (const NetCopper& n : out.copper.nets) current_A[n.net] = n.through.rms_A;
  out.placement = placement_of(design, current_A);
  BenchOptions bench;
  bench.parallel = session.parallel, bench.stop = session.stop;
  session.progress("bench plan");
  out.bench = bench_plan(judged, bench);
  session.progress("production test");
  ProductionOptions production{.bench = bench, .progress = session.share};
  out.production = production_test(judged, production);
  session.progress("second sources");
  AlternativesOptions alternatives;
  alternatives.most = options.alternatives;
  if (options.alternatives == 0) alternatives.most_values = 0;
  alternatives.effort.parallel = session.parallel, alternatives.effort.stop = session.stop;
  alternatives.progress = session.share;
  out.alternatives = alternatives_of(design, proof, catalogue, alternatives);
  return out;
}

OutputFiles files_of(const DesignInput& input, const Proof& proof, const Extras& extras,
                     const Answer& verdict) {
  const Design& design = input.design;
  const std::vector<CostLine> lines = cost_lines(design);
  Cost cost;
  const bool priced = cost_faults(design.brief, lines).empty();
  if (priced) cost = landed_cost(design.brief, lines);
  OutputFiles files, hashes;
  for (auto& f : delivery::handoff_files({.design = design,
                                          .proof = proof,
                                          .copper = extras.copper,
                                          .placement = extras.placement,
                                          .bench = extras.bench,
                                          .production = extras.production,
                                          .alternatives = extras.alternatives,
                                          .cost = priced ? &cost : nullptr,
                                          .verdict_json = whole_object(verdict),
                                          .version = PB_VERSION,
                                          .input_sha256 = input.sha256})) {
    hashes.emplace_back(f.name, sha256_hex(f.text));
    files.emplace_back(std::move(f.name), std::move(f.text));
  }
  OutputFiles zipped = files;
  zipped.emplace_back("manifest.json", manifest_text(hashes, PB_VERSION));
  files.emplace_back(kZip, zip_of(zipped));
  return files;
}

Answer handoff(const HandoffArguments& options, Session& session) {
  const auto input = read_design_input(options.design);
  if (!input) return refuse(input.error());
  if (auto refused = refuse_place(options.out)) return std::move(*refused);
  auto catalogue = read_parts({.files = options.parts, .store = options.store});
  if (!catalogue) return std::move(catalogue.error());
  Proof proof;
  Answer verdict = judge(*input, session, proof);
  if (session.stop.stop_requested()) return verdict;
  if (verdict.status != kPasses) {
    verdict.text += "Nothing was written.\n";
    return verdict;
  }
  const Extras extras = extras_of(input->design, proof, catalogue->parts, options, session);
  if (session.stop.stop_requested()) return verdict;
  const OutputFiles files = files_of(*input, proof, extras, verdict);
  Answer answer;
  answer.json->update(answer_head(*input));
  Json& json = *answer.json;
  json["passes"] = true;
  json["files"] = Json::array();
  answer.text = "The design passes. Written to " + options.out + ":\n";
  for (const auto& [name, text] : files) {
    json["files"].push_back(Json{{"name", name}, {"sha256", sha256_hex(text)}});
    answer.text += "  " + name + "\n";
  }
  json["out"] = options.out;
  const auto& trials = extras.alternatives.parts;
  json["alternatives"] = {{"tried", trials.size()},
                          {"passed", std::count_if(trials.begin(), trials.end(),
                                                   [](const Trial& t) { return t.passes; })},
                          {"left", extras.alternatives.left}};
  json["production"] = {{"detected", extras.production.detected},
                        {"latent", extras.production.latent},
                        {"undecided", extras.production.undecided}};
  json["drive"] = {{"states", proof.plan.moving_states - 1}, {"tick_s", proof.plan.tick_s}};
  return write_folder(std::move(answer), options.out, files);
}

}  // namespace

Run add_handoff(Command& command) {
  const auto options = std::make_shared<HandoffArguments>();
  add_design_arguments(command, options->design);
  command.option("--out", options->out, "the folder to write").type("DIR").required();
  command
      .option("--alternatives", options->alternatives,
              "second sources to prove, cheapest first; 0: none")
      .type("N")
      .from_to(0, 1000)
      .shows_default();
  command
      .option("--parts", options->parts,
              "catalogue to look for second sources in, may be repeated; else your store and "
              "the starter catalogue")
      .type("FILE")
      .one_a_time();
  command.option("--store", options->store, "the store of parts, else the user's own").type("FILE");
  return [options](Session& session) { return handoff(*options, session); };
}

}  // namespace pb::app
