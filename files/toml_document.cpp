// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "files/toml_document.h"

#include <toml++/toml.h>

#include <algorithm>

#include "base/text.h"

namespace pb::files {
namespace {

Spot spot_of(const toml::source_region& region) {
  return {static_cast<int>(region.begin.line), static_cast<int>(region.begin.column)};
}

Node convert(const toml::node& from);

void convert_table(const toml::table& from, Node& to) {
  to.kind = Node::Kind::table;
  for (const auto& [key, value] : from)
    to.entries.push_back({std::string(key.str()), spot_of(key.source()), convert(value)});
  // The parser sorts by name; people and round trips want the order of the file.
  std::stable_sort(to.entries.begin(), to.entries.end(), [](const Entry& a, const Entry& b) {
    return a.spot.line != b.spot.line ? a.spot.line < b.spot.line : a.spot.column < b.spot.column;
  });
}

Node convert(const toml::node& from) {
  Node to;
  to.spot = spot_of(from.source());
  if (const auto* table = from.as_table()) {
    convert_table(*table, to);
  } else if (const auto* list = from.as_array()) {
    to.kind = Node::Kind::list;
    for (const toml::node& item : *list) to.items.push_back(convert(item));
  } else if (const auto* text = from.as_string()) {
    to.kind = Node::Kind::text;
    to.text = text->get();
  } else if (const auto* whole = from.as_integer()) {
    to.kind = Node::Kind::number;
    to.number = static_cast<double>(whole->get());
    to.text = std::to_string(whole->get());
  } else if (const auto* real = from.as_floating_point()) {
    to.kind = Node::Kind::number;
    to.number = real->get();
    to.text = shortest(real->get());
  } else if (const auto* flag = from.as_boolean()) {
    to.kind = Node::Kind::flag;
    to.flag = flag->get();
    to.text = to.flag ? "true" : "false";
  } else {
    to.kind = Node::Kind::date;
    to.text = "a date";
  }
  return to;
}

}  // namespace

Checked<Node> parse_toml(const std::string& file, std::string_view text) {
  try {
    const toml::table table = toml::parse(text, file);
    Node root;
    root.spot = {1, 1};
    convert_table(table, root);
    return root;
  } catch (const toml::parse_error& error) {
    const Spot spot = spot_of(error.source());
    return std::unexpected(Problems{{.file = file,
                                     .line = spot.line,
                                     .column = spot.column,
                                     .message = "not TOML: " + std::string(error.description())}});
  }
}

}  // namespace pb::files
