// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// handoff: one folder with all that is needed to build, program and judge a design, and the same as
// a ZIP file. A design that does not pass is not handed over.
#include <CLI/CLI.hpp>
#include <nlohmann/json.hpp>

#include "app/inputs.h"
#include "app/verbs/verbs.h"
#include "base/hash.h"
#include "delivery/handoff.h"
#include "files/zip.h"
#include "judgement/proof.h"

namespace pb::app {
namespace {

using Json = nlohmann::ordered_json;

constexpr const char* kZip = "handoff.zip";

struct Options {
  DesignArguments design;
  std::string out;
};

OutputFiles files_of(const DesignInput& input, const Proof& proof, const Answer& verdict) {
  const Design& design = input.design;
  const std::vector<CostLine> lines = cost_lines(design);
  Cost cost;
  const bool priced = cost_faults(design.brief, lines).empty();
  if (priced) cost = landed_cost(design.brief, lines);
  OutputFiles files, hashes;
  for (auto& f : delivery::handoff_files({.design = design,
                                          .proof = proof,
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

Answer handoff(const Options& options, Session& session) {
  const auto input = read_design_input(options.design);
  if (!input) return refuse(input.error());
  if (auto refused = refuse_place(options.out)) return std::move(*refused);
  Proof proof;
  Answer verdict = judge(*input, session, proof);
  if (session.stop.stop_requested()) return verdict;
  if (verdict.status != kPasses) {
    verdict.text += "Nothing was written.\n";
    return verdict;
  }
  const OutputFiles files = files_of(*input, proof, verdict);
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
  json["drive"] = {{"states", proof.plan.moving_states - 1}, {"tick_s", proof.plan.tick_s}};
  return write_folder(std::move(answer), options.out, files);
}

}  // namespace

Run add_handoff(CLI::App& command) {
  const auto options = std::make_shared<Options>();
  add_design_arguments(command, options->design);
  command.add_option("--out", options->out, "the folder to write")->type_name("DIR")->required();
  return [options](Session& session) { return handoff(*options, session); };
}

}  // namespace pb::app
