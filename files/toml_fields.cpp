// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Reading fields from the tree of a document, and writing the pieces of one.
#include <cmath>
#include <limits>

#include "base/text.h"
#include "files/toml_document.h"

namespace pb::files {
namespace {

constexpr double kNothing = std::numeric_limits<double>::quiet_NaN();
const Node kEmpty{};

std::string expected_quantity(Dim dim) {
  const auto nothing = parse_quantity("", dim);
  return nothing ? dim_name(dim) : nothing.error().expected;
}

std::string choice_text(std::string_view choices) {
  std::vector<std::string> all;
  for (std::string_view c : split(choices, '|')) all.push_back(quoted(c));
  return "one of " + join(all, ", ");
}

bool is_choice(std::string_view text, std::string_view choices) {
  for (std::string_view c : split(choices, '|'))
    if (c == text) return true;
  return false;
}

}  // namespace

const Node* Node::find(std::string_view key) const {
  for (const Entry& e : entries)
    if (e.key == key) return &e.node;
  return nullptr;
}

std::string describe(const Node& node) {
  switch (node.kind) {
    case Node::Kind::text:
      return quoted(node.text);
    case Node::Kind::list:
      return "a list";
    case Node::Kind::table:
      return "a table";
    case Node::Kind::number:
    case Node::Kind::flag:
    case Node::Kind::date:
      break;
  }
  return node.text;
}

void Reading::wrong(Spot spot, std::string key, std::string expected, std::string found,
                    std::string message) {
  problems.push_back({.file = file_,
                      .line = spot.line,
                      .column = spot.column,
                      .key = std::move(key),
                      .expected = std::move(expected),
                      .found = std::move(found),
                      .message = std::move(message)});
}

void Reading::locate(const Node& root) {
  for (Problem& p : problems) {
    if (p.file.empty()) p.file = file_;
    if (p.line != 0 || p.file != file_) continue;
    const Node* at = &root;
    for (std::string_view piece : split(p.key, '.')) {
      at = at->find(piece);
      if (!at) break;
      p.line = at->spot.line;
      p.column = at->spot.column;
    }
  }
}

Fields::Fields(Reading& reading, const Node& table, std::string name)
    : reading_(reading), table_(&table), name_(std::move(name)) {
  if (table.kind == Node::Kind::table) return;
  reading_.wrong(table.spot, name_, "a table", describe(table));
  table_ = &kEmpty;
}

std::string Fields::key_name(std::string_view key) const {
  return name_.empty() ? std::string(key) : name_ + "." + std::string(key);
}

const Node* Fields::find(std::string_view key) {
  known_.emplace_back(key);
  return table_->find(key);
}

void Fields::missing(std::string_view key, std::string expected) {
  reading_.wrong(table_->spot, key_name(key), std::move(expected), "nothing");
}

std::string Fields::text(std::string_view key, bool required, std::string_view choices) {
  const std::string expected = choices.empty() ? "text" : choice_text(choices);
  const Node* node = find(key);
  if (!node) {
    if (required) missing(key, expected);
    return {};
  }
  if (node->kind != Node::Kind::text) {
    reading_.wrong(node->spot, key_name(key), expected, describe(*node), "text stands in quotes");
    return {};
  }
  if (!choices.empty() && !is_choice(node->text, choices)) {
    const std::string near = nearest(node->text, split(choices, '|'));
    reading_.wrong(node->spot, key_name(key), expected, describe(*node),
                   near.empty() ? "" : "did you mean " + quoted(near) + "?");
    return {};
  }
  return node->text;
}

std::vector<std::string> Fields::texts(std::string_view key, bool required) {
  const Node* node = find(key);
  if (!node) {
    if (required) missing(key, "a list of texts");
    return {};
  }
  std::vector<std::string> out;
  bool fine = node->kind == Node::Kind::list;
  for (const Node& item : node->items) {
    fine = fine && item.kind == Node::Kind::text;
    out.push_back(item.text);
  }
  if (fine) return out;
  reading_.wrong(node->spot, key_name(key), "a list of texts", describe(*node));
  return {};
}

double Fields::quantity(std::string_view key, Dim dim, bool required, double low, double high,
                        const OtherWay& other) {
  const Node* node = find(key);
  if (node) return read_quantity(reading_, *node, key_name(key), dim, low, high, other);
  if (required) missing(key, expected_quantity(dim));
  return kNothing;
}

bool Fields::flag(std::string_view key, bool fallback) {
  const Node* node = find(key);
  if (!node) return fallback;
  if (node->kind == Node::Kind::flag) return node->flag;
  reading_.wrong(node->spot, key_name(key), "true or false", describe(*node));
  return fallback;
}

std::vector<const Node*> Fields::tables(std::string_view key) {
  const Node* node = find(key);
  if (!node) return {};
  std::vector<const Node*> out;
  bool fine = node->kind == Node::Kind::list;
  for (const Node& item : node->items) {
    fine = fine && item.kind == Node::Kind::table;
    out.push_back(&item);
  }
  if (fine) return out;
  reading_.wrong(node->spot, key_name(key), "tables, each headed [[" + key_name(key) + "]]",
                 describe(*node));
  return {};
}

const Node* Fields::table(std::string_view key, bool required) {
  const Node* node = find(key);
  if (!node) {
    if (required) missing(key, "a table");
    return nullptr;
  }
  if (node->kind == Node::Kind::table) return node;
  reading_.wrong(node->spot, key_name(key), "a table", describe(*node));
  return nullptr;
}

void Fields::finish() {
  for (const Entry& e : table_->entries) {
    bool known = false;
    for (const std::string& k : known_) known = known || k == e.key;
    if (known) continue;
    const std::string near = nearest(e.key, known_);
    const bool section = e.node.kind == Node::Kind::table;
    reading_.wrong(e.spot, key_name(escaped(e.key, 60)),
                   section ? "a known section" : "a known key",
                   section ? "an unknown section" : "an unknown key",
                   near.empty() ? "" : "did you mean " + key_name(near) + "?");
  }
}

double read_quantity(Reading& reading, const Node& node, const std::string& key, Dim dim,
                     double low, double high, const OtherWay& other) {
  double value = node.number;
  if (node.kind == Node::Kind::text) {
    auto read = parse_quantity(node.text, dim);
    if (!read && other.factor > 0)
      if (const auto otherwise = parse_quantity(node.text, other.dim))
        read = *otherwise * other.factor;
    if (!read) {
      reading.wrong(node.spot, key, read.error().expected, read.error().found, read.error().hint);
      return kNothing;
    }
    value = *read;
  } else if (node.kind != Node::Kind::number || !may_stand_alone(dim)) {
    reading.wrong(node.spot, key, expected_quantity(dim), describe(node),
                  node.kind == Node::Kind::number ? "write text with a unit, in quotes" : "");
    return kNothing;
  }
  if (value >= low && value <= high) return value;  // false for NaN
  reading.wrong(node.spot, key, format_range(low, high, dim, 6),
                std::isfinite(value) ? format_quantity(value, dim, 6) : shortest(value));
  return kNothing;
}

void read_format(Reading& reading, Fields& document) {
  const Node* node = document.find("format");
  if (!node || (node->kind == Node::Kind::number && node->number == 1.0)) return;
  reading.wrong(node->spot, document.key_name("format"), "1", describe(*node),
                "written for another version of the program");
}

std::string toml_text(std::string_view text) {
  constexpr char kHex[] = "0123456789ABCDEF";
  std::string out = "\"";
  for (const char c : text) {
    const auto byte = static_cast<unsigned char>(c);
    if (c == '"' || c == '\\') {
      out += '\\';
      out += c;
    } else if (byte < 0x20 || byte == 0x7f) {
      out += "\\u00";
      out += kHex[byte >> 4];
      out += kHex[byte & 15];
    } else {
      out += c;
    }
  }
  return out + '"';
}

std::string toml_key(std::string_view key) {
  constexpr std::string_view kBare =
      "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-";
  const bool bare = !key.empty() && key.find_first_not_of(kBare) == std::string_view::npos;
  return bare ? std::string(key) : toml_text(key);
}

std::string toml_list(const std::vector<std::string>& texts) {
  std::vector<std::string> all;
  all.reserve(texts.size());
  for (const std::string& t : texts) all.push_back(toml_text(t));
  return "[" + join(all, ", ") + "]";
}

std::string toml_line(std::string_view key, std::string_view value) {
  return toml_key(key) + " = " + toml_text(value) + "\n";
}

}  // namespace pb::files
