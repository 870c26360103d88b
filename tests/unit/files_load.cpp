// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Everything a path can be other than a readable file is one clear problem.
#include "files/load.h"

#include <gtest/gtest.h>
#include <sys/stat.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>

namespace pb {
namespace {

TEST(FilesLoad, EveryKindOfPath) {
  namespace fs = std::filesystem;
  const fs::path root = fs::path(testing::TempDir()) / ("load-" + std::to_string(::getpid()));
  fs::create_directories(root);
  const auto message = [&](const char* name) {
    const auto text = load_text((root / name).string());
    return text ? "read" : text.error().at(0).message;
  };
  EXPECT_EQ(message("missing"), "there is no such file");
  EXPECT_EQ(message(""), "a folder, not a file");
  fs::create_symlink(root / "missing", root / "dangling");
  EXPECT_EQ(message("dangling"), "a link to a file that is not there");
  ASSERT_EQ(::mkfifo((root / "pipe").c_str(), 0600), 0);
  EXPECT_EQ(message("pipe"), "not a regular file");
  std::ofstream(root / "empty");
  EXPECT_EQ(load_text((root / "empty").string()).value(), "");
  const std::string bytes("a\0\r\n\xff", 5);
  std::ofstream(root / "bytes", std::ios::binary) << bytes;
  EXPECT_EQ(load_text((root / "bytes").string()).value(), bytes);
  fs::create_symlink(root / "bytes", root / "link");
  EXPECT_EQ(load_text((root / "link").string()).value(), bytes);
  fs::remove_all(root);
}

}  // namespace
}  // namespace pb
