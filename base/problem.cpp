// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Problems as lines of text, and the nearest known word to a mistyped one.
#include "base/problem.h"

#include <algorithm>
#include <iterator>
#include <utility>

#include "base/text.h"

namespace pb {
namespace {

constexpr std::size_t kLongestWord =
    64;  // longer ones are not mistyped keys, and the distance costs n²

// `word` is one or more whole underscore-separated parts of `candidate`: "inductance" in
// "winding_inductance".
bool is_part_of(std::string_view word, std::string_view candidate) {
  constexpr std::size_t kTooCommon = 4;  // "max" and "on" say too little
  if (word.size() < kTooCommon) return false;
  const std::string padded = "_" + to_lower(candidate) + "_";
  return padded.find("_" + to_lower(word) + "_") != std::string::npos;
}

template <class Strings>
std::string nearest_of(std::string_view word, const Strings& candidates) {
  if (word.empty() || word.size() > kLongestWord) return {};
  int best =
      std::max(1, static_cast<int>(word.size()) / 3) + 1;  // one slip in three letters at most
  std::string answer;
  for (const auto& candidate : candidates) {
    const int distance = edit_distance(word, candidate);
    if (distance < best) {
      best = distance;
      answer = candidate;
    }
  }
  if (!answer.empty()) return answer;
  const auto whole = std::find_if(candidates.begin(), candidates.end(),
                                  [&](const auto& c) { return is_part_of(word, c); });
  return whole == candidates.end() ? std::string() : std::string(*whole);
}

std::string place_of(const Problem& p) {
  std::string text = escaped(p.file);
  if (p.line > 0) {
    text += ":" + std::to_string(p.line);
    if (p.column > 0) text += ":" + std::to_string(p.column);
  }
  return text.empty() ? text : text + ": ";
}

}  // namespace

std::string to_line(const Problem& p) {
  std::string text = place_of(p);
  if (!p.key.empty()) text += escaped(p.key) + ": ";
  std::string clause;
  if (!p.expected.empty()) clause = "expected " + escaped(p.expected);
  if (!p.found.empty()) clause += (clause.empty() ? "found " : ", found ") + escaped(p.found);
  if (p.message.empty()) return text + clause;
  return clause.empty() ? text + escaped(p.message)
                        : text + clause + " (" + escaped(p.message) + ")";
}

std::string to_lines(const Problems& problems) {
  std::string text;
  for (const Problem& p : problems) text += to_line(p) + "\n";
  return text;
}

void append(Problems& all, Problems more) {
  all.insert(all.end(), std::make_move_iterator(more.begin()), std::make_move_iterator(more.end()));
}

// Source: restricted Damerau-Levenshtein distance, dynamic programming over three rows.
int edit_distance(std::string_view a_text, std::string_view b_text) {
  const std::string a = to_lower(a_text), b = to_lower(b_text);
  std::vector<int> before_last, last(b.size() + 1), row(b.size() + 1);
  for (std::size_t j = 0; j <= b.size(); ++j) row[j] = static_cast<int>(j);
  for (std::size_t i = 1; i <= a.size(); ++i) {
    before_last = std::exchange(last, row);
    row[0] = static_cast<int>(i);
    for (std::size_t j = 1; j <= b.size(); ++j) {
      row[j] =
          std::min({last[j] + 1, row[j - 1] + 1, last[j - 1] + (a[i - 1] == b[j - 1] ? 0 : 1)});
      if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1])
        row[j] = std::min(row[j], before_last[j - 2] + 1);
    }
  }
  return row[b.size()];
}

std::string nearest(std::string_view word, std::span<const std::string> candidates) {
  return nearest_of(word, candidates);
}

std::string nearest(std::string_view word, std::span<const std::string_view> candidates) {
  return nearest_of(word, candidates);
}

}  // namespace pb
