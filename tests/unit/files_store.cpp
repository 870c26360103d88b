// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The store: bit for bit in and out, whole imports or none, and no scans where an index should
// serve.
#include "files/store.h"

#include <SQLiteCpp/SQLiteCpp.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>

#include "files/catalogue.h"
#include "files/store_sql.h"

namespace pb {
namespace {

namespace fs = std::filesystem;

class Store : public testing::Test {
 protected:
  Store()
      : folder_(fs::temp_directory_path() /
                ("pb-store-" + std::to_string(::getpid()) + "-" +
                 testing::UnitTest::GetInstance()->current_test_info()->name())),
        file_((folder_ / "parts.db").string()) {
    fs::create_directories(folder_);
  }
  ~Store() override { fs::remove_all(folder_); }

  PartStore open() {
    auto store = PartStore::open(file_);
    EXPECT_TRUE(store) << (store ? "" : to_line(store.error().problem));
    return std::move(*store);
  }

  fs::path folder_;
  std::string file_;
};

std::vector<Part> parts(const std::string& rows) {
  const auto out = read_catalogue(
      "p.csv",
      "number,class,package,stock,price_breaks,vds_max_V,rds_max_mohm,vce_max_V,source\n" + rows);
  EXPECT_TRUE(out) << (out ? "" : to_lines(out.error()));
  return out ? out->parts : std::vector<Part>{};
}

const std::string kPartRows =
    "b,n-mosfet,SOT-23,,1:0.1;1000:0.03,30,33.3,,s\n"
    "a,n-mosfet,SO-8,70,1:0.3;10:0.1,60,0.1,,\"x, \"\"y\"\"\"\n"
    "c,npn,SOT-23,5,2000:0.01,,,45,s\n";

TEST_F(Store, GivesBackWhatItGot) {
  const std::vector<Part> in = parts(kPartRows);
  {
    PartStore store = open();
    const auto count = store.import(in);
    ASSERT_TRUE(count);
    EXPECT_EQ(count->added, 3);
  }
  const PartStore store = open();  // from the disk
  const auto out = store.load();
  ASSERT_TRUE(out);
  ASSERT_EQ(out->size(), 3u);
  EXPECT_EQ(write_catalogue(*out), write_catalogue({in[1], in[0], in[2]}));
  EXPECT_EQ((*out)[0].row_sha256, row_hash(in[1]));
  EXPECT_FALSE(given((*out)[1].stock));
  EXPECT_EQ(store.load("npn")->size(), 1u);
  EXPECT_EQ(store.load("npn")->at(0).number, "c");
  EXPECT_TRUE(store.load("x' OR 1=1 --")->empty());  // bound, not pasted
}

TEST_F(Store, ReplacesWhatChanged) {
  PartStore store = open();
  ASSERT_TRUE(store.import(parts(kPartRows)));
  const auto count =
      store.import(parts("b,n-mosfet,SOT-23,,5:0.2,,,,s\nc,npn,SOT-23,5,2000:0.01,,,45,s\n"
                         "d,npn,SOT-23,5,1:1,,,45,s\n"));
  ASSERT_TRUE(count);
  EXPECT_EQ(count->added, 1);
  EXPECT_EQ(count->changed, 1);
  EXPECT_EQ(count->same, 1);
  const auto all = store.load();
  ASSERT_EQ(all->size(), 4u);
  const Part& b = (*all)[1];
  EXPECT_EQ(b.price_breaks, (std::vector<PriceBreak>{{5, 0.2}}));
  EXPECT_FALSE(given(figure(b, "vds_max")));  // no figure of the old row is left behind
}

TEST_F(Store, KeepsThePartsOfAnotherSource) {
  PartStore store = open();
  ASSERT_TRUE(store.import(parts(kPartRows)));
  const std::vector<Part> theirs = parts(
      "b,n-mosfet,SOT-23,9,1:0.2,30,50,,distributor\ne,npn,SOT-23,9,1:0.2,,,30,distributor\n");
  const auto would = store.compare(theirs);
  ASSERT_TRUE(would);
  EXPECT_EQ(would->added, 1);
  EXPECT_EQ(would->kept, std::vector<std::string>{"b"});
  EXPECT_EQ(store.load()->size(), 3u);  // looking changes nothing
  ASSERT_TRUE(store.import(theirs));
  EXPECT_EQ((*store.load())[1].source, "s");
  ASSERT_TRUE(store.import(theirs, OtherSource::replace));
  EXPECT_EQ((*store.load())[1].source, "distributor");
}

TEST_F(Store, IsNotMadeByReading) {
  const auto none = PartStore::open_to_read(file_);
  ASSERT_FALSE(none);
  EXPECT_TRUE(none.error().refused);
  EXPECT_FALSE(fs::exists(file_));
  ASSERT_TRUE(open().import(parts(kPartRows)));
  const auto store = PartStore::open_to_read(file_);
  ASSERT_TRUE(store);
  EXPECT_EQ(store->list()->size(), 3u);
}

TEST_F(Store, KeepsItsStateWhenAnImportFails) {
  PartStore store = open();
  ASSERT_TRUE(store.import(parts(kPartRows)));
  const std::string before = write_catalogue(*store.load());
  std::vector<Part> bad =
      parts("a,npn,SOT-23,5,1:1,,,45,\"x, \"\"y\"\"\"\nz,npn,SOT-23,5,1:1,,,45,s\n");
  bad[1].price_breaks = {{1, 1}, {1, 2}};  // the second breaks the table's key
  const auto failed = store.import(bad);
  ASSERT_FALSE(failed);
  EXPECT_NE(to_line(failed.error().problem).find("UNIQUE"), std::string::npos);
  EXPECT_EQ(write_catalogue(*store.load()), before);
}

TEST_F(Store, ListsByClass) {
  PartStore store = open();
  ASSERT_TRUE(store.import(parts(kPartRows)));
  const auto list = store.list();
  ASSERT_TRUE(list);
  ASSERT_EQ(list->size(), 3u);
  EXPECT_EQ((*list)[0].number, "a");
  EXPECT_EQ((*list)[0].unit_price_1k, 0.1);   // the last break up to 1000
  EXPECT_EQ((*list)[1].unit_price_1k, 0.03);  // a break at 1000
  EXPECT_EQ((*list)[2].unit_price_1k, 0.01);  // none up to 1000: the first
  EXPECT_EQ((*list)[2].part_class, "npn");
}

TEST_F(Store, LeavesFilesThatAreNotItsOwnAlone) {
  std::ofstream(file_)
      << "this is a text file, and long enough to be looked at as a database file\n";
  const auto size = fs::file_size(file_);
  EXPECT_FALSE(PartStore::open(file_));
  EXPECT_EQ(fs::file_size(file_), size);
  fs::remove(file_);
  {
    SQLite::Database other(file_, SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE);
    other.exec("CREATE TABLE t (x)");
  }
  const auto refused = PartStore::open(file_);
  ASSERT_FALSE(refused);
  EXPECT_NE(
      to_line(refused.error().problem).find("expected a store of parts, found another database"),
      std::string::npos);
  fs::remove(file_);
  {
    open();
    SQLite::Database newer(file_, SQLite::OPEN_READWRITE);
    newer.exec("PRAGMA user_version = 2");
  }
  EXPECT_FALSE(PartStore::open(file_));
  EXPECT_FALSE(PartStore::open((folder_ / "no" / "such.db").string()));
}

TEST_F(Store, UsesItsIndexes) {
  open();
  SQLite::Database db(file_, SQLite::OPEN_READONLY);
  const auto plan = [&](const char* statement) {
    SQLite::Statement s(db, std::string("EXPLAIN QUERY PLAN ") + statement);
    std::string out;
    while (s.executeStep()) out += s.getColumn(3).getString() + "\n";
    return out;
  };
  EXPECT_EQ(plan(sql::kFind), "SEARCH part USING PRIMARY KEY (number=?)\n");
  EXPECT_EQ(plan(sql::kPartsOfClass), "SEARCH part USING INDEX part_by_class (class=?)\n");
  EXPECT_EQ(plan(sql::kPrices), "SCAN price\n");  // in the order of the key
  EXPECT_EQ(plan(sql::kFigures), "SCAN figure\n");
  EXPECT_EQ(plan(sql::kList).find("TEMP B-TREE"), std::string::npos);  // nothing is sorted
}

}  // namespace
}  // namespace pb
