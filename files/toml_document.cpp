// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "files/toml_document.h"

// toml++ 3.3 meets some ill-formed texts ("[~") with an assertion and is undefined where assertions
// are off. It is compiled here, with assertions that throw, instead of linked.
#undef NDEBUG
#undef TOML_HEADER_ONLY
#undef TOML_SHARED_LIB
#define TOML_HEADER_ONLY 1
#define TOML_ASSERT(condition) ((condition) ? void() : pb::files::parser_gave_up())

namespace pb::files {
namespace {
struct ParserGaveUp {};
[[noreturn]] inline void parser_gave_up() { throw ParserGaveUp(); }
}  // namespace
}  // namespace pb::files

#include <toml++/toml.h>

#include <algorithm>
#include <cctype>

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

/// The first line that begins a table's name with what cannot begin a name: there the parser gives
/// up without saying where.
Spot bad_heading(std::string_view text) {
  Spot spot{0, 0};
  for (std::string_view line : split(text, '\n')) {
    ++spot.line;
    const std::string_view heading = trim(line);
    const std::size_t name = heading.find_first_not_of("[ \t");
    if (!heading.starts_with('[') || name == std::string_view::npos) continue;
    const auto c = static_cast<unsigned char>(heading[name]);
    if (std::isalnum(c) == 0 &&
        std::string_view("_-\"'").find(heading[name]) == std::string_view::npos)
      return {spot.line, 1};
  }
  return {};
}

/// Walks over TOML just closely enough to know text and comments from the rest.
class Scanner {
 public:
  explicit Scanner(std::string_view text) : text_(text) {
    constexpr std::string_view kByteOrderMark = "\xEF\xBB\xBF";
    if (text.starts_with(kByteOrderMark)) at_ = kByteOrderMark.size();
  }

  /// The first byte beyond ASCII outside of strings and comments; line 0 if there is none. toml++
  /// 3.3 is undefined on some of them ("r\u00b5te = 1"), and none is TOML.
  Spot stray() {
    while (at_ < text_.size()) {
      const char c = text_[at_];
      if (static_cast<unsigned char>(c) >= 0x80) return spot_;
      if (c == '"' || c == '\'')
        skip_string(c);
      else if (c == '#')
        while (at_ < text_.size() && text_[at_] != '\n') step();
      else
        step();
    }
    return {};
  }

 private:
  void step() {
    const auto byte = static_cast<unsigned char>(text_[at_++]);
    if (byte == '\n') {
      ++spot_.line;
      spot_.column = 1;
    } else if ((byte & 0xC0) != 0x80) {  // a character, not the rest of one
      ++spot_.column;
    }
  }

  void skip_string(char quote) {
    const std::string three(3, quote);
    const bool many_lines = text_.substr(at_).starts_with(three);
    const std::string_view end = many_lines ? three : std::string_view(three).substr(0, 1);
    for (std::size_t i = 0; i < end.size(); ++i) step();
    while (at_ < text_.size() && !text_.substr(at_).starts_with(end)) {
      if (text_[at_] == '\n' && !many_lines) return;  // not closed: the parser will say so
      if (text_[at_] == '\\' && quote == '"' && at_ + 1 < text_.size()) step();
      step();
    }
    for (std::size_t i = 0; i < end.size() && at_ < text_.size(); ++i) step();
  }

  std::string_view text_;
  std::size_t at_ = 0;
  Spot spot_{1, 1};
};

std::unexpected<Problems> not_toml(const std::string& file, Spot spot, std::string why) {
  return std::unexpected(Problems{{.file = file,
                                   .line = spot.line,
                                   .column = spot.column,
                                   .message = "not TOML: " + std::move(why)}});
}

}  // namespace

Checked<Node> parse_toml(const std::string& file, std::string_view text) {
  if (const Spot stray = Scanner(text).stray(); stray.line > 0)
    return not_toml(file, stray, "a character beyond ASCII outside of quotes");
  try {
    const toml::table table = toml::parse(text, file);
    Node root;
    root.spot = {1, 1};
    convert_table(table, root);
    return root;
  } catch (const toml::parse_error& error) {
    return not_toml(file, spot_of(error.source()), std::string(error.description()));
  } catch (const ParserGaveUp&) {
    return not_toml(file, bad_heading(text), "the name of a table is ill-formed");
  }
}

}  // namespace pb::files
