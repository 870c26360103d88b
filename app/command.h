// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What a verb asks of its command line. A front of the command-line library, so that its templates
// are compiled in one file and not in every verb. The variables must outlive the parsing. Tested by
// tests/cli.
#pragma once

#include <cstdint>
#include <functional>
#include <string>
#include <vector>

namespace CLI {
class App;
class Option;
}  // namespace CLI

namespace pb::app {

class Option {
 public:
  explicit Option(CLI::Option* option) : option_(option) {}

  Option& required();
  /// As the help names its value.
  Option& type(const char* name);
  /// May be repeated, and takes one value each time.
  Option& one_a_time();
  /// Inclusive.
  Option& from_to(int low, int high);
  Option& from_to(long low, long high);
  Option& from_to(double low, double high);
  Option& one_of(const std::vector<std::string>& words);
  Option& shows_default();

 private:
  CLI::Option* option_;
};

class Command {
 public:
  explicit Command(CLI::App& app) : app_(&app) {}

  /// "--name" for an option, "name" for an argument by its place.
  Option option(const char* name, std::string& value, const char* help);
  Option option(const char* name, std::vector<std::string>& values, const char* help);
  Option option(const char* name, int& value, const char* help);
  Option option(const char* name, long& value, const char* help);
  Option option(const char* name, std::uint64_t& value, const char* help);
  Option option(const char* name, double& value, const char* help);
  void flag(const char* name, bool& value, const char* help);
  /// A verb of the verb: "parts import".
  Command part(const char* name, const char* help, const char* example);
  void needs_part();
  void when_chosen(std::function<void()> call);

 private:
  CLI::App* app_;
};

}  // namespace pb::app
