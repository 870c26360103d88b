// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "base/natural.h"

#include <algorithm>

#include "base/check.h"

namespace pb {
namespace {

constexpr std::uint32_t kBase = 1'000'000'000;
constexpr std::size_t kDigits = 9;

}  // namespace

Natural::Natural(std::uint64_t n) {
  for (; n > 0; n /= kBase) limbs_.push_back(static_cast<std::uint32_t>(n % kBase));
}

void Natural::trim() {
  while (!limbs_.empty() && limbs_.back() == 0) limbs_.pop_back();
}

Natural& Natural::operator+=(const Natural& o) {
  limbs_.resize(std::max(limbs_.size(), o.limbs_.size()) + 1, 0);
  std::uint32_t carry = 0;
  for (std::size_t k = 0; k < limbs_.size(); ++k) {
    const std::uint32_t sum = limbs_[k] + (k < o.limbs_.size() ? o.limbs_[k] : 0) + carry;
    carry = sum / kBase;
    limbs_[k] = sum % kBase;
  }
  trim();
  return *this;
}

Natural& Natural::operator-=(const Natural& o) {
  PB_CHECK(limbs_.size() >= o.limbs_.size(), text(), o.text());
  std::uint32_t borrow = 0;
  for (std::size_t k = 0; k < limbs_.size(); ++k) {
    const std::uint32_t take = (k < o.limbs_.size() ? o.limbs_[k] : 0) + borrow;
    borrow = limbs_[k] < take ? 1 : 0;
    limbs_[k] += borrow * kBase;
    limbs_[k] -= take;
  }
  PB_CHECK(borrow == 0, o.text());
  trim();
  return *this;
}

Natural& Natural::operator*=(std::uint64_t factor) {
  PB_CHECK(factor < (std::uint64_t{1} << 32U), factor);
  std::uint64_t carry = 0;
  for (std::uint32_t& limb : limbs_) {
    const std::uint64_t product = limb * factor + carry;
    limb = static_cast<std::uint32_t>(product % kBase);
    carry = product / kBase;
  }
  for (; carry > 0; carry /= kBase) limbs_.push_back(static_cast<std::uint32_t>(carry % kBase));
  trim();
  return *this;
}

double Natural::approximate() const {
  double out = 0;
  for (auto limb = limbs_.rbegin(); limb != limbs_.rend(); ++limb) out = out * kBase + *limb;
  return out;
}

std::string Natural::text() const {
  if (limbs_.empty()) return "0";
  std::string out = std::to_string(limbs_.back());
  for (std::size_t k = limbs_.size() - 1; k-- > 0;) {
    const std::string digits = std::to_string(limbs_[k]);
    out += std::string(kDigits - digits.size(), '0') + digits;
  }
  return out;
}

}  // namespace pb
