// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "app/capture_input.h"

#include <nlohmann/json.hpp>

#include "files/capture.h"
#include "files/json_verdict.h"

namespace pb::app {

void add_capture_arguments(Command& command, CaptureArguments& arguments) {
  command.option("capture", arguments.file, "CSV of an oscilloscope or logging supply").required();
  command
      .option("--column", arguments.columns,
              "which column of the file is which of ours: supply_A=CH2, winding_a_A=CH1*10, "
              "time=3")
      .type("OURS=THEIRS")
      .one_a_time();
  command
      .option("--time-unit", arguments.time_unit,
              "of the time column, where the file does not say or is wrong")
      .one_of({"s", "ms", "us", "ns"});
}

Checked<Capture> read_capture_input(const CaptureArguments& arguments) {
  CaptureOptions options;
  options.time_unit = arguments.time_unit;
  Problems problems;
  for (const std::string& text : arguments.columns) {
    auto column = read_capture_column(text);
    if (column)
      options.columns.push_back(std::move(*column));
    else
      append(problems, std::move(column.error()));
  }
  if (!problems.empty()) return std::unexpected(std::move(problems));
  return load_capture(arguments.file, options);
}

Json capture_json(const Capture& capture) {
  auto channels = Json::array();
  for (const CaptureChannel& c : capture.channels)
    channels.push_back({{"name", c.name}, {"unit", c.unit}});
  return {{"rows", capture.t_s.size()},
          {"from_s", json_number(capture.t_s.front())},
          {"to_s", json_number(capture.t_s.back())},
          {"time_unit", capture.time_unit},
          {"channels", std::move(channels)},
          {"notes", capture.notes}};
}

std::string capture_notes(const std::vector<std::string>& notes) {
  std::string out;
  for (const std::string& note : notes) out += "Note        " + note + "\n";
  return out;
}

}  // namespace pb::app
