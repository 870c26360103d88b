// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Several figures in one cell: the pattern "{rds_max} @ {rds_gate}, {}" reads
// "45 mOhm @ 4.5 V, 3 A". A {name} is a figure, {} is text nobody wants, anything else stands for
// itself in capitals or not; white space in a pattern is any amount of it, or none. Tested by
// tests/unit/files_mapping.cpp and fuzz/mapping.cpp.
#pragma once

#include <expected>
#include <functional>
#include <string>
#include <string_view>
#include <vector>

namespace pb {

class CellPattern {
 public:
  /// The pattern, or what is expected instead.
  static std::expected<CellPattern, std::string> compile(std::string_view text);

  const std::string& text() const { return text_; }
  /// Of the places to fill, in their order; empty for {}.
  const std::vector<std::string>& names() const { return names_; }

  /// May the place of this index hold this text?
  using Fits = std::function<bool(std::size_t, std::string_view)>;
  /// What each place holds, or nothing. Takes the shortest texts that fit.
  std::vector<std::string_view> match(std::string_view cell, const Fits& fits) const;

 private:
  struct Token {
    bool place;
    std::string text;  // a word without white space; empty for a place
  };

  std::string text_;
  std::vector<Token> tokens_;
  std::vector<std::string> names_;
  friend class CellMatcher;
};

}  // namespace pb
