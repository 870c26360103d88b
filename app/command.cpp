// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "app/command.h"

#include <CLI/CLI.hpp>
#include <charconv>
#include <cstdint>
#include <utility>

#include "base/text.h"

namespace pb::app {

Option& Option::required() {
  option_->required();
  return *this;
}

Option& Option::type(const char* name) {
  option_->type_name(name);
  return *this;
}

Option& Option::one_a_time() {
  option_->allow_extra_args(false);
  return *this;
}

Option& Option::from_to(int low, int high) {
  option_->check(CLI::Range(low, high));
  return *this;
}

Option& Option::from_to(long low, long high) {
  option_->check(CLI::Range(low, high));
  return *this;
}

Option& Option::from_to(double low, double high) {
  option_->check(CLI::Range(low, high));
  option_->check([](const std::string& word) {  // which lies between any two bounds
    return to_lower(word).find("nan") == std::string::npos ? ""
                                                           : "expected a number, found " + word;
  });
  return *this;
}

Option& Option::one_of(const std::vector<std::string>& words) {
  option_->check(CLI::IsMember(words));
  return *this;
}

Option& Option::shows_default() {
  option_->capture_default_str();
  return *this;
}

Option Command::option(const char* name, std::string& value, const char* help) {
  return Option(app_->add_option(name, value, help));
}

Option Command::option(const char* name, std::vector<std::string>& values, const char* help) {
  return Option(app_->add_option(name, values, help));
}

Option Command::option(const char* name, int& value, const char* help) {
  return Option(app_->add_option(name, value, help));
}

Option Command::option(const char* name, long& value, const char* help) {
  return Option(app_->add_option(name, value, help));
}

Option Command::option(const char* name, std::uint64_t& value, const char* help) {
  CLI::Option* option = app_->add_option(name, value, help);
  option->check([](const std::string& word) {
    std::uint64_t x = 0;
    const char* end = word.data() + word.size();
    const auto [at, error] = std::from_chars(word.data(), end, x);
    return error == std::errc() && at == end ? ""
                                             : "expected a whole number, found \"" + word + "\"";
  });
  return Option(option);
}

Option Command::option(const char* name, double& value, const char* help) {
  return Option(app_->add_option(name, value, help));
}

void Command::flag(const char* name, bool& value, const char* help) {
  app_->add_flag(name, value, help);
}

Command Command::part(const char* name, const char* help, const char* example) {
  CLI::App* sub = app_->add_subcommand(name, help);
  sub->footer(std::string("Example:\n  ") + example);
  return Command(*sub);
}

void Command::needs_part() { app_->require_subcommand(1); }

void Command::when_chosen(std::function<void()> call) { app_->callback(std::move(call)); }

}  // namespace pb::app
