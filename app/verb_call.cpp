// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "app/verb_call.h"

#include <CLI/CLI.hpp>
#include <algorithm>
#include <nlohmann/json.hpp>

namespace pb::app {
namespace {

Answer interrupted() {
  Answer answer;
  answer.status = kInterrupted;
  (*answer.json)["interrupted"] = true;
  return answer;
}

}  // namespace

Checked<Run> prepare(std::string_view name, const std::vector<std::string>& arguments) {
  for (const Verb& verb : verbs()) {
    if (verb.name != name) continue;
    CLI::App app;
    Command command(app);
    Run run = verb.add(command);
    std::vector<std::string> reversed(arguments.rbegin(), arguments.rend());
    try {
      app.parse(reversed);  // takes them from the end
    } catch (const CLI::Error& error) {
      return std::unexpected(Problems{{.message = error.what()}});
    }
    return run;
  }
  return std::unexpected(Problems{{.message = "no such verb: " + std::string(name)}});
}

Answer broken(const std::string& what) {
  return refuse({{.message = "a fault of this program: " + what}}, kUndecided);
}

Answer run_safely(const Run& run, Session& session) {
  try {
    Answer answer = run(session);
    return session.stop.stop_requested() ? interrupted() : std::move(answer);
  } catch (const std::bad_alloc&) {
    return refuse({{.message = "out of memory"}}, kUndecided);
  } catch (const std::exception& error) {
    return broken(error.what());
  }
}

}  // namespace pb::app
