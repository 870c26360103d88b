// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Every statement the store runs. Values are always bound. Internal to files; tested by
// tests/unit/files_store.cpp, query plans included.
#pragma once

namespace pb::sql {

inline constexpr int kApplicationId = 0x50425053;  // "PBPS": tells our files from others'
inline constexpr int kVersion = 1;  // of the tables; a change of them is a new number

// No REFERENCES between the tables: import removes and adds all rows of a part together.
inline constexpr const char* kCreate = R"(
CREATE TABLE part (
  number TEXT PRIMARY KEY, class TEXT NOT NULL, package TEXT NOT NULL, stock REAL,
  lifecycle TEXT NOT NULL, currency TEXT NOT NULL, minimum REAL NOT NULL, multiple REAL NOT NULL,
  source TEXT NOT NULL, row_sha256 TEXT NOT NULL
) STRICT, WITHOUT ROWID;
CREATE TABLE price (
  number TEXT NOT NULL, quantity REAL NOT NULL, unit_price REAL NOT NULL,
  PRIMARY KEY (number, quantity)
) STRICT, WITHOUT ROWID;
CREATE TABLE figure (
  number TEXT NOT NULL, name TEXT NOT NULL, value REAL NOT NULL, PRIMARY KEY (number, name)
) STRICT, WITHOUT ROWID;
CREATE INDEX part_by_class ON part (class, number);
)";

inline constexpr const char* kFind = "SELECT row_sha256, source FROM part WHERE number = ?";
inline constexpr const char* kDelete[] = {
    "DELETE FROM part WHERE number = ?",
    "DELETE FROM price WHERE number = ?",
    "DELETE FROM figure WHERE number = ?",
};
inline constexpr const char* kInsertPart = "INSERT INTO part VALUES (?,?,?,?,?,?,?,?,?,?)";
inline constexpr const char* kInsertPrice = "INSERT INTO price VALUES (?,?,?)";
inline constexpr const char* kInsertFigure = "INSERT INTO figure VALUES (?,?,?)";

inline constexpr const char* kParts =
    "SELECT number, class, package, stock, lifecycle, currency, minimum, multiple, source, "
    "row_sha256 FROM part ORDER BY number";
inline constexpr const char* kPartsOfClass =
    "SELECT number, class, package, stock, lifecycle, currency, minimum, multiple, source, "
    "row_sha256 FROM part WHERE class = ? ORDER BY number";
// Of every part, read along with the parts: a query a part costs more than the rows of others.
inline constexpr const char* kPrices =
    "SELECT number, quantity, unit_price FROM price ORDER BY number, quantity";
inline constexpr const char* kFigures =
    "SELECT number, name, value FROM figure ORDER BY number, name";

// The price that holds at 1,000 pieces: of the last break up to there, else of the first.
inline constexpr const char* kList = R"(
SELECT number, class, package, lifecycle, currency, source, stock, coalesce(
  (SELECT unit_price FROM price WHERE price.number = part.number AND quantity <= 1000
   ORDER BY quantity DESC LIMIT 1),
  (SELECT unit_price FROM price WHERE price.number = part.number ORDER BY quantity LIMIT 1))
FROM part ORDER BY class, number)";

}  // namespace pb::sql
