// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
#include "delivery/html.h"

#include <utility>

#include "base/check.h"
#include "base/text.h"
#include "delivery/svg.h"

namespace pb::delivery {

Html& Html::open(std::string_view tag, std::string_view attributes) {
  out_ += '<';
  out_ += tag;
  if (!attributes.empty()) out_ += ' ';
  out_ += attributes;
  out_ += '>';
  open_.emplace_back(tag);
  return *this;
}

Html& Html::close() {
  PB_CHECK(!open_.empty(), open_.size());
  out_ += "</" + open_.back() + ">\n";
  open_.pop_back();
  return *this;
}

Html& Html::text(std::string_view content) {
  out_ += escape_markup(content);
  return *this;
}

Html& Html::element(std::string_view tag, std::string_view content, std::string_view attributes) {
  return open(tag, attributes).text(content).close();
}

Html& Html::markup(std::string_view trusted) {
  out_ += trusted;
  return *this;
}

Html& Html::figure(std::string_view svg, std::string_view caption) {
  return open("figure").markup(svg).element("figcaption", caption).close();
}

Html& Html::open_table(std::string_view caption, const std::vector<std::string>& headings) {
  // A wide table scrolls in its own box, which keys must be able to reach.
  open("div", "class=\"wide\" role=\"region\" tabindex=\"0\" aria-label=\"" +
                  escape_markup(caption) + "\"");
  open("table").element("caption", caption).open("thead").open("tr");
  numeric_.clear();
  for (const std::string& h : headings) {
    const bool number = h.starts_with('#');
    numeric_.push_back(number);
    element("th", number ? h.substr(1) : h, number ? "scope=\"col\" class=\"n\"" : "scope=\"col\"");
  }
  return close().close().open("tbody");
}

Html& Html::row(const std::vector<std::string>& cells) {
  open("tr");
  for (std::size_t i = 0; i < cells.size(); ++i) {
    const bool number = i < numeric_.size() && numeric_[i];
    std::string attributes = i == 0 ? "scope=\"row\"" : "";
    if (number) attributes += i == 0 ? " class=\"n\"" : "class=\"n\"";
    open(i == 0 ? "th" : "td", attributes);
    const auto lines = split(cells[i], '\n');
    for (std::size_t k = 0; k < lines.size(); ++k) {
      if (k > 0) markup("<br/>");
      text(lines[k]);
    }
    close();
  }
  return close();
}

Html& Html::close_table() { return close().close().close(); }

std::string Html::finish() {
  PB_CHECK(open_.empty(), open_.size());
  return std::move(out_);
}

}  // namespace pb::delivery
