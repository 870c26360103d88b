// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What the tests of the deliveries share: a design for any template, and a reader of the markup the
// deliveries write, which knows nothing of how they write it.
#pragma once

#include <cctype>
#include <map>
#include <string>
#include <vector>

#include <gtest/gtest.h>

#include "files/catalogue.h"
#include "files/load.h"
#include "files/toml_brief.h"
#include "files/toml_template.h"
#include "model/design.h"
#include "tests/unit/files_samples.h"

namespace pb::test {

/// The template with the starter catalogue's first part of each class, optional roles or not.
inline Design design_of(const Template& wiring, bool optional) {
  static const Catalogue catalogue = [] {
    const std::string file = (kRoot / "parts/starter.csv").string();
    return *read_catalogue(file, *load_text(file));
  }();
  Design d;
  ReadBrief brief = *read_brief("least.toml", kLeastBrief);
  d.brief = brief.brief;
  d.assumed = brief.assumed;
  d.wiring = wiring;
  for (const Role& role : wiring.roles) {
    if (role.optional && !optional) continue;
    for (const Part& part : catalogue.parts)
      if (part.part_class == role.part_class) {
        d.parts[role.name] = part;
        break;
      }
    if (!role.values.empty()) d.settings.value[role.name] = role.values.front();
  }
  return d;
}

inline std::vector<Template> all_templates() {
  return *load_templates((kRoot / "templates").string());
}

/// One element's start tag, with its attributes and the text up to the next tag.
struct Element {
  std::string name, text;
  std::map<std::string, std::string> attributes;
  std::vector<std::string> parents;
};

/// The elements of well-formed markup in order; a test failure where tags do not balance, an
/// attribute is not quoted, or a bare '<' or '&' stands in text.
inline std::vector<Element> read_markup(const std::string& text) {
  std::vector<Element> out;
  std::vector<std::string> open;
  const auto is_void = [](const std::string& n) { return n == "meta"; };
  for (std::size_t i = 0; i < text.size();) {
    if (text.compare(i, 9, "<!DOCTYPE") == 0) i = text.find('>', i) + 1;
    if (text[i] != '<') {
      const std::size_t end = std::min(text.find('<', i), text.size());
      std::string run = text.substr(i, end - i);
      const bool raw = !open.empty() && open.back() == "style";
      for (std::size_t a = run.find('&'); !raw && a != std::string::npos; a = run.find('&', a + 1))
        EXPECT_TRUE(run.find(';', a) != std::string::npos && run.find(';', a) - a < 8) << run;
      if (!out.empty() && !open.empty() && out.back().name == open.back()) out.back().text += run;
      i = end;
      continue;
    }
    const std::size_t end = text.find('>', i);
    if (end == std::string::npos) {
      ADD_FAILURE() << "unfinished tag at " << text.substr(i, 60);
      return out;
    }
    std::string tag = text.substr(i + 1, end - i - 1);
    i = end + 1;
    if (tag.starts_with('/')) {
      if (open.empty() || open.back() != tag.substr(1)) {
        ADD_FAILURE() << "closing " << tag << " inside "
                      << (open.empty() ? "nothing" : open.back());
        return out;
      }
      open.pop_back();
      continue;
    }
    const bool closed = tag.ends_with('/');
    if (closed) tag.pop_back();
    Element e;
    std::size_t at = 0;
    while (at < tag.size() && !std::isspace(static_cast<unsigned char>(tag[at]))) ++at;
    e.name = tag.substr(0, at);
    e.parents = open;
    while (at < tag.size()) {
      const std::size_t equals = tag.find("=\"", at);
      const std::size_t quote = equals == std::string::npos ? equals : tag.find('"', equals + 2);
      if (quote == std::string::npos) {
        EXPECT_EQ(tag.find_first_not_of(' ', at), std::string::npos) << tag;
        break;
      }
      const std::size_t name = tag.find_first_not_of(' ', at);
      e.attributes[tag.substr(name, equals - name)] = tag.substr(equals + 2, quote - equals - 2);
      at = quote + 1;
    }
    if (!closed && !is_void(e.name)) open.push_back(e.name);
    out.push_back(std::move(e));
  }
  EXPECT_TRUE(open.empty()) << "still open: " << (open.empty() ? "" : open.back());
  return out;
}

}  // namespace pb::test
