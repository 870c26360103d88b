// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "files/toml_edit.h"

#include <algorithm>

#include "base/text.h"
#include "files/toml_document.h"

namespace pb {
namespace {

using files::Entry;
using files::Node;
using files::Spot;

/// Offset of a place; columns count characters, not bytes.
std::size_t offset_of(std::string_view text, Spot spot) {
  std::size_t at = 0;
  if (text.starts_with("\xEF\xBB\xBF")) at = 3;
  for (int line = 1; line < spot.line && at < text.size(); ++line) {
    const std::size_t end = text.find('\n', at);
    at = end == std::string_view::npos ? text.size() : end + 1;
  }
  for (int column = 1; column < spot.column && at < text.size(); ++column) {
    ++at;
    while (at < text.size() && (static_cast<unsigned char>(text[at]) & 0xC0) == 0x80) ++at;
  }
  return at;
}

/// End of the scalar that begins at `from`.
std::size_t scalar_end(std::string_view text, std::size_t from) {
  const char first = text[from];
  if (first != '"' && first != '\'') {
    const std::size_t end = text.find_first_of(",]}#\r\n", from);
    std::size_t at = end == std::string_view::npos ? text.size() : end;
    while (at > from && (text[at - 1] == ' ' || text[at - 1] == '\t')) --at;
    return at;
  }
  const std::string three(3, first);
  const bool is_long = text.substr(from).starts_with(three);
  std::size_t at = from + (is_long ? 3 : 1);
  while (at < text.size()) {
    if (text[at] == '\\' && first == '"') {
      at += 2;
    } else if (is_long && text.substr(at).starts_with(three)) {
      at += 3;
      while (at < text.size() && text[at] == first) ++at;  // quotes just before the closing ones
      return at;
    } else if (!is_long && text[at] == first) {
      return at + 1;
    } else {
      ++at;
    }
  }
  return text.size();
}

std::size_t line_end(std::string_view text, std::size_t from) {
  const std::size_t end = text.find('\n', from);
  return end == std::string_view::npos ? text.size() : end + 1;
}

std::size_t line_start(std::string_view text, std::size_t from) {
  if (from == 0) return 0;
  const std::size_t end = text.rfind('\n', from - 1);
  return end == std::string_view::npos ? 0 : end + 1;
}

/// Section and key of a full name.
std::pair<std::string, std::string> parted(std::string_view full_name) {
  const std::size_t dot = full_name.rfind('.');
  if (dot == std::string_view::npos) return {"", std::string(full_name)};
  return {std::string(full_name.substr(0, dot)), std::string(full_name.substr(dot + 1))};
}

const Entry* entry_of(const Node& table, std::string_view key) {
  for (const Entry& e : table.entries)
    if (e.key == key) return &e;
  return nullptr;
}

/// The table a section stands for, following dots; null if it is not there.
const Node* section_of(const Node& root, std::string_view section) {
  const Node* at = &root;
  if (section.empty()) return at;
  for (std::string_view name : split(section, '.')) {
    at = at->kind == Node::Kind::table ? at->find(name) : nullptr;
    if (!at) return nullptr;
  }
  return at->kind == Node::Kind::table ? at : nullptr;
}

void collect(const Node& table, const std::string& prefix, std::vector<TomlEntry>& out) {
  for (const Entry& e : table.entries) {
    const std::string name = prefix.empty() ? e.key : prefix + "." + e.key;
    if (e.node.kind == Node::Kind::table)
      collect(e.node, name, out);
    else if (e.node.kind != Node::Kind::list)
      out.push_back({name, e.node.text, e.node.spot.line, e.node.spot.column});
  }
}

std::string without(std::string_view text, const Entry& entry) {
  const std::size_t key = offset_of(text, entry.spot);
  const std::size_t value_end = scalar_end(text, offset_of(text, entry.node.spot));
  const std::size_t from = line_start(text, key), to = line_end(text, value_end);
  const std::string_view before = trim(text.substr(from, key - from));
  const std::string_view after = trim(text.substr(value_end, to - value_end));
  if (before.empty() && (after.empty() || after.starts_with('#')))
    return std::string(text.substr(0, from)) + std::string(text.substr(to));
  return std::string(text);  // inside { }: the caller's check says that it did not work
}

std::string with_new(std::string_view text, const Node& root, const std::string& section,
                     const std::string& line) {
  const Node* table = section_of(root, section);
  if (!table) {
    std::string out(text);
    if (!out.empty() && !out.ends_with('\n')) out += '\n';
    return out + (trim(out).empty() ? "" : "\n") + "[" + section + "]\n" + line;
  }
  // Behind the last scalar of the section, else behind its heading.
  std::size_t at = section.empty() ? 0 : line_end(text, offset_of(text, table->spot));
  for (const Entry& e : table->entries)
    if (e.node.kind != Node::Kind::table && e.node.kind != Node::Kind::list)
      at = std::max(at, line_end(text, scalar_end(text, offset_of(text, e.node.spot))));
  std::string out(text.substr(0, at));
  if (!out.empty() && !out.ends_with('\n')) out += '\n';
  return out + line + std::string(text.substr(at));
}

/// A whole number stays without quotes where one stood.
std::string scalar_text(const Node& old, const std::string& value) {
  const auto whole = to_integer(value);
  const bool bare = old.kind == Node::Kind::number && whole && std::to_string(*whole) == value;
  return bare ? value : files::toml_text(value);
}

Problems cannot(const std::string& file, std::string_view key) {
  return {{.file = file,
           .key = std::string(key),
           .message = "cannot be changed in place here; change it in the text"}};
}

/// What the entries should be after the change.
bool changed_only(const std::vector<TomlEntry>& before, const std::vector<TomlEntry>& after,
                  std::string_view key, const std::optional<std::string>& value) {
  const auto others = [&](const std::vector<TomlEntry>& all) {
    std::vector<std::pair<std::string, std::string>> out;
    for (const TomlEntry& e : all)
      if (e.key != key) out.emplace_back(e.key, e.text);
    return out;
  };
  const auto has = [&](const TomlEntry& e) { return e.key == key; };
  const auto now = std::find_if(after.begin(), after.end(), has);
  if (others(before) != others(after)) return false;
  return value ? now != after.end() && now->text == *value : now == after.end();
}

}  // namespace

Checked<std::vector<TomlEntry>> toml_entries(const std::string& file, std::string_view text) {
  const auto root = files::parse_toml(file, text);
  if (!root) return std::unexpected(root.error());
  std::vector<TomlEntry> out;
  collect(*root, "", out);
  return out;
}

Checked<std::string> edit_toml(const std::string& file, std::string_view text,
                               std::string_view full_name,
                               const std::optional<std::string>& value) {
  const auto root = files::parse_toml(file, text);
  if (!root) return std::unexpected(root.error());
  const auto [section, key] = parted(full_name);
  const Node* table = section_of(*root, section);
  const Entry* entry = table ? entry_of(*table, key) : nullptr;
  if (entry && (entry->node.kind == Node::Kind::table || entry->node.kind == Node::Kind::list))
    return std::unexpected(cannot(file, full_name));
  std::string out(text);
  if (entry && value) {
    const std::size_t from = offset_of(text, entry->node.spot);
    out = std::string(text.substr(0, from)) + scalar_text(entry->node, *value) +
          std::string(text.substr(scalar_end(text, from)));
  } else if (entry) {
    out = without(text, *entry);
  } else if (value) {
    out = with_new(text, *root, section, files::toml_line(key, *value));
  }
  // The parser has the last word.
  const auto before = toml_entries(file, text), after = toml_entries(file, out);
  if (!after || !changed_only(*before, *after, full_name, value))
    return std::unexpected(cannot(file, full_name));
  return out;
}

}  // namespace pb
