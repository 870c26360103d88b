// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// CSV by the rules of RFC 4180, section 2, and the places of cells.
#include "files/csv.h"

#include <gtest/gtest.h>

#include <cmath>

namespace pb {
namespace {

using Table = std::vector<std::vector<std::string>>;

Table texts(std::string_view text) {
  const auto rows = read_csv("t.csv", text);
  EXPECT_TRUE(rows) << (rows ? "" : to_lines(rows.error()));
  Table out;
  if (!rows) return out;
  for (const CsvRow& row : *rows) {
    auto& cells = out.emplace_back();
    for (const CsvCell& cell : row) cells.push_back(cell.text);
  }
  return out;
}

std::string faults_in(std::string_view text) {
  const auto rows = read_csv("t.csv", text);
  return rows ? "none" : to_lines(rows.error());
}

// The examples of RFC 4180, section 2, rules 1 to 7.
TEST(Csv, ReadsTheExamplesOfTheStandard) {
  const Table two = {{"aaa", "bbb", "ccc"}, {"zzz", "yyy", "xxx"}};
  EXPECT_EQ(texts("aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n"), two);
  EXPECT_EQ(texts("aaa,bbb,ccc\r\nzzz,yyy,xxx"), two);
  EXPECT_EQ(texts("\"aaa\",\"bbb\",\"ccc\"\r\nzzz,yyy,xxx"), two);
  EXPECT_EQ(texts("\"aaa\",\"b\r\nbb\",\"ccc\"\r\nzzz,yyy,xxx"),
            (Table{{"aaa", "b\r\nbb", "ccc"}, {"zzz", "yyy", "xxx"}}));
  EXPECT_EQ(texts("\"aaa\",\"b\"\"bb\",\"ccc\""), (Table{{"aaa", "b\"bb", "ccc"}}));
}

TEST(Csv, KeepsSpacesAndEmptyCells) {
  EXPECT_EQ(texts("a, b ,\n,,\n"), (Table{{"a", " b ", ""}, {"", "", ""}}));
  EXPECT_EQ(texts(""), Table{});
  EXPECT_EQ(texts("\n\r\na\n\n"), (Table{{"a"}}));
  EXPECT_EQ(texts("\"\"\n"), (Table{{""}}));
  EXPECT_EQ(texts("\xEF\xBB\xBF"
                  "a,b\n"),
            (Table{{"a", "b"}}));
}

TEST(Csv, KnowsWhereACellBegins) {
  const auto rows = read_csv("t.csv", "\xC2\xB5,b,c\n\"x\ny\",\"\"\"\",z\n");
  ASSERT_TRUE(rows);
  EXPECT_EQ((*rows)[0][1].column, 3);  // the micro sign is two bytes and one column
  EXPECT_EQ((*rows)[1][0].line, 2);
  EXPECT_EQ((*rows)[1][1].line, 3);  // behind a line end inside a cell
  EXPECT_EQ((*rows)[1][1].column, 4);
  EXPECT_EQ((*rows)[1][2].column, 9);
}

TEST(Csv, ReportsEveryProblemAtItsPlace) {
  EXPECT_EQ(faults_in("a,b\"c\n\"d\"e,f\n1\n"),
            "t.csv:1:4: expected a cell with quotes inside to be quoted, found \" (write \"a "
            "\"\"b\"\" c\")\n"
            "t.csv:2:4: expected a comma or the end of the line after a quoted cell, found \"e\"\n"
            "t.csv:3:1: expected 2 cells as in the first row, found 1\n");
  EXPECT_EQ(faults_in("a,\"b\nc"),
            "t.csv:1:3: expected a closing quote, found the end of the file\n");
  EXPECT_NE(faults_in("a,\xE4\n").find("t.csv:1:3: expected UTF-8 text"), std::string::npos);
  EXPECT_NE(faults_in("\xFF\xFE"
                      "a")
                .find("found UTF-16"),
            std::string::npos);
  EXPECT_NE(faults_in(std::string("a,b\0c", 5)).find("t.csv:1:4: expected text"),
            std::string::npos);
  EXPECT_NE(faults_in("a\rb\n").find("t.csv:1:2: expected text"), std::string::npos);
}

TEST(Csv, GuardsTextAgainstBeingRunAsAFormula) {
  for (const char* text : {"=1+1", "+1", "-1", "@x", "'=1", "''-1"}) {
    EXPECT_EQ(guarded(text), std::string("'") + text);
    EXPECT_EQ(unguarded(guarded(text)), text);
  }
  for (const char* text : {"", "a", "a=b", "'", "'a", "1-2"}) {
    EXPECT_EQ(guarded(text), text);
    EXPECT_EQ(unguarded(text), text);
  }
}

TEST(Csv, WritesWhatItReads) {
  CsvWriter out;
  out.text("=a").text("b,c").number(-0.1).number(std::nan("")).raw("x\"y").end_row();
  out.raw("").end_row();
  EXPECT_EQ(out.str(), "'=a,\"b,c\",-0.1,,\"x\"\"y\"\n\"\"\n");
  CsvReader reader("t.csv", out.str());
  CsvRow row;
  ASSERT_TRUE(reader.next(row));
  EXPECT_EQ(unguarded(row[0].text), "=a");
  EXPECT_EQ(row[4].text, "x\"y");
  ASSERT_TRUE(reader.next(row));
  EXPECT_EQ(row.size(), 1u);
  EXPECT_FALSE(reader.next(row));
}

}  // namespace
}  // namespace pb
