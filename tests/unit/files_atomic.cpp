// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Output is there whole or not at all, and nothing of somebody else's is ever replaced.
#include "files/atomic.h"

#include <gtest/gtest.h>
#include <unistd.h>

#include <fstream>

#include "files/load.h"

namespace pb {
namespace {

namespace fs = std::filesystem;

class FilesAtomic : public testing::Test {
 protected:
  FilesAtomic() : root_(fs::path(testing::TempDir()) / ("atomic-" + std::to_string(::getpid()))) {
    fs::remove_all(root_);
    fs::create_directories(root_);
  }
  ~FilesAtomic() override { fs::remove_all(root_); }

  std::string in(const std::string& name) const { return (root_ / name).string(); }
  std::size_t entries() const {
    return static_cast<std::size_t>(
        std::distance(fs::directory_iterator(root_), fs::directory_iterator()));
  }
  void make_output(const std::string& text) {
    auto folder = OutputFolder::begin(in("out"));
    ASSERT_TRUE(folder) << to_line(folder.error().problem);
    ASSERT_TRUE(folder->write("a/b.txt", text));
    ASSERT_TRUE(folder->commit("1"));
  }

  fs::path root_;
};

TEST_F(FilesAtomic, FileIsReplacedWhole) {
  ASSERT_TRUE(write_file(in("f"), "one"));
  ASSERT_TRUE(write_file(in("f"), "two"));
  EXPECT_EQ(load_text(in("f")).value(), "two");
  EXPECT_EQ(entries(), 1u);
}

TEST_F(FilesAtomic, FileFaultsLeaveNothingBehind) {
  const auto missing = write_file(in("no/f"), "x");
  ASSERT_FALSE(missing);
  EXPECT_FALSE(missing.error().refused);
  fs::create_directory(root_ / "folder");
  EXPECT_TRUE(write_file(in("folder"), "x").error().refused);
  EXPECT_EQ(entries(), 1u);
}

TEST_F(FilesAtomic, FolderIsMadeAndReplaced) {
  make_output("one");
  EXPECT_EQ(load_text(in("out/a/b.txt")).value(), "one");
  make_output("two");
  EXPECT_EQ(load_text(in("out/a/b.txt")).value(), "two");
  EXPECT_NE(load_text(in("out/manifest.json")).value().find("pennybridge"), std::string::npos);
  EXPECT_EQ(entries(), 1u);
}

TEST_F(FilesAtomic, GivenUpFolderLeavesThePlaceAlone) {
  make_output("one");
  {
    auto folder = OutputFolder::begin(in("out/"));
    ASSERT_TRUE(folder);
    ASSERT_TRUE(folder->write("c", "x"));
  }
  EXPECT_EQ(load_text(in("out/a/b.txt")).value(), "one");
  EXPECT_EQ(entries(), 1u);
}

TEST_F(FilesAtomic, WhatIsNotOursIsRefused) {
  fs::create_directory(root_ / "out");
  EXPECT_TRUE(OutputFolder::begin(in("out")).error().refused);
  std::ofstream(root_ / "out/manifest.json") << "{\"made_by\": \"someone\"}";
  EXPECT_TRUE(OutputFolder::begin(in("out")).error().refused);
  std::ofstream(root_ / "out/manifest.json") << "[1";
  EXPECT_TRUE(OutputFolder::begin(in("out")).error().refused);
  std::ofstream(root_ / "file") << "x";
  EXPECT_TRUE(OutputFolder::begin(in("file")).error().refused);
  EXPECT_TRUE(OutputFolder::begin("").error().refused);
  EXPECT_TRUE(OutputFolder::begin("/").error().refused);
  EXPECT_EQ(entries(), 2u);
}

TEST_F(FilesAtomic, FilesAddedByTheUserAreNotLost) {
  make_output("one");
  std::ofstream(root_ / "out/a/notes.txt") << "mine";
  const auto again = OutputFolder::begin(in("out"));
  ASSERT_FALSE(again);
  EXPECT_TRUE(again.error().refused);
  EXPECT_NE(to_line(again.error().problem).find("notes.txt"), std::string::npos);
}

TEST_F(FilesAtomic, LinkToAFolderIsFollowed) {
  make_output("one");
  fs::create_directory_symlink(root_ / "out", root_ / "link");
  auto folder = OutputFolder::begin(in("link"));
  ASSERT_TRUE(folder);
  ASSERT_TRUE(folder->write("n", "two"));
  ASSERT_TRUE(folder->commit("1"));
  EXPECT_TRUE(fs::is_symlink(root_ / "link"));
  EXPECT_EQ(load_text(in("out/n")).value(), "two");
}

}  // namespace
}  // namespace pb
