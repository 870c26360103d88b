// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A small writer of HTML whose tags always balance and whose texts are always escaped. Tested by
// tests/unit/delivery_report.cpp.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace pb::delivery {

class Html {
 public:
  /// `attributes` are trusted.
  Html& open(std::string_view tag, std::string_view attributes = "");
  Html& close();
  Html& text(std::string_view content);
  /// <tag attributes>content</tag>
  Html& element(std::string_view tag, std::string_view content, std::string_view attributes = "");
  /// Trusted markup: what an SVG writer returned.
  Html& markup(std::string_view trusted);
  /// A drawing with a caption.
  Html& figure(std::string_view svg, std::string_view caption);

  /// A table with a caption for screen readers and a heading a column; columns whose heading begins
  /// with '#' hold numbers.
  Html& open_table(std::string_view caption, const std::vector<std::string>& headings);
  /// A cell may have several lines.
  Html& row(const std::vector<std::string>& cells);
  Html& close_table();

  /// Everything; all elements must be closed.
  std::string finish();

 private:
  std::string out_;
  std::vector<std::string> open_;
  std::vector<bool> numeric_;  // columns of the table being written
};

}  // namespace pb::delivery
