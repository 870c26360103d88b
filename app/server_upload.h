// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// POST /api/upload?name=NAME.csv: a capture or a catalogue brought into the folder, of any size up
// to kMostUpload, on disk as it comes. The one body that is never held in memory. Tested by
// tests/unit/app_server.cpp and tests/browser/test_safety.py.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "app/server.h"

namespace pb::app {

inline constexpr std::size_t kMostUpload = 1u << 30;
inline constexpr const char *kUploadPath = "/api/upload", *kUploadType = "text/csv";

/// One upload. Unless finish() answers 200 nothing is left of it.
class Upload {
 public:
  /// `head` was admitted.
  Upload(const Desk& desk, const HttpRequest& head);
  ~Upload();
  Upload(const Upload&) = delete;
  Upload& operator=(const Upload&) = delete;

  /// The next piece; false if no more is wanted.
  bool take(std::string_view piece);
  bool refused() const { return refusal_.has_value(); }
  /// {"file", "bytes"} under a name that was free, or why not.
  HttpResponse finish();

 private:
  std::filesystem::path folder_;
  std::string stem_, work_;
  int file_ = -1;
  std::size_t size_ = 0;
  std::optional<HttpResponse> refusal_;
};

}  // namespace pb::app
