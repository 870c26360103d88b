// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "app/verb.h"

#include <nlohmann/json.hpp>

namespace pb::app {

Answer::Answer()
    : json(std::make_unique<nlohmann::ordered_json>(nlohmann::ordered_json::object())) {}
Answer::Answer(Answer&&) noexcept = default;
Answer& Answer::operator=(Answer&&) noexcept = default;
Answer::~Answer() = default;

Answer refuse(Problems problems, int status) {
  Answer answer;
  answer.status = status;
  answer.problems = std::move(problems);
  return answer;
}

Answer refuse(const WriteFault& fault) {
  return refuse({fault.problem}, fault.refused ? kBadInput : kUndecided);
}

}  // namespace pb::app
