// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Invariants of the program itself. A broken one is a bug, not a bad input: it throws InternalError
// with the values that broke it, the job dies and the desk lives. Tested by
// tests/unit/base_check.cpp.
#pragma once

#include <sstream>
#include <stdexcept>
#include <string>

namespace pb {

/// A broken invariant. Caught in one place: where a verb or a job is started.
class InternalError : public std::logic_error {
 public:
  using std::logic_error::logic_error;
};

namespace detail {

[[noreturn]] void check_failed(const char* file, int line, const char* condition, const char* names,
                               const std::string& values);

template <class... Ts>
std::string list_values(const Ts&... values) {
  std::ostringstream out;
  out.precision(17);  // enough to tell any two doubles apart
  [[maybe_unused]] const char* separator = "";
  ((out << separator << values, separator = ", "), ...);
  return out.str();
}

}  // namespace detail
}  // namespace pb

/// PB_CHECK(n > 0, n, name): throws InternalError naming the condition, the place and the values
/// listed.
#define PB_CHECK(condition, ...)                                               \
  do {                                                                         \
    if (!(condition)) [[unlikely]]                                             \
      ::pb::detail::check_failed(__FILE__, __LINE__, #condition, #__VA_ARGS__, \
                                 ::pb::detail::list_values(__VA_ARGS__));      \
  } while (false)
