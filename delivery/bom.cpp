// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
#include "delivery/bom.h"

#include "base/text.h"
#include "delivery/values.h"
#include "files/csv.h"

namespace pb::delivery {

std::string bom_csv(const Design& design) {
  CsvWriter csv;
  for (const char* column : {"refs", "quantity", "number", "description", "package", "unit_price",
                             "line_cost", "currency", "alternatives", "source"})
    csv.text(column);
  csv.end_row();
  for (const PartsLine& line : parts_lines(design)) {
    const double count = static_cast<double>(line.refs.size());
    csv.text(join(line.refs, " ")).number(count).text(line.part->number);
    csv.text(description(design, line.roles.front())).text(line.part->package);
    csv.number(line.unit_price).number(line.unit_price * count).text(line.part->currency);
    csv.text("").text(line.part->source);
    csv.end_row();
  }
  return csv.str();
}

}  // namespace pb::delivery
