// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// design: the main job. A brief and a catalogue go in; the cheapest driver proven to work comes
// out.
#include <fmt/core.h>

#include <algorithm>
#include <chrono>
#include <filesystem>
#include <map>
#include <nlohmann/json.hpp>
#include <optional>

#include "app/design_json.h"
#include "app/inputs.h"
#include "app/parts_input.h"
#include "app/torque_curve.h"
#include "app/verbs/verbs.h"
#include "base/hash.h"
#include "base/text.h"
#include "delivery/bom.h"
#include "delivery/report.h"
#include "files/load.h"
#include "files/toml_brief.h"
#include "files/toml_design.h"
#include "files/toml_template.h"
#include "judgement/checks.h"
#include "judgement/cost_study.h"
#include "judgement/ramp_choice.h"
#include "judgement/search.h"

namespace pb::app {
namespace {

// For "nothing cheaper" a person waits this long unasked; what is left then is reported as
// undecided.
constexpr int kPatience_s = 120, kMostPatience_s = 86400;
// For runners-up nobody asked for, no longer than this.
constexpr std::chrono::seconds kEnough{15};
constexpr int kUsual = 5;
// If nothing was found by then, from the other end.
constexpr std::chrono::seconds kFallBack{20};
// Pairs, shared values and what would save a near miss are tried until kTrials, and no whole proof
// is begun after kProofs: the answer is to be there within kAnswer. Of what the search takes
// longer, they get a share.
constexpr std::chrono::milliseconds kProofs{11000}, kTrials{13500}, kAnswer{15000};
constexpr int kShare = 4;

struct SearchArguments {
  std::string brief, out, store;
  std::vector<std::string> parts;
  int top = 0;  // 0: as many as are found on the way, up to kUsual
  int patience_s = kPatience_s;
  bool torque_curve = false;
};

struct Inputs {
  ReadBrief brief;
  std::vector<Template> templates;
  std::vector<Part> parts;
  std::string sha256, brief_sha256;
};

std::expected<Inputs, Answer> read_inputs(const SearchArguments& options) {
  Problems problems;
  Inputs in;
  std::string hashed;
  const auto text = load_text(options.brief);
  auto brief = text ? read_brief(options.brief, *text) : std::unexpected(text.error());
  if (brief) {
    in.brief = std::move(*brief);
    hashed = *text;
    in.brief_sha256 = sha256_hex(*text);
  } else {
    append(problems, std::move(brief.error()));
  }
  auto parts = read_parts({.files = options.parts, .store = options.store});
  int status = kBadInput;
  if (parts) {
    in.parts = std::move(parts->parts);
    hashed += parts->hashed;
  } else {
    append(problems, std::move(parts.error().problems));
    status = parts.error().status;
  }
  auto templates = load_templates(data_folder("templates"));
  if (templates)
    in.templates = std::move(*templates);
  else
    append(problems, std::move(templates.error()));
  if (!problems.empty()) return std::unexpected(refuse(std::move(problems), status));
  in.sha256 = sha256_hex(hashed);
  return in;
}

std::string file_of(std::size_t rank) { return fmt::format("design-{}.toml", rank); }

/// The file of each design of the result that has one of its own.
std::map<const Design*, std::string> files_of(const SearchResult& r, const CostStudy& study) {
  std::map<const Design*, std::string> out;
  for (std::size_t i = 0; i < r.designs.size(); ++i) out[&r.designs[i].design] = file_of(i + 1);
  for (std::size_t i = 0; i < r.chips.size(); ++i)
    if (r.chips[i].passes) out[&r.chips[i].design] = fmt::format("chip-{}.toml", i + 1);
  int further = 0;
  for (const ParetoPoint& p : study.pareto)
    if (!out.contains(p.design)) out[p.design] = fmt::format("front-{}.toml", ++further);
  return out;
}

/// What a chip costs, first if it is the answer.
std::string chips_for_people(const SearchResult& r) {
  std::string out;
  for (const ChipOffer& c : r.chips)
    out += c.passes ? fmt::format("  chip {}, {}: {:.4f}\n", c.number, c.kind, c.landed_cost)
                    : fmt::format("  chip {}, {}: fails {}\n", c.number, c.kind, c.why);
  return out.empty() ? "No driver chip is in the catalogue.\n"
                     : "Bought whole, landed cost a board:\n" + out;
}

std::string for_people(const SearchResult& r) {
  std::string out;
  for (std::size_t i = 0; i < r.designs.size(); ++i) {
    const Ranked& d = r.designs[i];
    const Check* c = tightest(d.proof.verdict);
    out += fmt::format(
        "{:2}  {:>8.4f} {}  {}{}\n", i + 1, d.cost.total, d.design.brief.build.currency,
        d.design.wiring.title,
        c ? fmt::format("; tightest: {} {} {}", c->id, c->subject, format_percent(c->margin, 2))
          : "");
  }
  if (!r.impossible_key.empty()) out += r.impossible_key + ": " + r.impossible_why + "\n";
  if (r.designs.empty()) {
    out +=
        chip_wins(r) ? "No driver of single parts that passes was found.\n" : "No design passes.\n";
    for (const NearMiss& m : r.near_misses)
      out += fmt::format("  {}: {} {} is {} {}, limit {}\n", m.template_title, m.check_id,
                         m.subject, significant(m.value, 3), m.unit, significant(m.limit, 3));
  }
  if (!r.claim.empty()) out += r.claim + "\n";
  out += chips_for_people(r);
  if (!chip_wins(r)) return out;
  const ChipOffer& chip = r.chips.front();
  return fmt::format("Buy the chip: {} ({}) lands at {:.4f} a board.\n", chip.number, chip.kind,
                     chip.landed_cost) +
         out;
}

/// A quantity from which on; nothing where there is none.
std::string from_boards(double quantity) {
  return given(quantity) ? "from " + significant(quantity, 9) + " boards on" : "never";
}

std::string for_people(const CostStudy& study) {
  constexpr std::size_t kInputs = 3;
  std::string out;
  if (const PairTrial* pair = cheapest_saving(study.pairs))
    out += fmt::format(
        "Cheaper than single parts, and proven: with {}, two transistors in one "
        "package, {:.4f} a board\n",
        pair->pair.number, pair->landed_cost);
  if (const Trial* value = cheapest_saving(study.values))
    out += fmt::format("Cheaper by a reel, and proven: {} for {}, {:.4f} a board\n",
                       format_quantity(value->ohm, dim::resistance),
                       replace_all(join(value->roles, " and "), "_", " "), value->landed_cost);
  for (const BreakEven& b : study.ladder.break_even)
    out += fmt::format("Cheaper than {}: {}; without one-off work {}\n", b.against,
                       from_boards(b.with_one_off), from_boards(b.without_one_off));
  std::vector<std::string> inputs;
  for (const TornadoBar& b : study.tornado)
    if (inputs.size() < kInputs)
      inputs.push_back(fmt::format("{} ({:.4f} to {:.4f})", b.input,
                                   std::min(b.cost_low, b.cost_high),
                                   std::max(b.cost_low, b.cost_high)));
  if (!inputs.empty()) out += "The cost hangs most on " + join(inputs, ", ") + "\n";
  for (const Save& s : study.saves)
    if (s.found)
      out += fmt::format("{} would pass cheaper with: {}{}\n", s.template_title, s.change.text,
                         s.proven ? "" : " (by a trial)");
  return out;
}

std::string for_people(const SearchProgress& p, const std::string& currency) {
  std::string out = fmt::format("everything below {:.4f} {} is judged, {} circuits one by one",
                                p.floor, currency, p.judged);
  if (p.undecided > 0) out += fmt::format(", {} of them left undecided", p.undecided);
  return out + (given(p.cheapest)
                    ? fmt::format("; cheapest that passes: {:.4f} {}", p.cheapest, currency)
                    : "; none passes yet");
}

int status_of(const SearchResult& r) {
  if (!r.designs.empty() || chip_wins(r)) return kPasses;  // "buy the chip" is an answer
  return r.undecided.empty() ? kDoesNotPass : kUndecided;
}

/// Everything the folder gets; the answer learns where.
Answer write_output(Answer answer, const SearchArguments& options, const Inputs& in,
                    const SearchResult& result, const CostStudy& study, const TorqueSpeed* torque) {
  OutputFiles files;
  const std::map<const Design*, std::string> names = files_of(result, study);
  for (const auto& [design, name] : names) files.emplace_back(name, to_text(*design));
  const auto point_to = [&](const char* list, std::size_t i, const Design* design) {
    if (const auto name = names.find(design); name != names.end())
      (*answer.json)[list][i]["design_file"] =
          (std::filesystem::path(options.out) / name->second).string();
  };
  for (std::size_t i = 0; i < result.designs.size(); ++i)
    point_to("designs", i, &result.designs[i].design);
  for (std::size_t i = 0; i < result.chips.size(); ++i)
    point_to("chips", i, &result.chips[i].design);
  for (std::size_t i = 0; i < study.pareto.size(); ++i)
    point_to("pareto", i, study.pareto[i].design);
  if (!result.designs.empty())
    files.emplace_back("bom.csv", delivery::bom_csv(result.designs.front().design));
  files.emplace_back("report.html",
                     delivery::report_html(delivery::ReportInput{.result = result,
                                                                 .brief = in.brief.brief,
                                                                 .assumed = in.brief.assumed,
                                                                 .version = PB_VERSION,
                                                                 .input_sha256 = in.sha256,
                                                                 .study = &study,
                                                                 .torque = torque}));
  files.emplace_back("design.json", whole_object(answer));
  answer.text += "Written to " + options.out + ": report.html and what it speaks of\n";
  return write_folder(std::move(answer), options.out, files);
}

using Clock = std::chrono::steady_clock;

/// Whether so much time has gone by since then.
std::function<bool()> after(Clock::time_point since, std::chrono::seconds time) {
  return [since, time] { return Clock::now() - since > time; };
}

Effort effort_from(Clock::time_point began, const Session& session) {
  const auto now = Clock::now();
  const auto until = [&](std::chrono::milliseconds usual) {
    const Clock::time_point end = std::max(began + usual, now + (now - began - kAnswer) / kShare);
    return [end] { return Clock::now() > end; };
  };
  return {session.parallel, session.stop, until(kTrials), until(kProofs)};
}

/// A ramp where the brief gives none and needs one: from here on an assumed value as any other.
/// Returns what a person is told.
std::string choose_ramp_for(ReadBrief& in) {
  const auto ramp = choose_ramp(in.brief);
  if (!ramp) return "";
  MotionBrief& m = in.brief.motion;
  m.start_rate_steps_s = ramp->start_rate_steps_s, m.ramp_steps_s2 = ramp->ramp_steps_s2;
  in.assumed.push_back(
      {"motion.start_rate", shortest(m.start_rate_steps_s), si_unit(dim::step_rate)});
  in.assumed.push_back({"motion.ramp", shortest(m.ramp_steps_s2), si_unit(dim::step_acceleration)});
  return fmt::format(
      "The motor does not start at {} steps/s with the margin asked, so a ramp was chosen: from {} "
      "steps/s with {} steps/s2\n",
      significant(m.rate_steps_s, 4), significant(m.start_rate_steps_s, 4),
      significant(m.ramp_steps_s2, 4));
}

Answer design(const SearchArguments& options, Session& session) {
  auto in = read_inputs(options);
  if (!in) return std::move(in.error());
  if (auto refused = refuse_place(options.out)) return std::move(*refused);
  const std::string chosen = choose_ramp_for(in->brief);
  SearchOptions search_options;
  search_options.top = options.top > 0 ? options.top : kUsual;
  search_options.parallel = session.parallel;
  search_options.stop = session.stop;
  const auto began = Clock::now();
  search_options.out_of_time = after(began, std::chrono::seconds(options.patience_s));
  if (options.top == 0) search_options.enough = after(began, kEnough);
  search_options.fall_back = after(began, kFallBack);
  search_options.progress = [&](const SearchProgress& p) {
    session.progress(for_people(p, in->brief.brief.build.currency));
  };
  const SearchResult result =
      search(in->brief.brief, in->brief.assumed, in->templates, in->parts, search_options);
  if (session.stop.stop_requested()) return {};
  session.progress("prices at other quantities; what would save the near misses");
  const CostStudy study = cost_study(result, in->parts, session.parallel, session.stop,
                                     [&] { return effort_from(began, session); });
  if (session.stop.stop_requested()) return {};
  DesignInput head;
  head.design.assumed = in->brief.assumed;
  head.sha256 = in->sha256;
  Answer answer;
  answer.status = status_of(result);
  answer.json->update(answer_head(head));
  (*answer.json)["brief_sha256"] = in->brief_sha256;
  answer.json->update(to_json(result, in->brief.brief.build.currency));
  add_study(*answer.json, result, study);
  answer.text = chosen + for_people(result) + for_people(study);
  std::optional<TorqueSpeed> curve;
  if (options.torque_curve && !result.designs.empty()) {
    const Ranked& best = result.designs.front();
    curve = add_torque_curve(answer, best.design, best.proof.dead_time_s, session);
    if (!curve) return {};
  }
  return options.out.empty() ? std::move(answer)
                             : write_output(std::move(answer), options, *in, result, study,
                                            curve ? &*curve : nullptr);
}

}  // namespace

Run add_design(Command& command) {
  const auto options = std::make_shared<SearchArguments>();
  command.option("brief", options->brief, "brief.toml").required();
  command
      .option("--parts", options->parts,
              "catalogue, may be repeated; else your store and the starter catalogue")
      .type("FILE")
      .one_a_time();
  command.option("--store", options->store, "the store of parts, else the user's own").type("FILE");
  command.option("--out", options->out, "folder for designs, bill of materials, report")
      .type("DIR");
  command.flag("--torque-curve", options->torque_curve, kTorqueCurveHelp);
  command
      .option("--top", options->top,
              "how many designs to rank; else up to 5, and none is waited for")
      .type("N")
      .from_to(1, 100);
  command
      .option("--patience", options->patience_s,
              "after so many seconds what is left is reported as undecided")
      .type("SECONDS")
      .from_to(1, kMostPatience_s)
      .shows_default();
  return [options](Session& session) { return design(*options, session); };
}

}  // namespace pb::app
