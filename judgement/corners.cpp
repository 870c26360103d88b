// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/corners.h"

#include <algorithm>
#include <cmath>
#include <tuple>

namespace pb {
namespace {

/// Of the limit: below what the tolerances of a run can tell.
constexpr double kNoEffect = 1e-3;

double told(double x) { return std::round(x / kLastDigit); }

Signs corner_of(const Found& f) {
  Signs s(f.slope.size(), 0);
  for (std::size_t k = 0; k < s.size(); ++k)
    if (std::abs(f.slope[k]) > kNoEffect) s[k] = f.slope[k] > 0 ? -1 : 1;
  for (std::size_t k = 0; k < f.joint.size(); ++k)
    if (f.joint[k] != 0) s[k] = f.joint[k];
  return s;
}

bool merge(Signs& into, const Signs& other) {
  for (std::size_t k = 0; k < into.size(); ++k)
    if (into[k] * other[k] < 0) return false;
  for (std::size_t k = 0; k < into.size(); ++k)
    if (into[k] == 0) into[k] = other[k];
  return true;
}

}  // namespace

physics::Point point_of(const std::vector<physics::Spread>& spreads, const Signs& signs) {
  physics::Point p;
  for (std::size_t k = 0; k < spreads.size(); ++k)
    p.value.push_back(signs[k] < 0   ? spreads[k].min
                      : signs[k] > 0 ? spreads[k].max
                                     : spreads[k].typ);
  return p;
}

double margin(const Found& f) { return margin_of(f.row->sense, f.worst.value, f.worst.limit); }

double allowance(const Found& f) {
  return f.row->reads == Reads::figures ? 0.0
                                        : f.accuracy * std::abs(f.worst.value / f.worst.limit);
}

bool tighter(const Found* a, const Found* b) {
  const double of_a = told(margin(*a)), of_b = told(margin(*b));
  if (std::tie(of_a, a->row, a->signs) != std::tie(of_b, b->row, b->signs))
    return std::tie(of_a, a->row, a->signs) < std::tie(of_b, b->row, b->signs);
  return std::ranges::lexicographical_compare(a->slope, b->slope, {}, told, told);
}

int far_end(const physics::Spread& s) {
  if (s.max > s.typ) return 1;
  return s.min < s.typ ? -1 : 0;
}

std::vector<Signs> rails_apart(const std::vector<physics::Spread>& spreads) {
  std::vector<Signs> out;
  for (const int logic : {1, -1}) {
    Signs s(spreads.size(), 0);
    for (std::size_t k = 0; k < s.size(); ++k) {
      if (spreads[k].max <= spreads[k].min) continue;
      if (spreads[k].name == "supply.voltage") s[k] = -logic;
      if (spreads[k].name == "controller.logic_voltage") s[k] = logic;
    }
    if (std::count(s.begin(), s.end(), 0) + 2 == std::ssize(s)) out.push_back(std::move(s));
  }
  return out;
}

void note_joint(Found& f, double nominal_margin, const Signs& rails, double margin_there) {
  double least = nominal_margin;
  for (std::size_t k = 0; k < rails.size(); ++k)
    if (rails[k] != 0) least -= std::abs(f.slope[k]);
  if (!f.joint.empty()) least = std::min(least, f.joint_margin);
  if (margin_there < least - kNoEffect) f.joint = rails, f.joint_margin = margin_there;
}

std::vector<Signs> distinct_corners(const Findings& found) {
  std::vector<const Found*> all;
  all.reserve(found.size());
  for (const auto& [key, f] : found) all.push_back(&f);
  std::stable_sort(all.begin(), all.end(), tighter);
  std::vector<Signs> out;
  for (const Found* f : all) {
    const Signs s = corner_of(*f);
    if (std::none_of(out.begin(), out.end(), [&](Signs& o) { return merge(o, s); }))
      out.push_back(s);
  }
  return out;
}

std::vector<Signs> flips(const Findings& found, const std::vector<physics::Spread>& spreads,
                         const std::vector<Signs>& seen) {
  constexpr double kTight = 0.25;
  constexpr std::size_t kChecks = 3;
  std::vector<const Found*> tight;
  for (const auto& [key, f] : found)
    if (margin(f) < kTight &&
        std::any_of(f.signs.begin(), f.signs.end(), [](int s) { return s != 0; }))
      tight.push_back(&f);
  std::stable_sort(tight.begin(), tight.end(), tighter);
  if (tight.size() > kChecks) tight.resize(kChecks);
  std::vector<Signs> out;
  for (const Found* f : tight)
    for (std::size_t k = 0; k < f->signs.size(); ++k) {
      if (far_end(spreads[k]) == 0 || std::abs(f->slope[k]) < kNoEffect) continue;
      Signs s = f->signs;
      s[k] = s[k] == 0 ? far_end(spreads[k]) : -s[k];
      const auto is = [&](const Signs& o) { return o == s; };
      if (std::none_of(out.begin(), out.end(), is) && std::none_of(seen.begin(), seen.end(), is))
        out.push_back(std::move(s));
    }
  return out;
}

}  // namespace pb
