// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// SHA-256 by the letter of FIPS PUB 180-4.
#include "base/hash.h"

#include <algorithm>
#include <bit>

namespace pb {
namespace {

// First 32 bits of the fractional parts of the cube roots of the first 64 primes (FIPS
// 180-4, 4.2.2).
constexpr std::array<std::uint32_t, 64> kRound = {
    0x428a2f98, 0x71374491, 0xb5c0fbcf, 0xe9b5dba5, 0x3956c25b, 0x59f111f1, 0x923f82a4, 0xab1c5ed5,
    0xd807aa98, 0x12835b01, 0x243185be, 0x550c7dc3, 0x72be5d74, 0x80deb1fe, 0x9bdc06a7, 0xc19bf174,
    0xe49b69c1, 0xefbe4786, 0x0fc19dc6, 0x240ca1cc, 0x2de92c6f, 0x4a7484aa, 0x5cb0a9dc, 0x76f988da,
    0x983e5152, 0xa831c66d, 0xb00327c8, 0xbf597fc7, 0xc6e00bf3, 0xd5a79147, 0x06ca6351, 0x14292967,
    0x27b70a85, 0x2e1b2138, 0x4d2c6dfc, 0x53380d13, 0x650a7354, 0x766a0abb, 0x81c2c92e, 0x92722c85,
    0xa2bfe8a1, 0xa81a664b, 0xc24b8b70, 0xc76c51a3, 0xd192e819, 0xd6990624, 0xf40e3585, 0x106aa070,
    0x19a4c116, 0x1e376c08, 0x2748774c, 0x34b0bcb5, 0x391c0cb3, 0x4ed8aa4a, 0x5b9cca4f, 0x682e6ff3,
    0x748f82ee, 0x78a5636f, 0x84c87814, 0x8cc70208, 0x90befffa, 0xa4506ceb, 0xbef9a3f7, 0xc67178f2};

std::array<std::uint32_t, 64> schedule(const unsigned char* block) {
  std::array<std::uint32_t, 64> w{};
  for (std::size_t t = 0; t < 16; ++t)
    for (std::size_t k = 0; k < 4; ++k) w[t] = (w[t] << 8) | block[4 * t + k];
  for (std::size_t t = 16; t < 64; ++t) {
    const std::uint32_t a = w[t - 15], b = w[t - 2];
    const std::uint32_t s0 = std::rotr(a, 7) ^ std::rotr(a, 18) ^ (a >> 3);
    const std::uint32_t s1 = std::rotr(b, 17) ^ std::rotr(b, 19) ^ (b >> 10);
    w[t] = w[t - 16] + s0 + w[t - 7] + s1;
  }
  return w;
}

}  // namespace

void Sha256::compress(const unsigned char* block) {
  const auto w = schedule(block);
  auto [a, b, c, d, e, f, g, h] = state_;
  for (std::size_t t = 0; t < 64; ++t) {
    const std::uint32_t s1 = std::rotr(e, 6) ^ std::rotr(e, 11) ^ std::rotr(e, 25);
    const std::uint32_t s0 = std::rotr(a, 2) ^ std::rotr(a, 13) ^ std::rotr(a, 22);
    const std::uint32_t t1 = h + s1 + ((e & f) ^ (~e & g)) + kRound[t] + w[t];
    const std::uint32_t t2 = s0 + ((a & b) ^ (a & c) ^ (b & c));
    h = g, g = f, f = e, e = d + t1;
    d = c, c = b, b = a, a = t1 + t2;
  }
  const std::array<std::uint32_t, 8> out = {a, b, c, d, e, f, g, h};
  for (std::size_t i = 0; i < 8; ++i) state_[i] += out[i];
}

void Sha256::add(std::string_view bytes) {
  std::size_t fill = length_ % 64;
  length_ += bytes.size();
  while (!bytes.empty()) {
    const std::size_t n = std::min(bytes.size(), 64 - fill);
    std::copy_n(bytes.begin(), n, block_.begin() + static_cast<std::ptrdiff_t>(fill));
    bytes.remove_prefix(n);
    fill += n;
    if (fill == 64) {
      compress(block_.data());
      fill = 0;
    }
  }
}

std::string Sha256::hex() {
  const std::uint64_t bits = length_ * 8;
  std::string padding(1, '\x80');
  padding.append((119 - length_ % 64) % 64, '\0');  // up to 56 modulo 64
  for (int shift = 56; shift >= 0; shift -= 8) padding += static_cast<char>((bits >> shift) & 0xff);
  add(padding);
  std::string text;
  for (const std::uint32_t word : state_)
    for (int shift = 28; shift >= 0; shift -= 4) text += "0123456789abcdef"[(word >> shift) & 0xf];
  return text;
}

std::string sha256_hex(std::string_view bytes) {
  Sha256 hash;
  hash.add(bytes);
  return hash.hex();
}

}  // namespace pb
