// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Body sizes of the JEDEC and IEC outlines with 0.25 mm of courtyard around the pads, rounded up to
// a tenth: from memory. They weigh on cost only; the board data carries its own pads.
#include "judgement/package.h"

namespace pb {
namespace {

constexpr Package kPackages[] = {
    {"0402", 1.0, 1.9, false, 2},       {"0603", 1.5, 3.0, false, 2},
    {"0805", 2.0, 3.4, false, 2},       {"1206", 2.3, 4.6, false, 2},
    {"1210", 3.2, 4.6, false, 2},       {"2010", 3.2, 6.4, false, 2},
    {"2512", 3.9, 7.7, false, 2},       {"SOD-323", 1.9, 3.6, false, 2},
    {"SOD-123", 2.4, 4.8, false, 2},    {"SMA", 3.4, 7.2, false, 2},
    {"SMB", 4.5, 7.5, false, 2},        {"SMC", 6.8, 9.9, false, 2},
    {"SOT-23", 3.5, 3.8, false, 3},     {"SOT-323", 2.5, 3.0, false, 3},
    {"SOT-89", 5.0, 5.2, false, 3},     {"SOT-223", 7.1, 7.9, false, 4},
    {"SO-8", 5.4, 7.5, false, 8},       {"DFN-2x2", 2.5, 2.5, false, 7},
    {"DPAK", 7.2, 11.6, false, 3},      {"CAN-5", 5.8, 7.2, false, 2},
    {"CAN-6.3", 7.1, 8.6, false, 2},    {"CAN-8", 8.8, 10.8, false, 2},
    {"CAN-10", 10.8, 12.6, false, 2},   {"DO-35", 2.6, 9.7, true, 2},
    {"DO-41", 3.2, 12.2, true, 2},      {"TO-92", 4.3, 5.4, true, 3},
    {"TO-220", 5.1, 10.9, true, 3},     {"RADIAL-5", 5.6, 5.6, true, 2},
    {"RADIAL-6.3", 6.9, 6.9, true, 2},  {"RADIAL-8", 8.6, 8.6, true, 2},
    {"RADIAL-10", 10.6, 10.6, true, 2}, {"AXIAL-2.5", 3.0, 11.0, true, 2},
    {"SOT-23-6", 3.5, 3.8, false, 6},   {"TSSOP-16", 5.5, 7.5, false, 16},
    {"SO-16", 10.4, 7.5, false, 16},    {"DFN-3x3", 3.5, 3.5, false, 17},
    {"TSSOP-20", 7.0, 7.5, false, 20},  {"SO-20", 13.3, 11.2, false, 20},
};

}  // namespace

std::span<const Package> packages() { return kPackages; }

const Package* find_package(std::string_view name) {
  for (const Package& p : kPackages)
    if (p.name == name) return &p;
  return nullptr;
}

}  // namespace pb
