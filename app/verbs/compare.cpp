// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// compare: a capture of the bench against what the design should do.
#include "judgement/compare.h"

#include <fmt/core.h>

#include <nlohmann/json.hpp>

#include "app/capture_input.h"
#include "app/inputs.h"
#include "app/verbs/verbs.h"
#include "base/quantity.h"
#include "base/text.h"
#include "delivery/plot.h"
#include "delivery/values.h"
#include "files/csv.h"
#include "files/json_verdict.h"

namespace pb::app {
namespace {

struct CompareArguments {
  DesignArguments design;
  CaptureArguments capture;
  int units = 32;
  std::uint64_t seed = 1;
  std::string out;
};

constexpr int kMostUnits = 1000;

Json comparison_json(const Comparison& c) {
  Json deviations = Json::array(), causes = Json::array();
  for (const Deviation& d : c.deviations)
    deviations.push_back({{"channel", d.channel},
                          {"unit", d.unit},
                          {"from_s", json_number(d.from_s)},
                          {"to_s", json_number(d.to_s)},
                          {"at_s", json_number(d.at_s)},
                          {"value", json_number(d.value)},
                          {"low", json_number(d.low)},
                          {"high", json_number(d.high)},
                          {"expected", json_number(d.expected)}});
  for (const Cause& k : c.causes)
    causes.push_back({{"key", k.key},
                      {"unit", k.unit},
                      {"nominal", json_number(k.nominal)},
                      {"fitted", json_number(k.fitted)},
                      {"explains", json_number(k.explains)}});
  return {{"aligned_s", json_number(c.aligned_s)},
          {"likeness", json_number(c.likeness)},
          {"inside_band", c.inside_band},
          {"outside", json_number(c.outside)},
          {"deviations", std::move(deviations)},
          {"causes", std::move(causes)},
          {"notes", c.notes}};
}

std::string for_people(const Comparison& c) {
  std::string out = fmt::format(
      "Lined up    the capture's time plus {} is the design's; likeness {}\nBand        {} of the "
      "readings lie outside: the capture is {} the band\n",
      format_quantity(c.aligned_s, dim::time, 4), significant(c.likeness, 3),
      format_percent(c.outside, 2), c.inside_band ? "inside" : "NOT inside");
  constexpr std::size_t kShown = 5;
  for (std::size_t k = 0; k < c.deviations.size() && k < kShown; ++k) {
    const Deviation& d = c.deviations[k];
    out += fmt::format("Deviation   {} {} at {}, band {} to {}\n", d.channel,
                       delivery::with_unit(d.value, d.unit), format_quantity(d.at_s, dim::time, 4),
                       delivery::with_unit(d.low, d.unit), delivery::with_unit(d.high, d.unit));
  }
  for (std::size_t k = 0; k < c.causes.size() && k < kShown; ++k) {
    const Cause& cause = c.causes[k];
    if (cause.explains <= 0) break;
    out += fmt::format("Cause       {} explains {}", cause.key, format_percent(cause.explains, 3));
    if (cause.unit != "1")
      out += fmt::format(": {} instead of {}", delivery::with_unit(cause.fitted, cause.unit),
                         delivery::with_unit(cause.nominal, cause.unit));
    out += "\n";
  }
  return out;
}

std::string overlay_svg(const Overlay& o) {
  delivery::LinePlot plot;
  plot.title = o.channel;
  plot.x_name = "time", plot.x_unit = "s";
  plot.y_name = o.channel, plot.y_unit = o.unit;
  plot.x = o.t_s;
  plot.traces = {
      {"measured", o.measured}, {"expected", o.expected}, {"low", o.low}, {"high", o.high}};
  return delivery::line_plot_svg(plot);
}

std::string overlay_csv(const Overlay& o) {
  CsvWriter csv;
  csv.text("t_s");
  for (const char* name : {"measured", "expected", "low", "high"})
    csv.text(std::string(name) + "_" + o.unit);
  csv.end_row();
  for (std::size_t k = 0; k < o.t_s.size(); ++k) {
    for (double x : {o.t_s[k], o.measured[k], o.expected[k], o.low[k], o.high[k]}) csv.number(x);
    csv.end_row();
  }
  return csv.str();
}

Answer write_output(Answer answer, const std::string& out, const Comparison& c) {
  answer.text += "Overlays    " + out + "\n";
  OutputFiles files = {{"compare.json", whole_object(answer)}};
  for (const Overlay& o : c.overlays) {
    files.emplace_back(o.channel + ".svg", overlay_svg(o));
    files.emplace_back(o.channel + ".csv", overlay_csv(o));
  }
  return write_folder(std::move(answer), out, files);
}

Answer compare_verb(const CompareArguments& options, Session& session) {
  const auto input = read_design_input(options.design);
  if (!input) return refuse(input.error());
  if (auto refused = refuse_place(options.out)) return std::move(*refused);
  const auto capture = read_capture_input(options.capture);
  if (!capture) return refuse(capture.error());
  CompareOptions asked;
  asked.units = options.units, asked.seed = options.seed;
  Comparison found;
  Answer answer = answer_compare(*input, *capture, asked, session, found);
  return options.out.empty() || found.overlays.empty()
             ? std::move(answer)
             : write_output(std::move(answer), options.out, found);
}

}  // namespace

Answer answer_compare(const DesignInput& input, const Capture& capture, CompareOptions options,
                      Session& session, Comparison& found) {
  options.parallel = session.parallel, options.stop = session.stop;
  options.progress = [&session](double share) {
    session.progress(format_percent(share, 2));
    session.share(share);
  };
  auto made = compare(input.design, capture, options);
  if (!made) return refuse(made.error());
  if (made->cancelled || session.stop.stop_requested()) return {};
  if (!made->undecided.empty()) {
    Answer undecided = refuse({{.message = "undecided: " + made->undecided}}, kUndecided);
    (*undecided.json)["undecided"] = Json::array({made->undecided});
    return undecided;
  }
  found = std::move(*made);
  Answer answer;
  answer.status = found.inside_band ? kPasses : kDoesNotPass;
  answer.json->update(answer_head(input));
  answer.json->update(comparison_json(found));
  (*answer.json)["capture"] = capture_json(capture);
  (*answer.json)["band"] = {{"units", options.units}, {"seed", options.seed}};
  std::vector<std::string> notes = capture.notes;
  notes.insert(notes.end(), found.notes.begin(), found.notes.end());
  answer.text = for_people(found) + capture_notes(notes);
  return answer;
}

Run add_compare(Command& command) {
  const auto options = std::make_shared<CompareArguments>();
  add_design_arguments(command, options->design);
  add_capture_arguments(command, options->capture);
  command.option("--units", options->units, "virtual units that make the band")
      .from_to(8, kMostUnits)
      .shows_default();
  command.option("--seed", options->seed, "the same seed draws the same units").shows_default();
  command.option("--out", options->out, "folder for compare.json and an overlay of each channel")
      .type("DIR");
  return [options](Session& session) { return compare_verb(*options, session); };
}

}  // namespace pb::app
