// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Any bytes: refused with one-line messages, or read, written and read again to the same cells; and
// the catalogue reader refuses or keeps every figure through write and read.
#include <cstdint>
#include <string>

#include "base/check.h"
#include "base/text.h"
#include "files/catalogue.h"
#include "files/csv.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string text(reinterpret_cast<const char*>(data), size);
  if (const auto rows = pb::read_csv("fuzz", text)) {
    pb::CsvWriter out;
    for (const auto& row : *rows) {
      for (const auto& cell : row) out.text(cell.text);
      out.end_row();
    }
    const auto again = pb::read_csv("fuzz", out.str());
    PB_CHECK(again && again->size() == rows->size(), out.str());
    for (std::size_t r = 0; r < rows->size(); ++r)
      for (std::size_t c = 0; c < (*rows)[r].size(); ++c)
        PB_CHECK(pb::unguarded((*again)[r][c].text) == (*rows)[r][c].text, out.str());
  } else {
    for (const auto& p : rows.error()) PB_CHECK(pb::is_utf8(pb::to_line(p)), p.line);
  }
  if (const auto catalogue = pb::read_catalogue("fuzz", text)) {
    const std::string written = pb::write_catalogue(catalogue->parts);
    const auto again = pb::read_catalogue("fuzz", written);
    PB_CHECK(again && pb::write_catalogue(again->parts) == written, written);
  }
  return 0;
}
