// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A verb: what the command line, and later the desk, can ask for. A new verb is one file in
// app/verbs and one row of the table in verbs.cpp. Tested by tests/cli.
#pragma once

#include <functional>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "app/command.h"
#include "app/json.h"
#include "base/parallel.h"
#include "base/problem.h"
#include "base/stop.h"
#include "files/atomic.h"

namespace pb::app {

/// Exit statuses of the contract with users' scripts.
enum Status {
  kPasses = 0,
  kDoesNotPass = 1,  // proven not to pass, nothing found, impossible
  kBadInput = 2,     // input, usage, an output place that is not ours
  kUndecided = 3,    // no convergence, disk, port, a fault of ours
  kInterrupted = 130
};

/// What a verb runs in.
struct Session {
  StopToken stop;
  ParallelFor parallel = serial();
  bool json = false;
  std::function<void(const std::string&)> progress = [](const std::string&) {};
  /// 0 to 1, from verbs that know how much is done.
  std::function<void(double)> share = [](double) {};
};

/// What a verb answers. Movable only, since JSON is known by name alone here.
struct Answer {
  Answer();
  Answer(Answer&&) noexcept;
  Answer& operator=(Answer&&) noexcept;
  ~Answer();

  int status = kPasses;
  std::string text;            // for people, to standard output; not shown with --json
  Problems problems;           // to standard error, and into the JSON
  std::unique_ptr<Json> json;  // an object; format and version are added
};

Answer refuse(Problems problems, int status = kBadInput);
Answer refuse(const WriteFault& fault);

Json to_json(const Problems& problems);

/// The answer as the one JSON object of --json.
std::string whole_object(const Answer& answer);

/// A place that is not ours to write is known before the work is done.
std::optional<Answer> refuse_place(const std::string& out);
/// Name and text of each.
using OutputFiles = std::vector<std::pair<std::string, std::string>>;
/// The answer, once the folder is written; else why it cannot be.
Answer write_folder(Answer answer, const std::string& out, const OutputFiles& files);

using Run = std::function<Answer(Session&)>;

struct Verb {
  std::string_view name, doc, example;
  bool hidden;
  /// Adds options to the command; what it returns is called if the command is chosen.
  Run (*add)(Command& command);
};

std::span<const Verb> verbs();

}  // namespace pb::app
