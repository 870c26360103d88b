// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A drawing of ours (delivery/svg.h) as a PDF of one page: the same strokes and texts, nothing
// drawn anew. The bytes depend on the drawing alone: no date, no document number. Tested by
// tests/unit/delivery_pdf.cpp and, with another reader, by tests/cli/test_handoff.py.
#pragma once

#include <string>
#include <string_view>

namespace pb::delivery {

/// `svg` as Svg::finish() gives it. The page is landscape A4, or A3 where texts would be smaller
/// than 6 points. `footer` stands below the drawing. Characters outside Windows-1252 become '?'.
std::string pdf_of(std::string_view svg, std::string_view title, std::string_view footer);

}  // namespace pb::delivery
