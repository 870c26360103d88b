// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "app/cli.h"

#include <fmt/core.h>
#include <unistd.h>

#include <CLI/CLI.hpp>
#include <cstdio>
#include <nlohmann/json.hpp>
#include <vector>

#include "app/verb.h"
#include "app/verb_call.h"
#include "base/text.h"

namespace pb::app {
namespace {

constexpr const char* kAbout =
    "Designs and proves low-cost transistor drivers for bipolar stepper motors.";

struct Choice {
  const Verb* verb;
  CLI::App* app;
  Run run;
};

/// False if standard output does not take it: a full disk, a closed pipe.
bool print(const std::string& text) {
  return std::fwrite(text.data(), 1, text.size(), stdout) == text.size() &&
         std::fflush(stdout) == 0;
}

int finish(const Answer& answer, bool json) {
  std::fputs(to_lines(answer.problems).c_str(), stderr);
  std::string out = answer.text;
  if (json) out = whole_object(answer);
  if (print(out)) return answer.status;
  std::fputs("standard output: cannot be written\n", stderr);
  return kUndecided;
}

std::vector<Choice> add_commands(CLI::App& app, bool& json) {
  std::vector<Choice> commands;
  for (const Verb& verb : verbs()) {
    CLI::App* sub = app.add_subcommand(std::string(verb.name), std::string(verb.doc));
    sub->footer("Example:\n  pennybridge " + std::string(verb.example));
    sub->add_flag("--json", json, "one JSON object on standard output, SI units");
    if (verb.hidden) sub->group("");
    Command command(*sub);
    commands.push_back({&verb, sub, verb.add(command)});
    for (CLI::App* inner : sub->get_subcommands({}))
      inner->add_flag("--json", json, "one JSON object on standard output, SI units");
  }
  return commands;
}

/// The first word that stands where a verb, or a part of one, should and is none.
Problems unknown_word(CLI::App& app, int argc, const char* const* argv) {
  CLI::App* level = &app;
  for (int at = 1; at < argc && argv[at][0] != '-'; ++at) {
    std::vector<std::string> names;
    CLI::App* next = nullptr;
    for (CLI::App* sub : level->get_subcommands({})) {
      if (sub->get_name() == argv[at]) next = sub;
      if (level != &app || !sub->get_group().empty()) names.push_back(sub->get_name());
    }
    if (names.empty()) return {};  // what follows are arguments
    level = next;
    if (level) continue;
    const std::string near = nearest(argv[at], {names.begin(), names.end()});
    return {{.expected = "one of " + join(names, ", "),
             .found = quoted(argv[at]),
             .message = near.empty() ? "see --help" : "did you mean " + near + "?"}};
  }
  return {};
}

bool asks_for_json(int argc, const char* const* argv) {
  for (int i = 1; i < argc; ++i)
    if (std::string_view(argv[i]) == "--json") return true;
  return false;
}

void show_progress(Session& session) {
  if (session.json || ::isatty(STDERR_FILENO) == 0) return;
  session.progress = [](const std::string& text) { fmt::print(stderr, "\r\033[K{}", text); };
}

int run_chosen(const Choice& command, bool json, const StopToken& stop) {
  Session session;
  session.stop = stop;
  session.json = json;
  session.parallel = threads(0);
  show_progress(session);
  const Answer answer = run_safely(command.run, session);
  session.progress("");
  return finish(answer, json);
}

}  // namespace

int run_command_line(int argc, const char* const* argv, const StopToken& stop) {
  bool json = asks_for_json(argc, argv);
  CLI::App app(kAbout, "pennybridge");
  app.set_version_flag("--version", PB_VERSION);
  app.require_subcommand(1);
  app.footer("Example:\n  pennybridge " + std::string(verbs().front().example) +
             "\n\npennybridge VERB --help says more about a verb.");
  const std::vector<Choice> commands = add_commands(app, json);
  if (Problems unknown = unknown_word(app, argc, argv); !unknown.empty())
    return finish(refuse(std::move(unknown)), json);
  try {
    app.parse(argc, argv);
  } catch (const CLI::Success& wanted) {  // --help, --version: they print to standard output
    return app.exit(wanted) == 0 && std::fflush(stdout) == 0 ? kPasses : kUndecided;
  } catch (const CLI::ParseError& error) {
    return finish(refuse({{.message = std::string(error.what()) + "; see --help"}}), json);
  }
  for (const Choice& command : commands)
    if (command.app->parsed()) return run_chosen(command, json, stop);
  return finish(broken("no verb was chosen"), json);
}

}  // namespace pb::app
