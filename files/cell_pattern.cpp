// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "files/cell_pattern.h"

#include <utility>

#include "base/text.h"

namespace pb {
namespace {

constexpr std::string_view kSpace = " \t\r\n";
// Cells and patterns of real catalogues are far shorter; the match takes their product.
constexpr std::size_t kLongestCell = 400, kMostTokens = 40;

}  // namespace

std::expected<CellPattern, std::string> CellPattern::compile(std::string_view text) {
  CellPattern out;
  out.text_ = text;
  std::string word;
  const auto end_word = [&] {
    if (!word.empty()) out.tokens_.push_back({false, std::exchange(word, {})});
  };
  for (std::size_t i = 0; i < text.size(); ++i) {
    if (text[i] == '}') return std::unexpected("a { before each }");
    if (text[i] != '{') {
      if (kSpace.find(text[i]) == std::string_view::npos)
        word += text[i];
      else
        end_word();
      continue;
    }
    end_word();
    const std::size_t close = text.find('}', i);
    if (close == std::string_view::npos) return std::unexpected("a } for each {");
    out.tokens_.push_back({true, {}});
    out.names_.emplace_back(trim(text.substr(i + 1, close - i - 1)));
    i = close;
  }
  end_word();
  if (out.names_.empty()) return std::unexpected("a place such as {rds_max}");
  if (out.tokens_.size() > kMostTokens) return std::unexpected("a shorter pattern");
  return out;
}

/// One match. Remembers where the rest was found not to fit, so that a long cell takes the product
/// of its length and the pattern's, squared at worst, and not a power of it.
class CellMatcher {
 public:
  CellMatcher(const CellPattern& pattern, std::string_view cell, const CellPattern::Fits& fits)
      : pattern_(pattern),
        cell_(cell),
        fits_(fits),
        failed_(pattern.tokens_.size() * (cell.size() + 1)),
        captures_(pattern.names_.size()) {}

  std::vector<std::string_view> run() {
    return from(0, 0, 0) ? std::move(captures_) : std::vector<std::string_view>{};
  }

 private:
  std::size_t behind_space(std::size_t at) const {
    const std::size_t next = cell_.find_first_not_of(kSpace, at);
    return next == std::string_view::npos ? cell_.size() : next;
  }

  bool word_at(std::size_t token, std::size_t at) const {
    const std::string& word = pattern_.tokens_[token].text;
    return equal_ignoring_case(cell_.substr(at, word.size()), word);
  }

  /// A place ends at the end, at white space, or where the word after it begins.
  bool may_end(std::size_t next, std::size_t at) const {
    if (at == cell_.size() || kSpace.find(cell_[at]) != std::string_view::npos) return true;
    return next < pattern_.tokens_.size() && !pattern_.tokens_[next].place && word_at(next, at);
  }

  bool from(std::size_t token, std::size_t place, std::size_t start) {
    const std::size_t at = behind_space(start);
    if (token == pattern_.tokens_.size()) return at == cell_.size();
    const std::size_t key = token * (cell_.size() + 1) + at;
    if (failed_[key]) return false;
    if (pattern_.tokens_[token].place
            ? fill(token, place, at)
            : word_at(token, at) &&
                  from(token + 1, place, at + pattern_.tokens_[token].text.size()))
      return true;
    failed_[key] = true;
    return false;
  }

  bool fill(std::size_t token, std::size_t place, std::size_t at) {
    for (std::size_t end = at + 1; end <= cell_.size(); ++end) {
      if (!may_end(token + 1, end)) continue;
      const std::string_view capture = trim(cell_.substr(at, end - at));
      if (capture.empty() || !fits_(place, capture)) continue;
      captures_[place] = capture;
      if (from(token + 1, place + 1, end)) return true;
    }
    return false;
  }

  const CellPattern& pattern_;
  std::string_view cell_;
  const CellPattern::Fits& fits_;
  std::vector<bool> failed_;
  std::vector<std::string_view> captures_;
};

std::vector<std::string_view> CellPattern::match(std::string_view cell, const Fits& fits) const {
  if (cell.size() > kLongestCell) return {};
  return CellMatcher(*this, cell, fits).run();
}

}  // namespace pb
