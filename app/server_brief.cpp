// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The brief as a form: the table of keys, what a text says of each, and changing one in place.
#include <nlohmann/json.hpp>

#include "app/server_routes.h"
#include "app/verb_call.h"
#include "base/quantity.h"
#include "base/text.h"
#include "files/toml_brief.h"
#include "files/toml_edit.h"
#include "judgement/checks.h"

namespace pb::app {
namespace {

const char* need_text(Need need) {
  switch (need) {
    case Need::required:
      return "required";
    case Need::defaulted:
      return "defaulted";
    case Need::optional:
      break;
  }
  return "optional";
}

/// In percent where the default is.
std::string range_text(const BriefKey& key) {
  if (key.dim == dim::none && key.assumed.ends_with('%'))
    return join_range(format_percent(key.low), format_percent(key.high));
  return join_range(typeset(format_quantity(key.low, key.dim)),
                    typeset(format_quantity(key.high, key.dim)));
}

Json key_json(const BriefKey& key) {
  Json choices = Json::array();
  if (!key.choices.empty())
    for (std::string_view c : split(key.choices, '|')) choices.push_back(std::string(c));
  const bool quantity = key.number != nullptr;
  return Json{{"key", full_name(key)},
              {"section", std::string(key.section)},
              {"name", std::string(key.name)},
              {"kind", quantity          ? "quantity"
                       : choices.empty() ? "text"
                                         : "choice"},
              {"need", need_text(key.need)},
              {"unit", quantity ? dim_unit(key.dim) : ""},
              {"assumed", std::string(key.assumed)},
              {"range", quantity ? range_text(key) : ""},
              {"choices", std::move(choices)},
              {"doc", std::string(key.doc)}};
}

/// What the text says: values as typed, and the same problems as the command line's.
Json state_of(const std::string& file, const std::string& text) {
  Json out{{"text", text},
           {"is_toml", true},
           {"entries", Json::object()},
           {"problems", Json::array()},
           {"lines", Json::array()}};
  const auto entries = toml_entries(file, text);
  if (entries)
    for (const TomlEntry& e : *entries)
      out["entries"][e.key] = Json{{"text", e.text}, {"line", e.line}, {"column", e.column}};
  out["is_toml"] = entries.has_value();
  const auto brief = read_brief(file, text);
  if (!brief) {
    out["problems"] = to_json(brief.error());
    for (const Problem& p : brief.error()) out["lines"].push_back(to_line(p));
  }
  return out;
}

}  // namespace

HttpResponse get_keys(Desk&, const HttpRequest&) {
  Json brief = Json::array(), checks = Json::array();
  for (const BriefKey& key : brief_keys()) brief.push_back(key_json(key));
  for (const CheckRow& row : check_rows())
    checks.push_back(Json{{"id", std::string(row.id)},
                          {"unit", std::string(row.unit)},
                          {"sense", row.sense == Sense::max ? "max" : "min"},
                          {"help", std::string(row.help)},
                          {"source", std::string(row.source)}});
  return json_response(Json{{"brief", std::move(brief)}, {"checks", std::move(checks)}});
}

HttpResponse read_brief_text(Desk&, const HttpRequest& request) {
  const auto body = body_of(request);
  if (!body) return problem_response(body.error());
  return json_response(state_of(text_of(*body, "file"), text_of(*body, "text")));
}

HttpResponse edit_brief_text(Desk&, const HttpRequest& request) {
  const auto body = body_of(request);
  if (!body) return problem_response(body.error());
  const std::string file = text_of(*body, "file"), key = text_of(*body, "key");
  const bool known = [&] {
    for (const BriefKey& k : brief_keys())
      if (full_name(k) == key) return true;
    return false;
  }();
  if (!known) return problem_response("there is no such key", 400);
  // An emptied field is a key nobody gives.
  const std::string value(trim(text_of(*body, "value")));
  const auto text = edit_toml(file, text_of(*body, "text"), key,
                              value.empty() ? std::nullopt : std::optional(value));
  if (!text) return problem_response(text.error(), 422);
  return json_response(state_of(file, *text));
}

}  // namespace pb::app
