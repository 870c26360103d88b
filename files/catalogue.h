// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The catalogue as CSV. The first row names the columns:
//
//   number,class,package,stock,lifecycle,currency,minimum,multiple,price_breaks,source
//
// and then figures of model/part.h as FIGURE_UNIT: vds_max_V, rds_max_mohm, ciss_pF, tj_max_degC. A
// slash in the unit is written _per_ or plain _: rth_ja_K_per_W or rth_ja_K_W; tempco_ppm_K. Plain
// numbers have no unit: hfe_min. Order is free; number, class and price_breaks must be there. An
// empty cell is a figure nobody gave. Tested by tests/unit/files_catalogue.cpp.
//
// Invariants: a file with one problem gives no part at all, and every problem it has;
// read_catalogue(write_catalogue(parts)) is the same parts, bit for bit.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "base/problem.h"
#include "base/stop.h"
#include "files/mapping.h"
#include "model/part.h"

namespace pb {

/// Where a part came from: two rows that contradict each other are both named.
struct PartOrigin {
  std::string file;
  int line = 0, column = 0;
};

struct Catalogue {
  std::vector<Part> parts;
  std::vector<PartOrigin> origins;  // one a part
  Problems notes;                   // worth knowing, refuses nothing
};

/// All parts of the text, or every problem it has. Of another catalogue with its mapping. Never
/// throws on any text.
Checked<Catalogue> read_catalogue(std::string_view file, std::string_view text,
                                  const Mapping* mapping = nullptr);

/// What a text has to offer, good rows and bad.
struct Survey {
  Catalogue good;                     // rows without a problem
  Problems problems;                  // of the others
  std::size_t rows = 0;               // behind the header
  std::vector<std::string> left_out;  // columns the mapping does not read
};
/// Fails only where no row can be read at all. Ends early, with what it has, when asked to stop.
Checked<Survey> survey_catalogue(std::string_view file, std::string_view text,
                                 const Mapping* mapping = nullptr, const StopToken& stop = {});

/// Parts of both. The same number with the same data is one part; with other data it is a problem
/// at both places.
Checked<Catalogue> merge(Catalogue first, const Catalogue& second);

/// Sorted by nothing: rows in the order given; columns are the figures any of the parts has, in SI
/// units.
std::string write_catalogue(const std::vector<Part>& parts);

/// SHA-256 of one CSV line: number to source in the order above, then name and SI value of every
/// figure given, in the order of the class. Equal exactly for equal data, whatever the units in the
/// file were.
std::string row_hash(const Part& part);

/// "1:0.12;100:0.08" and back.
Checked<std::vector<PriceBreak>> parse_price_breaks(std::string_view text);
std::string to_text(const std::vector<PriceBreak>& breaks);

}  // namespace pb
