// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "files/store.h"

#include <SQLiteCpp/SQLiteCpp.h>

#include <algorithm>
#include <filesystem>
#include <optional>
#include <utility>

#include "base/check.h"
#include "base/text.h"
#include "files/catalogue.h"
#include "files/store_sql.h"

namespace pb {

struct PartStore::Open {
  std::string file;
  SQLite::Database db;
};

namespace {

constexpr int kBusyWait_ms = 5000;
constexpr int kNotADatabase = 26;  // SQLITE_NOTADB; SQLiteCpp does not name it

std::unexpected<WriteFault> refused(Problem problem) {
  return std::unexpected(WriteFault{.refused = true, .problem = std::move(problem)});
}

/// Runs `work` and turns what SQLite throws into a fault: a full disk or a locked file is nothing
/// the program can rule out beforehand.
template <class Work>
auto guard(const std::string& file, const Work& work) -> decltype(work()) {
  try {
    return work();
  } catch (const SQLite::Exception& e) {
    return std::unexpected(WriteFault{.refused = e.getErrorCode() == kNotADatabase,
                                      .problem = {.file = file, .message = escaped(e.what())}});
  }
}

void bind_number(SQLite::Statement& s, int index, double value) {
  if (given(value))
    s.bind(index, value);
  else
    s.bind(index);  // NULL
}

double number_at(const SQLite::Statement& s, int index) {
  const SQLite::Column c = s.getColumn(index);
  return c.isNull() ? kNotGiven : c.getDouble();
}

std::string text_at(const SQLite::Statement& s, int index) {
  return s.getColumn(index).getString();
}

/// The same without a copy: until the statement's next step.
std::string_view seen_at(const SQLite::Statement& s, int index) {
  const SQLite::Column c = s.getColumn(index);
  return {c.getText(), static_cast<std::size_t>(c.getBytes())};
}

/// Finds out what an import does with a part.
class Comparison {
 public:
  Comparison(SQLite::Database& db, OtherSource other) : find_(db, sql::kFind), other_(other) {}

  enum class Wish { nothing, add, replace };

  /// Counts the part, and says what is to be done with it.
  Wish wish(const Part& part, const std::string& hash, ImportCount& count) {
    find_.reset();
    find_.bind(1, part.number);
    const bool known = find_.executeStep();
    if (known && text_at(find_, 0) == hash) {
      ++count.same;
      return Wish::nothing;
    }
    if (known && other_ == OtherSource::keep && text_at(find_, 1) != part.source) {
      count.kept.push_back(part.number);
      return Wish::nothing;
    }
    ++(known ? count.changed : count.added);
    return known ? Wish::replace : Wish::add;
  }

 private:
  SQLite::Statement find_;
  OtherSource other_;
};

/// The statements of one import, prepared once.
class Importer {
 public:
  Importer(SQLite::Database& db, OtherSource other)
      : comparison_(db, other),
        part_(db, sql::kInsertPart),
        price_(db, sql::kInsertPrice),
        figure_(db, sql::kInsertFigure) {
    for (const char* statement : sql::kDelete) deletes_.emplace_back(db, statement);
  }

  void add(const Part& part, ImportCount& count) {
    const std::string hash = row_hash(part);
    const auto wish = comparison_.wish(part, hash, count);
    if (wish == Comparison::Wish::nothing) return;
    if (wish == Comparison::Wish::replace)
      for (SQLite::Statement& d : deletes_) run(d, part.number);
    insert(part, hash);
  }

 private:
  template <class... Ts>
  static void run(SQLite::Statement& s, const Ts&... values) {
    s.reset();
    int index = 0;
    (s.bind(++index, values), ...);
    s.exec();
  }

  void insert(const Part& p, const std::string& hash) {
    part_.reset();
    int i = 0;
    for (const std::string* text : {&p.number, &p.part_class, &p.package}) part_.bind(++i, *text);
    bind_number(part_, ++i, p.stock);
    for (const std::string* text : {&p.lifecycle, &p.currency}) part_.bind(++i, *text);
    for (const double number : {p.minimum, p.multiple}) part_.bind(++i, number);
    for (const std::string* text : {&p.source, &hash}) part_.bind(++i, *text);
    part_.exec();
    for (const PriceBreak& b : p.price_breaks) run(price_, p.number, b.quantity, b.unit_price);
    const PartClass& c = *find_part_class(p.part_class);
    for (std::size_t k = 0; k < c.figures.size(); ++k)
      if (given(p.figures[k])) run(figure_, p.number, std::string(c.figures[k].name), p.figures[k]);
  }

  Comparison comparison_;
  SQLite::Statement part_, price_, figure_;
  std::vector<SQLite::Statement> deletes_;
};

Part part_at(const SQLite::Statement& s) {
  Part p;
  p.number = text_at(s, 0);
  p.part_class = text_at(s, 1);
  p.package = text_at(s, 2);
  p.stock = number_at(s, 3);
  p.lifecycle = text_at(s, 4);
  p.currency = text_at(s, 5);
  p.minimum = number_at(s, 6);
  p.multiple = number_at(s, 7);
  p.source = text_at(s, 8);
  p.row_sha256 = text_at(s, 9);
  return p;
}

/// Rows that begin with a part's number and come in the order of the numbers.
class RowsByNumber {
 public:
  RowsByNumber(SQLite::Database& db, const char* statement) : rows_(db, statement) { step(); }

  /// Calls `take` with each row of the part; numbers must be asked for in rising order.
  template <class Take>
  void of(const std::string& number, const Take& take) {
    while (more_ && number_ < number) step();
    for (; more_ && number_ == number; step()) take(rows_);
  }

 private:
  void step() {
    more_ = rows_.executeStep();
    if (!more_) return;
    // Many rows of one number: a copy of it each is most of what reading costs.
    if (const std::string_view now = seen_at(rows_, 0); now != number_) number_ = now;
  }
  SQLite::Statement rows_;
  bool more_ = false;
  std::string number_;
};

/// Fills in figures and prices. A store may be older than the table of classes.
void load_details(RowsByNumber& prices, RowsByNumber& figures, Part& p, Problems& problems) {
  const PartClass* c = find_part_class(p.part_class);
  if (!c) {
    problems.push_back({.key = p.number,
                        .expected = "a class of part",
                        .found = pb::quoted(p.part_class),
                        .message = "import the catalogue again"});
    return;
  }
  p.figures.assign(c->figures.size(), kNotGiven);
  prices.of(p.number, [&](const SQLite::Statement& row) {
    p.price_breaks.push_back({number_at(row, 1), number_at(row, 2)});
  });
  figures.of(p.number, [&](const SQLite::Statement& row) {
    const std::string_view name = seen_at(row, 1);
    const int i = figure_index(*c, name);
    if (i >= 0)
      p.figures[static_cast<std::size_t>(i)] = number_at(row, 2);
    else
      problems.push_back({.key = p.number,
                          .expected = "a figure of " + p.part_class,
                          .found = pb::quoted(name),  // not std::quoted
                          .message = "import the catalogue again"});
  });
}

/// In the order of the tables, whose pages are then written one after the other.
std::vector<const Part*> by_number(const std::vector<Part>& parts) {
  std::vector<const Part*> out;
  out.reserve(parts.size());
  for (const Part& part : parts) out.push_back(&part);
  std::ranges::sort(out, {}, [](const Part* p) -> const std::string& { return p->number; });
  return out;
}

/// What is wrong with a file that is not ours, or of another version of us.
std::optional<Problem> not_ours(const std::string& file, SQLite::Database& db) {
  const int id = db.execAndGet("PRAGMA application_id").getInt();
  const int version = db.execAndGet("PRAGMA user_version").getInt();
  if (id != sql::kApplicationId)
    return Problem{.file = file, .expected = "a store of parts", .found = "another database"};
  if (version != sql::kVersion)
    return Problem{.file = file,
                   .expected = "a store of version " + std::to_string(sql::kVersion),
                   .found = "version " + std::to_string(version)};
  return std::nullopt;
}

/// A new file gets its tables.
void prepare(SQLite::Database& db) {
  SQLite::Transaction transaction(db, SQLite::TransactionBehavior::IMMEDIATE);
  const int id = db.execAndGet("PRAGMA application_id").getInt();
  if (id != 0 || db.execAndGet("SELECT count(*) FROM sqlite_schema").getInt() != 0) return;
  db.exec(sql::kCreate);
  db.exec("PRAGMA application_id = " + std::to_string(sql::kApplicationId));
  db.exec("PRAGMA user_version = " + std::to_string(sql::kVersion));
  transaction.commit();
}

}  // namespace

PartStore::PartStore(std::unique_ptr<Open> open) : open_(std::move(open)) {}
PartStore::PartStore(PartStore&&) noexcept = default;
PartStore& PartStore::operator=(PartStore&&) noexcept = default;
PartStore::~PartStore() = default;

Written<PartStore> PartStore::open(const std::string& file) {
  return guard(file, [&]() -> Written<PartStore> {
    auto opened = std::make_unique<Open>(Open{
        file, SQLite::Database(file, SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE, kBusyWait_ms)});
    prepare(opened->db);
    if (auto problem = not_ours(file, opened->db)) return refused(std::move(*problem));
    return PartStore(std::move(opened));
  });
}

Written<PartStore> PartStore::open_to_read(const std::string& file) {
  std::error_code error;
  if (!std::filesystem::exists(file, error))
    return refused({.file = file, .message = "there is no such store of parts"});
  return guard(file, [&]() -> Written<PartStore> {
    // Not OPEN_READONLY: a store whose last import broke off must be put right first. Where nothing
    // can be written SQLite falls back to reading.
    auto opened = std::make_unique<Open>(Open{
        file, SQLite::Database(file, SQLite::OPEN_READWRITE | SQLite::OPEN_NOMUTEX, kBusyWait_ms)});
    if (auto problem = not_ours(file, opened->db)) return refused(std::move(*problem));
    return PartStore(std::move(opened));
  });
}

Written<ImportCount> PartStore::import(const std::vector<Part>& parts, OtherSource other,
                                       const StopToken& stop) {
  return guard(open_->file, [&]() -> Written<ImportCount> {
    SQLite::Transaction transaction(open_->db, SQLite::TransactionBehavior::IMMEDIATE);
    ImportCount count;
    Importer importer(open_->db, other);
    for (const Part* part : by_number(parts)) {
      if (stop.stop_requested()) return std::unexpected(WriteFault{});
      importer.add(*part, count);
    }
    transaction.commit();
    return count;
  });
}

Written<ImportCount> PartStore::compare(const std::vector<Part>& parts, OtherSource other) const {
  return guard(open_->file, [&]() -> Written<ImportCount> {
    SQLite::Transaction transaction(open_->db);
    ImportCount count;
    Comparison comparison(open_->db, other);
    for (const Part& part : parts) comparison.wish(part, row_hash(part), count);
    return count;
  });
}

Written<std::vector<Part>> PartStore::load(std::string_view part_class) const {
  return guard(open_->file, [&]() -> Written<std::vector<Part>> {
    SQLite::Transaction transaction(open_->db);  // all statements see one state
    SQLite::Statement parts(open_->db, part_class.empty() ? sql::kParts : sql::kPartsOfClass);
    if (!part_class.empty()) parts.bind(1, std::string(part_class));
    RowsByNumber prices(open_->db, sql::kPrices), figures(open_->db, sql::kFigures);
    std::vector<Part> out;
    Problems problems;
    while (parts.executeStep()) {
      out.push_back(part_at(parts));
      load_details(prices, figures, out.back(), problems);
    }
    if (problems.empty()) return out;
    problems.front().file = open_->file;
    return refused(std::move(problems.front()));
  });
}

Written<std::vector<PartSummary>> PartStore::list() const {
  return guard(open_->file, [&]() -> Written<std::vector<PartSummary>> {
    SQLite::Statement rows(open_->db, sql::kList);
    std::vector<PartSummary> out;
    while (rows.executeStep())
      out.push_back({text_at(rows, 0), text_at(rows, 1), text_at(rows, 2), text_at(rows, 3),
                     text_at(rows, 4), text_at(rows, 5), number_at(rows, 6), number_at(rows, 7)});
    return out;
  });
}

}  // namespace pb
