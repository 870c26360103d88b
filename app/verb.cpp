// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "app/verb.h"

#include <nlohmann/json.hpp>

namespace pb::app {
namespace {}  // namespace

Json to_json(const Problems& problems) {
  Json out = Json::array();
  for (const Problem& p : problems)
    out.push_back(Json{{"file", p.file},
                       {"line", p.line},
                       {"column", p.column},
                       {"key", p.key},
                       {"expected", p.expected},
                       {"found", p.found},
                       {"message", p.message}});
  return out;
}

Answer::Answer() : json(std::make_unique<Json>(Json::object())) {}
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

std::string whole_object(const Answer& answer) {
  Json object{{"format", 1}, {"version", PB_VERSION}};
  object.update(*answer.json);
  if (!answer.problems.empty()) object["problems"] = to_json(answer.problems);
  // Names in the input may be any bytes; the output is UTF-8 all the same.
  return object.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

std::optional<Answer> refuse_place(const std::string& out) {
  if (out.empty()) return std::nullopt;
  const auto place = OutputFolder::begin(out);
  if (place) return std::nullopt;
  return refuse(place.error());
}

Answer write_folder(Answer answer, const std::string& out, const OutputFiles& files) {
  auto folder = OutputFolder::begin(out);
  if (!folder) return refuse(folder.error());
  for (const auto& [name, text] : files)
    if (const auto written = folder->write(name, text); !written) return refuse(written.error());
  if (const auto done = folder->commit(PB_VERSION); !done) return refuse(done.error());
  return answer;
}

}  // namespace pb::app
