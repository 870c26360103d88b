// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "files/capture.h"

#include <fcntl.h>
#include <fmt/core.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <cmath>
#include <cstring>
#include <limits>

#include "base/text.h"
#include "files/capture_layout.h"

namespace pb {
namespace {

using files::CaptureLayout;

constexpr double kNone = std::numeric_limits<double>::quiet_NaN();

std::unexpected<Problems> refused(Problem p) { return std::unexpected(Problems{std::move(p)}); }

/// A name parted from the unit in it: "CH1 (mV)", "time/ms", "Current in A", "winding_a_mA".
struct Head {
  std::string name, unit;
};

Head head_of(const std::string& text) {
  const std::size_t open = text.find_last_of("(["), close = text.find_last_of(")]");
  if (open != text.npos && close != text.npos && open < close)
    if (const std::string in = text.substr(open + 1, close - open - 1); files::find_unit(in))
      return {std::string(trim(std::string_view(text).substr(0, open))), in};
  for (const std::string_view mark : {" in ", "/", "_"}) {
    std::size_t at = text.find(mark);  // the longest unit: "speed_rad_s"
    for (; at != text.npos && at > 0; at = text.find(mark, at + 1))
      if (const std::string unit = text.substr(at + mark.size()); files::find_unit(unit))
        return {std::string(trim(std::string_view(text).substr(0, at))), unit};
  }
  return {text, ""};
}

constexpr auto kTimeNames = std::to_array<std::string_view>(
    {"time", "t", "times", "timestamp", "x-axis", "x", "seconds", "second", "zeit", "date"});

bool is_time_name(std::string_view name) {
  return std::any_of(kTimeNames.begin(), kTimeNames.end(),
                     [&](std::string_view n) { return equal_ignoring_case(n, name); });
}

/// One column of the table, on its way to a channel.
struct ReadColumn {
  std::size_t cell = 0;
  Head head;
  double scale = 1;
  std::vector<double> y;
};

class Reader {
 public:
  Reader(const std::string& file, std::string_view text, const CaptureOptions& options)
      : file_(file), text_(text), options_(options) {}

  Checked<Capture> read() {
    if (text_.starts_with("\xEF\xBB\xBF")) text_.remove_prefix(3);
    if (text_.starts_with("\xFF\xFE") || text_.starts_with("\xFE\xFF"))
      return refused({.file = file_,
                      .expected = "text of one byte a character, or UTF-8",
                      .found = "UTF-16",
                      .message = "save it as plain CSV"});
    auto layout = files::find_layout(text_);
    if (!layout)
      return refused({.file = file_,
                      .expected = "lines of numbers, a time and at least one channel",
                      .found = text_.empty() ? "an empty file" : "none at its beginning"});
    layout_ = std::move(*layout);
    if (Problems problems = choose_columns(); !problems.empty())
      return std::unexpected(std::move(problems));
    if (Problems problems = read_rows(); !problems.empty())
      return std::unexpected(std::move(problems));
    finish();
    return std::move(out_);
  }

 private:
  std::string known_columns() const {
    std::vector<std::string> names;
    names.reserve(layout_.columns.size());
    for (std::size_t k = 0; k < layout_.columns.size(); ++k)
      names.push_back(layout_.names[k].empty() ? "#" + std::to_string(layout_.columns[k] + 1)
                                               : escaped(layout_.names[k], 40));
    return join(names, ", ");
  }

  /// Index in columns_ of a column the user names; columns_.size() if there is none.
  std::size_t find_column(const std::string& theirs) const {
    for (std::size_t k = 0; k < columns_.size(); ++k)
      if (layout_.names[k] == theirs) return k;
    for (std::size_t k = 0; k < columns_.size(); ++k)
      if (!theirs.empty() && (equal_ignoring_case(layout_.names[k], theirs) ||
                              equal_ignoring_case(columns_[k].head.name, theirs)))
        return k;
    const std::string_view digits = std::string_view(theirs).substr(theirs.starts_with('#'));
    if (const auto number = to_integer(digits))
      for (std::size_t k = 0; k < columns_.size(); ++k)
        if (static_cast<long long>(columns_[k].cell) + 1 == *number) return k;
    return columns_.size();
  }

  Problems choose_columns() {
    for (std::size_t k = 0; k < layout_.columns.size(); ++k) {
      ReadColumn c;
      c.cell = layout_.columns[k];
      c.head = head_of(layout_.names[k]);
      if (!layout_.units[k].empty()) c.head.unit = layout_.units[k];
      columns_.push_back(std::move(c));
    }
    Problems problems;
    std::vector<bool> taken(columns_.size(), false);
    time_ = columns_.size();
    for (const CaptureColumn& asked : options_.columns) {
      const std::size_t k = find_column(asked.theirs);
      if (k == columns_.size() || taken[k]) {
        problems.push_back({.file = file_,
                            .line = std::max(layout_.first_line - 1, 1),
                            .column = 1,
                            .key = asked.ours,
                            .expected = "one of the columns " + known_columns(),
                            .found = pb::quoted(asked.theirs),
                            .message = k == columns_.size() ? "" : "given to two"});
        continue;
      }
      taken[k] = true;
      if (asked.ours == "time") {
        time_ = k;
      } else {
        rename(columns_[k], asked);
      }
    }
    for (std::size_t k = 0; k < columns_.size() && time_ == columns_.size(); ++k)
      if (!taken[k] && is_time_name(columns_[k].head.name)) time_ = k;
    for (std::size_t k = 0; k < columns_.size() && time_ == columns_.size(); ++k)
      if (const auto unit = files::find_unit(columns_[k].head.unit); unit && unit->si == "s")
        time_ = k;
    for (std::size_t k = 0; k < columns_.size() && time_ == columns_.size(); ++k)
      if (!taken[k]) time_ = k;
    for (std::size_t k = 0; k < columns_.size(); ++k)
      if (k != time_) to_si(columns_[k], k);
    return problems;
  }

  /// Ours, in the unit of our name; what the file says of its own unit still counts.
  void rename(ReadColumn& c, const CaptureColumn& asked) {
    const Head ours = head_of(asked.ours);
    const auto theirs = files::find_unit(c.head.unit), wanted = files::find_unit(ours.unit);
    c.scale = asked.times;
    if (theirs && wanted && theirs->si == wanted->si) {
      c.scale *= theirs->scale / wanted->scale;
    } else if (theirs && wanted) {
      out_.notes.push_back(
          fmt::format("{}: {} taken as {}", asked.ours, escaped(c.head.unit, 20), ours.unit));
    }
    c.head = {ours.name, wanted ? wanted->si : ours.unit};
    if (wanted) c.scale *= wanted->scale;
    renamed_.push_back(c.cell);
  }

  void to_si(ReadColumn& c, std::size_t k) {
    if (std::find(renamed_.begin(), renamed_.end(), c.cell) != renamed_.end()) return;
    if (c.head.name.empty()) c.head.name = "#" + std::to_string(layout_.columns[k] + 1);
    const auto unit = files::find_unit(c.head.unit);
    if (!unit) return;
    c.scale = unit->scale;
    c.head.unit = unit->si;
  }

  Problems read_rows() {
    std::size_t at = layout_.first_offset;
    reserve(text_.size() - at);
    std::vector<double> row(layout_.cells, kNone);
    double day_s = 0;
    std::size_t line = static_cast<std::size_t>(layout_.first_line) - 1;
    while (at < text_.size()) {
      ++line;
      const std::string_view text = files::next_line(text_, at);
      if (!looks_like_text(text)) return no_text(line);
      read_cells(text, row);
      double t = row[columns_[time_].cell];
      if (std::isnan(t)) {
        if (!trim(text).empty() && skip(line)) return too_much_text();
        continue;
      }
      constexpr double kDay_s = 86400;
      if (clock_ && !out_.t_s.empty() && t + day_s < out_.t_s.back() - 0.5 * kDay_s)
        day_s += kDay_s;  // past midnight
      t += day_s;
      if (!out_.t_s.empty() && t < out_.t_s.back()) return backwards(line, t);
      out_.t_s.push_back(t);
      for (std::size_t k = 0; k < columns_.size(); ++k) {
        if (k == time_) continue;
        double y = row[columns_[k].cell] * columns_[k].scale;
        if (!std::isfinite(y)) y = kNone;
        out_.gaps += std::isnan(y);
        columns_[k].y.push_back(y);
      }
    }
    constexpr std::size_t kFewest = 8;  // below this nothing can be told from noise
    if (out_.t_s.size() >= kFewest && out_.t_s.back() > out_.t_s.front()) return {};
    return {{.file = file_,
             .line = static_cast<int>(std::min<std::size_t>(line, 1u << 30)),
             .column = 1,
             .key = "time",
             .expected = "at least 8 rows, over some time",
             .found = std::to_string(out_.t_s.size()) + " rows"}};
  }

  void reserve(std::size_t bytes) {
    std::size_t at = layout_.first_offset, rows = 0;
    while (at < text_.size() && rows < 100) files::next_line(text_, at), ++rows;
    const std::size_t each = (at - layout_.first_offset) / std::max<std::size_t>(rows, 1) + 1;
    out_.t_s.reserve(bytes / each);
    for (std::size_t k = 0; k < columns_.size(); ++k)
      if (k != time_) columns_[k].y.reserve(bytes / each);
  }

  void read_cells(std::string_view line, std::vector<double>& row) {
    std::fill(row.begin(), row.end(), kNone);
    std::size_t at = 0, k = 0, wanted = 0;
    std::string_view cell;
    while (wanted < layout_.columns.size() && files::next_cell(line, layout_.separator, at, cell)) {
      if (k++ != layout_.columns[wanted]) continue;
      row[layout_.columns[wanted++]] = files::cell_number(cell, layout_.decimal, &clock_);
    }
  }

  /// A line of text amid the numbers; true when there are too many of them to go on.
  bool skip(std::size_t line) {
    if (out_.skipped_rows++ == 0) first_skipped_ = line;
    constexpr std::size_t kSome = 100;
    return out_.skipped_rows > kSome + out_.t_s.size() / 10;
  }

  static bool looks_like_text(std::string_view line) {
    constexpr std::size_t kLongest = std::size_t{1} << 20;
    return line.size() <= kLongest && line.find('\0') == std::string_view::npos;
  }

  Problems no_text(std::size_t line) const {
    return {{.file = file_,
             .line = static_cast<int>(std::min<std::size_t>(line, 1u << 30)),
             .column = 1,
             .key = "row",
             .expected = "a line of numbers",
             .found = "bytes that are no text, or a line of more than 1 MiB"}};
  }

  Problems too_much_text() const {
    return {{.file = file_,
             .line = static_cast<int>(first_skipped_),
             .column = 1,
             .expected = "rows of numbers as in line " + std::to_string(layout_.first_line),
             .found = std::to_string(out_.skipped_rows) + " rows that are none"}};
  }

  Problems backwards(std::size_t line, double t) const {
    return {{.file = file_,
             .line = static_cast<int>(line),
             .column = 1,
             .key = layout_.names[time_].empty() ? "time" : escaped(layout_.names[time_], 40),
             .expected = "a time not before " + shortest(out_.t_s.back()),
             .found = shortest(t),
             .message = "time runs backwards"}};
  }

  void finish() {
    out_.file = file_;
    if (clock_) {
      out_.time_unit = "clock";
      const double first = out_.t_s.front();
      for (double& t : out_.t_s) t -= first;
    } else {
      scale_time();
    }
    for (std::size_t k = 0; k < columns_.size(); ++k) {
      if (k == time_) continue;
      ReadColumn& c = columns_[k];
      if (std::all_of(c.y.begin(), c.y.end(), [](double y) { return std::isnan(y); })) continue;
      const bool known = files::find_unit(c.head.unit).has_value();
      out_.channels.push_back({c.head.name, known ? c.head.unit : "", std::move(c.y)});
    }
    if (out_.skipped_rows)
      out_.notes.push_back(
          fmt::format("{} lines of text amid the numbers passed over, the first "
                      "is line {}",
                      out_.skipped_rows, first_skipped_));
    if (out_.gaps) out_.notes.push_back(fmt::format("{} cells hold no number", out_.gaps));
  }

  void scale_time() {
    std::string unit = options_.time_unit.empty() ? columns_[time_].head.unit : options_.time_unit;
    auto found = files::find_unit(unit);
    if (!found || found->si != "s") {
      unit = guessed_unit();
      found = files::find_unit(unit);
      out_.time_unit_guessed = true;
      out_.notes.push_back("the file does not say its unit of time; taken as " + unit +
                           " from the step between rows");
    }
    out_.time_unit = unit;
    if (found->scale != 1)
      for (double& t : out_.t_s) t *= found->scale;
  }

  /// Recordings of windings have steps between nanoseconds and 50 ms (common practice, no source).
  std::string guessed_unit() const {
    const double step =
        (out_.t_s.back() - out_.t_s.front()) / static_cast<double>(out_.t_s.size() - 1);
    constexpr double kLongest_s = 0.05;
    return step <= kLongest_s ? "s" : step <= 1e3 * kLongest_s ? "ms" : "us";
  }

  std::string file_;
  std::string_view text_;
  const CaptureOptions& options_;
  CaptureLayout layout_;
  std::vector<ReadColumn> columns_;
  std::vector<std::size_t> renamed_;
  std::size_t time_ = 0, first_skipped_ = 0;
  bool clock_ = false;
  Capture out_;
};

/// A file as text without a copy of it.
class MappedFile {
 public:
  explicit MappedFile(const std::string& path) {
    const int file = ::open(path.c_str(), O_RDONLY | O_CLOEXEC | O_NONBLOCK);
    if (file < 0) {
      trouble = std::string("cannot be read: ") + std::strerror(errno);
      return;
    }
    struct stat about{};
    if (::fstat(file, &about) != 0 || !S_ISREG(about.st_mode)) {
      trouble = "not a regular file";
    } else if (about.st_size > 0) {
      size_ = static_cast<std::size_t>(about.st_size);
      data_ = ::mmap(nullptr, size_, PROT_READ, MAP_PRIVATE, file, 0);
      if (data_ == MAP_FAILED) {
        trouble = std::string("cannot be read: ") + std::strerror(errno);
      } else {
        ::madvise(data_, size_, MADV_SEQUENTIAL);
      }
    }
    ::close(file);
  }
  MappedFile(const MappedFile&) = delete;
  MappedFile& operator=(const MappedFile&) = delete;
  ~MappedFile() {
    if (data_ != MAP_FAILED) ::munmap(data_, size_);
  }
  std::string_view text() const {
    return data_ == MAP_FAILED ? std::string_view{}
                               : std::string_view(static_cast<const char*>(data_), size_);
  }
  std::string trouble;

 private:
  void* data_ = MAP_FAILED;
  std::size_t size_ = 0;
};

}  // namespace

Checked<CaptureColumn> read_capture_column(const std::string& text) {
  const std::size_t equals = text.find('='), star = text.rfind('*');
  CaptureColumn out;
  if (equals != text.npos) {
    out.ours = trim(std::string_view(text).substr(0, equals));
    std::string_view theirs = std::string_view(text).substr(equals + 1);
    if (star != text.npos && star > equals)
      if (const auto times = to_number(trim(std::string_view(text).substr(star + 1)))) {
        out.times = *times;
        theirs = theirs.substr(0, star - equals - 1);
      }
    out.theirs = trim(theirs);
  }
  if (!out.ours.empty() && !out.theirs.empty() && out.times != 0) return out;
  return refused({.key = "--column",
                  .expected = "OURS=THEIRS such as supply_A=CH2 or winding_a_A=CH1*10",
                  .found = pb::quoted(text)});
}

Checked<Capture> read_capture(const std::string& file, std::string_view text,
                              const CaptureOptions& options) {
  return Reader(file, text, options).read();
}

Checked<Capture> load_capture(const std::string& path, const CaptureOptions& options) {
  const MappedFile file(path);
  if (!file.trouble.empty()) return refused({.file = path, .message = file.trouble});
  return read_capture(path, file.text(), options);
}

}  // namespace pb
