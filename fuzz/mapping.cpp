// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A mapping, a line "---", then a catalogue to read with it: refused with one-line messages, or
// parts that survive our own form of a catalogue.
#include <cstdint>
#include <string>

#include "base/check.h"
#include "base/text.h"
#include "files/catalogue.h"
#include "files/mapping.h"

namespace {

void expect_lines(const pb::Problems& problems) {
  for (const auto& p : problems)
    PB_CHECK(pb::is_utf8(pb::to_line(p)) && pb::to_line(p).find('\n') == std::string::npos, p.line);
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string text(reinterpret_cast<const char*>(data), size);
  const std::size_t cut = text.find("\n---\n");
  const auto mapping = pb::read_mapping("map", std::string_view(text).substr(0, cut));
  if (!mapping) {
    expect_lines(mapping.error());
    return 0;
  }
  const std::string table = cut == std::string::npos ? "" : text.substr(cut + 5);
  const auto survey = pb::survey_catalogue("table", table, &*mapping);
  expect_lines(survey ? survey->problems : survey.error());
  if (!survey) return 0;
  const std::string written = pb::write_catalogue(survey->good.parts);
  const auto again = pb::read_catalogue("written", written);
  PB_CHECK(again && pb::write_catalogue(again->parts) == written, written);
  return 0;
}
