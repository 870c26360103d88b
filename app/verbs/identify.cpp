// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// identify: what a motor is, from a capture of the bench; into its brief if asked.
#include "judgement/identify.h"

#include <fmt/core.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "app/capture_input.h"
#include "app/verbs/verbs.h"
#include "base/decimal.h"
#include "base/quantity.h"
#include "base/text.h"
#include "delivery/plot.h"
#include "files/json_verdict.h"
#include "files/load.h"
#include "files/toml_brief.h"
#include "files/toml_edit.h"

namespace pb::app {
namespace {

using Json = nlohmann::ordered_json;

struct Options {
  CaptureArguments capture;
  std::string voltage, brief, out;
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

Checked<std::string> updated(const std::string& file, std::string text, const Identified& found) {
  for (const Parameter& p : found.parameters) {
    auto edited = edit_toml(file, text, "motor." + p.name, for_brief(p));
    if (!edited) return edited;
    text = std::move(*edited);
  }
  const auto brief = read_brief(file, text);  // a figure may be out of any brief's range
  if (!brief) return std::unexpected(brief.error());
  return text;
}

std::string residual_plot(const Identified& found) {
  delivery::LinePlot plot;
  plot.title = "Residuals of the fit";
  plot.x_name = "time", plot.x_unit = "s";
  plot.y_name = found.y_name, plot.y_unit = found.y_unit;
  plot.x = found.t_s;
  std::vector<double> residual;
  residual.reserve(found.t_s.size());
  for (std::size_t k = 0; k < found.t_s.size(); ++k)
    residual.push_back(found.measured[k] - found.fitted[k]);
  plot.traces = {{"measured less fitted", std::move(residual)}};
  return delivery::line_plot_svg(plot);
}

std::string fit_plot(const Identified& found) {
  delivery::LinePlot plot;
  plot.title = "Capture and fit";
  plot.x_name = "time", plot.x_unit = "s";
  plot.y_name = found.y_name, plot.y_unit = found.y_unit;
  plot.x = found.t_s;
  plot.traces = {{"measured", found.measured}, {"fitted", found.fitted}};
  return delivery::line_plot_svg(plot);
}

Answer answer_of(const Capture& capture, const Identified& found) {
  Answer answer;
  Json parameters = Json::object();
  for (const Parameter& p : found.parameters) {
    parameters[p.name] = {{"value", json_number(p.value)},
                          {"low", json_number(p.low)},
                          {"high", json_number(p.high)},
                          {"unit", p.unit}};
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

Answer identify_verb(const Options& options) {
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
  const auto found = identify(*capture, asked);
  if (!found) return refuse(found.error());
  if (!found->undecided.empty()) {
    Answer undecided =
        refuse({{.file = capture->file, .message = "undecided: " + found->undecided}}, kUndecided);
    (*undecided.json)["undecided"] = Json::array({found->undecided});
    return undecided;
  }
  Answer answer = answer_of(*capture, *found);
  if (!options.brief.empty()) {
    const auto text = updated(options.brief, brief->text, *found);
    if (!text) return refuse(text.error());
    if (const auto written = write_file(options.brief, *text); !written)
      return refuse(written.error());
    answer.text += "Written to  " + options.brief + "\n";
    (*answer.json)["brief"] = options.brief;
  }
  if (options.out.empty()) return answer;
  answer.text += "Plots       " + options.out + "\n";
  const std::string json = whole_object(answer);
  return write_folder(std::move(answer), options.out,
                      {{"residual.svg", residual_plot(*found)},
                       {"fit.svg", fit_plot(*found)},
                       {"identified.json", json}});
}

}  // namespace

Run add_identify(CLI::App& command) {
  const auto options = std::make_shared<Options>();
  add_capture_arguments(command, options->capture);
  command.add_option("--voltage", options->voltage, "of the step, where no column shows it")
      ->type_name("QTY");
  command
      .add_option("--steps-per-turn", options->steps_per_turn,
                  "of a motor that is spun; the brief's if one is given")
      ->type_name("N")
      ->check(CLI::Range(4.0, 10000.0));
  command.add_option("--brief", options->brief, "brief to write the figures into")
      ->type_name("FILE");
  command.add_option("--out", options->out, "folder for residual.svg, fit.svg, identified.json")
      ->type_name("DIR");
  return [options](Session&) { return identify_verb(*options); };
}

}  // namespace pb::app
