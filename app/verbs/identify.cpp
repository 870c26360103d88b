// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// identify: what a motor is, from a capture of the bench; into its brief if asked.
#include "judgement/identify.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <nlohmann/json.hpp>

#include "app/capture_input.h"
#include "app/design_json.h"
#include "app/inputs.h"
#include "app/verbs/verbs.h"
#include "base/decimal.h"
#include "base/hash.h"
#include "base/quantity.h"
#include "base/text.h"
#include "delivery/plot.h"
#include "files/json_verdict.h"
#include "files/load.h"
#include "files/toml_brief.h"
#include "files/toml_design.h"
#include "files/toml_edit.h"
#include "judgement/checks.h"
#include "judgement/proof.h"

namespace pb::app {
namespace {

struct IdentifyArguments {
  CaptureArguments capture;
  std::string voltage, brief, out;
  std::vector<std::string> designs;
  double steps_per_turn = kNotGiven;
};

void read_option(const std::string& text, const char* option, Dim dim, double& value,
                 Problems& problems) {
  if (text.empty()) return;
  const auto read = parse_quantity(text, dim);
  if (read && *read > 0) {
    value = *read;
    return;
  }
  Problem p = read ? Problem{.expected = "more than 0", .found = pb::quoted(text)}
                   : to_problem(read.error());
  p.key = option;
  problems.push_back(std::move(p));
}

/// The brief to be changed, and what the fit needs of it.
struct BriefText {
  std::string text;
  double steps_per_turn = kNotGiven;
};

Checked<BriefText> read_brief_text(const std::string& file) {
  if (file.empty()) return BriefText{};
  const auto text = load_text(file);
  if (!text) return std::unexpected(text.error());
  const auto brief = read_brief(file, *text);
  if (!brief) return std::unexpected(brief.error());
  return BriefText{*text, brief->brief.motor.steps_per_turn};
}

/// As many digits as the interval leaves meaning, and one more.
std::string for_brief(const Parameter& p) {
  const double half = 0.5 * (p.high - p.low);
  int digits = 6;
  if (half > 0) {
    constexpr int kMost = 9;
    digits =
        std::clamp(static_cast<int>(std::ceil(std::log10(std::abs(p.value) / half))) + 1, 2, kMost);
  }
  return to_exact_text(*to_number(significant(p.value, digits)), p.dim);
}

/// `section` is where the file has the motor: "motor." in a brief, "brief.motor." in a design.
Checked<std::string> updated(const std::string& file, std::string text, const std::string& section,
                             const Identified& found) {
  for (const Parameter& p : found.parameters) {
    auto edited = edit_toml(file, text, section + p.name, for_brief(p));
    if (!edited) return edited;
    text = std::move(*edited);
  }
  return text;
}

/// A figure may be out of any brief's range.
Checked<std::string> updated_brief(const std::string& file, const std::string& before,
                                   const Identified& found) {
  auto text = updated(file, before, "motor.", found);
  if (!text) return text;
  const auto brief = read_brief(file, *text);
  if (!brief) return std::unexpected(brief.error());
  return text;
}

/// A design with the figures found, and its file's new text.
struct UpdatedDesign {
  std::string file, text;
  DesignInput input;
};
Checked<UpdatedDesign> updated_design(const std::string& file, const Identified& found) {
  const auto before = load_text(file);
  if (!before) return std::unexpected(before.error());
  auto text = updated(file, *before, "brief.motor.", found);
  if (!text) return std::unexpected(text.error());
  auto design = read_design(file, *text, data_folder("templates"));
  if (!design) return std::unexpected(design.error());
  std::string sha256 = sha256_hex(*text);
  return UpdatedDesign{file, std::move(*text), {std::move(*design), std::move(sha256)}};
}

/// Those named; else those that lie beside the brief, as `design --out` names them.
std::vector<std::string> designs_to_prove(const IdentifyArguments& options) {
  if (!options.designs.empty() || options.brief.empty()) return options.designs;
  std::vector<std::string> out;
  std::error_code ignored;
  const auto folder = std::filesystem::path(options.brief).parent_path();
  for (const auto& entry : std::filesystem::directory_iterator(
           folder.empty() ? std::filesystem::path(".") : folder, ignored)) {
    const std::string name = entry.path().filename().string();
    if (name.starts_with("design") && name.ends_with(".toml")) out.push_back(entry.path().string());
  }
  std::sort(out.begin(), out.end());
  return out;
}

/// Proves each design again with what was found; the answer takes the worst status.
void prove_again(const std::vector<UpdatedDesign>& designs, Session& session, Answer& answer) {
  Json list = Json::array();
  for (const UpdatedDesign& d : designs) {
    Proof proof;
    const Answer verdict = judge(d.input, session, proof);
    if (session.stop.stop_requested()) return;
    Json entry{{"design", d.file}, {"passes", verdict.status == kPasses}};
    std::string margin;
    if (const Check* c = tightest(proof.verdict)) {
      entry["tightest_margin"] = tightest_json(proof.verdict);
      margin = fmt::format(", {} {} {}", format_percent(c->margin, 3), c->id, c->subject);
    }
    const char* says = verdict.status == kPasses        ? "passes"
                       : verdict.status == kDoesNotPass ? "does NOT pass"
                                                        : "undecided";
    answer.text += fmt::format("Proved      {}: {}{}\n", d.file, says, margin);
    list.push_back(std::move(entry));
    answer.status = std::max(answer.status, verdict.status);
  }
  if (designs.empty())
    answer.text += "No design beside the brief, none named with --design: nothing proved again.\n";
  (*answer.json)["proved"] = std::move(list);
}

/// Of what was fitted, over the times where the fit looked.
std::string plot_of(const Identified& found, const std::string& title,
                    std::vector<delivery::Trace> traces) {
  delivery::LinePlot plot;
  plot.title = title;
  plot.x_name = "time", plot.x_unit = "s";
  plot.y_name = found.y_name, plot.y_unit = found.y_unit;
  plot.x = found.t_s;
  plot.traces = std::move(traces);
  return delivery::line_plot_svg(plot);
}

std::string residual_plot(const Identified& found) {
  std::vector<double> residual(found.measured);
  for (std::size_t k = 0; k < residual.size(); ++k) residual[k] -= found.fitted[k];
  return plot_of(found, "Residuals of the fit", {{"measured less fitted", std::move(residual)}});
}

std::string fit_plot(const Identified& found) {
  return plot_of(found, "Capture and fit",
                 {{"measured", found.measured}, {"fitted", found.fitted}});
}

Answer answer_of(const Capture& capture, const Identified& found) {
  Answer answer;
  Json parameters = Json::object();
  for (const Parameter& p : found.parameters) {
    parameters[p.name] = {{"value", json_number(p.value)},
                          {"low", json_number(p.low)},
                          {"high", json_number(p.high)},
                          {"unit", p.unit},
                          {"text", for_brief(p)}};
    answer.text +=
        fmt::format("{:20} {} ({} to {} with {} confidence)\n", p.name,
                    format_quantity(p.value, p.dim, 4), format_quantity(p.low, p.dim, 4),
                    format_quantity(p.high, p.dim, 4), format_percent(found.confidence, 3));
  }
  std::vector<std::string> notes = capture.notes;
  notes.insert(notes.end(), found.notes.begin(), found.notes.end());
  answer.text += capture_notes(notes);
  *answer.json = {{"kind", found.kind},
                  {"parameters", std::move(parameters)},
                  {"confidence", found.confidence},
                  {"residual", {{"deviation", json_number(found.noise)}, {"unit", found.y_unit}}},
                  {"capture", capture_json(capture)},
                  {"notes", found.notes}};
  return answer;
}

/// Everything is read and changed before anything is written.
std::optional<Answer> update_and_prove(const IdentifyArguments& options, const BriefText& brief,
                                       const Identified& found, Session& session, Answer& answer) {
  OutputFiles files;
  Problems problems;
  if (!options.brief.empty()) {
    auto text = updated_brief(options.brief, brief.text, found);
    if (text)
      files.emplace_back(options.brief, std::move(*text));
    else
      append(problems, text.error());
  }
  std::vector<UpdatedDesign> designs;
  for (const std::string& file : designs_to_prove(options)) {
    auto design = updated_design(file, found);
    if (design) {
      files.emplace_back(file, design->text);
      designs.push_back(std::move(*design));
    } else {
      append(problems, design.error());
    }
  }
  if (!problems.empty()) return refuse(std::move(problems));
  for (const auto& [file, text] : files) {
    if (const auto written = write_file(file, text); !written) return refuse(written.error());
    answer.text += "Written to  " + file + "\n";
  }
  if (!options.brief.empty()) (*answer.json)["brief"] = options.brief;
  if (!options.brief.empty() || !options.designs.empty()) prove_again(designs, session, answer);
  return std::nullopt;
}

/// What the capture tells; `found` is filled if the answer passes.
Answer fitted(const Capture& capture, const IdentifyOptions& options, Identified& found) {
  auto made = identify(capture, options);
  if (!made) return refuse(made.error());
  if (!made->undecided.empty()) {
    Answer undecided =
        refuse({{.file = capture.file, .message = "undecided: " + made->undecided}}, kUndecided);
    (*undecided.json)["undecided"] = Json::array({made->undecided});
    return undecided;
  }
  found = std::move(*made);
  return answer_of(capture, found);
}

Answer identify_verb(const IdentifyArguments& options, Session& session) {
  IdentifyOptions asked;
  Problems problems;
  read_option(options.voltage, "--voltage", dim::voltage, asked.voltage_V, problems);
  asked.steps_per_turn = options.steps_per_turn;
  const auto brief = read_brief_text(options.brief);
  if (!brief) append(problems, brief.error());
  if (!problems.empty()) return refuse(std::move(problems));
  if (!given(asked.steps_per_turn)) asked.steps_per_turn = brief->steps_per_turn;
  if (auto refused = refuse_place(options.out)) return std::move(*refused);
  const auto capture = read_capture_input(options.capture);
  if (!capture) return refuse(capture.error());
  Identified found;
  Answer answer = fitted(*capture, asked, found);
  if (answer.status != kPasses) return answer;
  if (auto refused = update_and_prove(options, *brief, found, session, answer))
    return std::move(*refused);
  if (options.out.empty()) return answer;
  answer.text += "Plots       " + options.out + "\n";
  const std::string json = whole_object(answer);
  return write_folder(std::move(answer), options.out,
                      {{"residual.svg", residual_plot(found)},
                       {"fit.svg", fit_plot(found)},
                       {"identified.json", json}});
}

}  // namespace

Answer answer_identify(const Capture& capture, IdentifyOptions options,
                       const std::string& brief_file, Identified& found) {
  const auto brief = read_brief_text(brief_file);
  if (!brief) return refuse(brief.error());
  if (!given(options.steps_per_turn)) options.steps_per_turn = brief->steps_per_turn;
  Answer answer = fitted(capture, options, found);
  if (answer.status != kPasses || brief_file.empty()) return answer;
  const auto text = updated_brief(brief_file, brief->text, found);
  if (!text) return refuse(text.error());
  if (const auto written = write_file(brief_file, *text); !written) return refuse(written.error());
  (*answer.json)["brief"] = brief_file;
  return answer;
}

Run add_identify(Command& command) {
  const auto options = std::make_shared<IdentifyArguments>();
  add_capture_arguments(command, options->capture);
  command.option("--voltage", options->voltage, "of the step, where no column shows it")
      .type("QTY");
  command
      .option("--steps-per-turn", options->steps_per_turn,
              "of a motor that is spun; the brief's if one is given")
      .type("N")
      .from_to(4.0, 10000.0);
  command.option("--brief", options->brief, "brief to write the figures into").type("FILE");
  command
      .option("--design", options->designs,
              "design to put the figures into and to prove again, may be repeated; else "
              "design*.toml beside the brief")
      .type("FILE")
      .one_a_time();
  command.option("--out", options->out, "folder for residual.svg, fit.svg, identified.json")
      .type("DIR");
  return [options](Session& session) { return identify_verb(*options, session); };
}

}  // namespace pb::app
