// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A TOML document as a plain tree with places, so that only toml_document.cpp pays for the parser's
// headers; and the reading of fields from it that collects every problem instead of stopping at the
// first. Tested by tests/unit/files_brief.cpp and fuzz/brief.cpp.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "base/problem.h"
#include "base/quantity.h"

namespace pb::files {

/// Where something stands in its file, from 1; 0 is "not known".
struct Spot {
  int line = 0, column = 0;
};

struct Entry;

struct Node {
  enum class Kind { text, number, flag, date, list, table };
  Kind kind = Kind::table;
  Spot spot;
  std::string text;  // of a text its value, of any other scalar as it would be written
  double number = 0;
  bool flag = false;
  std::vector<Node> items;     // of a list
  std::vector<Entry> entries;  // of a table, in the order of the file

  const Node* find(std::string_view key) const;
};

struct Entry {
  std::string key;
  Spot spot;
  Node node;
};

/// The tree, or the one thing that makes the text not TOML.
Checked<Node> parse_toml(const std::string& file, std::string_view text);

/// "a table", "\"4k7\"", "12": how a message names what was found.
std::string describe(const Node& node);

/// Collects what is wrong with one file.
class Reading {
 public:
  explicit Reading(std::string file) : file_(std::move(file)) {}
  void wrong(Spot spot, std::string key, std::string expected, std::string found,
             std::string message = "");
  void add(Problems more) { append(problems, std::move(more)); }
  /// Gives problems without a place, and without a file, the place of what their key names.
  void locate(const Node& root);
  const std::string& file() const { return file_; }

  Problems problems;

 private:
  std::string file_;
};

/// Another dimension in which a quantity may be written, and what to multiply it with; not above 0:
/// there is none.
struct OtherWay {
  Dim dim = dim::none;
  double factor = 0;
};

/// The fields of one table. Asking for a field makes its name known; finish() reports the others.
class Fields {
 public:
  /// `name` is the table's full name, empty for the whole document. A node that is no table is
  /// reported once and read as an empty one.
  Fields(Reading& reading, const Node& table, std::string name);

  const Node* find(std::string_view key);
  std::string key_name(std::string_view key) const;
  Spot spot() const { return table_->spot; }

  /// Text; empty when missing or wrong. `choices` is "a|b|c" or empty for free text.
  std::string text(std::string_view key, bool required, std::string_view choices = {});
  std::vector<std::string> texts(std::string_view key, bool required);
  /// SI, inclusive range; NaN when missing or wrong.
  double quantity(std::string_view key, Dim dim, bool required, double low, double high,
                  const OtherWay& other = {});
  bool flag(std::string_view key, bool fallback);
  /// A list of tables; empty when missing.
  std::vector<const Node*> tables(std::string_view key);
  /// A table; nullptr when missing or not a table.
  const Node* table(std::string_view key, bool required);
  /// Reports every key nobody asked for, with the nearest known one.
  void finish();

 private:
  void missing(std::string_view key, std::string expected);

  Reading& reading_;
  const Node* table_;
  std::string name_;
  std::vector<std::string> known_;
};

/// The value of `node`, which is called `key`: text with a unit, or a bare number where the
/// dimension allows one. NaN when wrong.
double read_quantity(Reading& reading, const Node& node, const std::string& key, Dim dim,
                     double low, double high, const OtherWay& other = {});
/// `format` must be 1 or missing.
void read_format(Reading& reading, Fields& document);

/// A TOML basic string with its quotes.
std::string toml_text(std::string_view text);
/// A key: bare where TOML allows it, else quoted.
std::string toml_key(std::string_view key);
/// ["a", "b"].
std::string toml_list(const std::vector<std::string>& texts);
/// `key = "value"` and a line end.
std::string toml_line(std::string_view key, std::string_view value);

}  // namespace pb::files
