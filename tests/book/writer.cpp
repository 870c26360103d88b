// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "tests/book/writer.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <sstream>

#include "files/csv.h"

namespace pb::book {
namespace {

/// What no compiler agrees on with another: rounding of the last bits.
constexpr double kRounding = 1e-8, kNothing = 1e-12;

std::string significant(double x, int digits) {
  if (std::abs(x) < kNothing) return "0";
  std::array<char, 40> text{};
  std::snprintf(text.data(), text.size(), "%#.*g", digits, x);
  std::string out = text.data();
  if (out.back() == '.') out.pop_back();
  return out;
}
std::string short_number(double x) {
  std::array<char, 40> text{};
  std::snprintf(text.data(), text.size(), "%.2g", x);
  return text.data();
}

std::string with_unit(const std::string& number, const std::string& unit) {
  return unit.empty() ? number : number + " " + unit;
}

/// An error or a tolerance, as a share or in the row's unit.
std::string amount(const Row& row, double x, bool limit) {
  if (row.tolerance.measure == Measure::absolute) {
    if (std::abs(x) < kNothing && !limit) return "0";
    return with_unit(short_number(x), row.unit);
  }
  if (std::abs(x) <= kRounding) return limit ? "rounding" : "0";
  return std::abs(x) < 1e-5 ? short_number(1e6 * x) + " ppm" : short_number(100 * x) + " %";
}

const char* name_of(Basis b) {
  switch (b) {
    case Basis::published:
      return "published value";
    case Basis::published_law:
      return "published law";
    case Basis::closed_form:
      return "closed form";
    case Basis::other_solver:
      return "other solver";
    case Basis::remembered:
      return "from memory";
  }
  return "";
}

int count(const std::vector<Computed>& book, Basis b) {
  int n = 0;
  for (const Computed& c : book)
    for (const Row& r : c.topic.rows) n += r.source.basis == b;
  return n;
}

std::string opening(const std::vector<Computed>& book) {
  const auto rows = [&](Basis b) { return std::to_string(count(book, b)); };
  std::size_t all = 0;
  for (const Computed& c : book) all += c.values.size();
  return R"(<!-- SPDX-FileCopyrightText: 2026 The Pennybridge authors -->
<!-- SPDX-License-Identifier: Apache-2.0 -->
<!-- Written by the test run: change tests/book/, not this file. -->

# What was checked against what

)" + std::to_string(all) +
         R"( numbers of the product, each beside one that its code had no part in. "Computed" is the product's own code; "expected" is worked
out in the tests, without a line of the product, from one of these:

| rows | basis | what it is |
| ---: | --- | --- |
| )" + rows(Basis::published) +
         R"( | published value | a number as it is printed in a standard, a worked example, a data sheet |
| )" + rows(Basis::published_law) +
         R"( | published law | a law or fit as it is printed, evaluated in another language |
| )" + rows(Basis::closed_form) +
         R"( | closed form | derived: circuit theory, mechanics, algebra |
| )" + rows(Basis::other_solver) +
         R"( | other solver | the same equations stated a second time and solved by another method |
| )" + rows(Basis::remembered) +
         R"( | from memory | a value of the trade whose source was not at hand; some are constants of the models, written down a second time |

**Agreement with an integrator proves the integrator, not the model.** Rows against other solvers, and most closed forms, rest
on the same equations as the product: they show that those are solved rightly. Whether a real motor, transistor or board obeys
them is another question. Only a bench answers it, and no row here was measured on one. What each model leaves out is in
[models.md](models.md); `pennybridge compare` and `identify` hold a design against a capture. Where a tolerance is wide, the
model is that coarse.

The same figures for a spreadsheet: [validation.csv](validation.csv). Both files are written by the test run, which fails when
what it computes is not what stands here. To write them anew after a change, and see by `git diff` what moved:

    cmake --preset test && ninja -C build-test book_tests
    PB_WRITE_BOOK=1 build-test/book_tests

Errors and tolerances in % or ppm are relative, others in the row's unit; less than ten parts in a billion is shown as 0. Rows
without a unit are plain numbers.
)";
}

/// Words in lines of at most 120 characters.
std::string wrapped(const std::string& words) {
  constexpr std::size_t kWidth = 120;
  std::string out, line;
  std::istringstream in(words);
  for (std::string word; in >> word;) {
    if (!line.empty() && line.size() + 1 + word.size() > kWidth) {
      out += line + "\n";
      line.clear();
    }
    line += (line.empty() ? "" : " ") + word;
  }
  return out + line;
}

std::string doubt_table(const std::vector<Noticed>& noticed) {
  std::string out = R"(
## Would a wrong constant be noticed?

Each constant in turn is made 2 % too great for the product, not for the expectation. The rows named must then fail, or the
test does. `tests/book/mutants.py` (with `./test --all`) goes further: it makes constants in the product's own source wrong by
2 %, compiles, and asks that the row named for each fails.

| constant 2 % too great | row | error as is | error then | tolerance |
| --- | --- | ---: | ---: | ---: |
)";
  std::string last;
  for (const Noticed& n : noticed) {
    const Row& r = n.row;
    out += "| " + (n.constant == last ? std::string() : n.constant) + " | " + r.claim + " | " +
           amount(r, error_of(r, n.as_is), false) + " | " +
           amount(r, error_of(r, n.skewed), false) + " | " + amount(r, r.tolerance.value, true) +
           " |\n";
    last = n.constant;
  }
  return out;
}

std::string topic_table(const Computed& c) {
  std::string out = "\n## " + c.topic.title + "\n\n" + wrapped(c.topic.words) +
                    "\n\n| what | expected | computed | unit | error | tolerance | source |\n"
                    "| --- | ---: | ---: | --- | ---: | ---: | ---: |\n";
  std::vector<Source> sources;
  for (std::size_t k = 0; k < c.topic.rows.size(); ++k) {
    const Row& r = c.topic.rows[k];
    auto s = std::find_if(sources.begin(), sources.end(),
                          [&](const Source& x) { return x.text == r.source.text; });
    if (s == sources.end()) s = sources.insert(s, r.source);
    out += "| " + r.claim + " | " + significant(r.expected, r.digits) + " | " +
           significant(c.values[k], r.digits) + " | " + r.unit + " | " +
           amount(r, error_of(r, c.values[k]), false) + " | " + amount(r, r.tolerance.value, true) +
           " | " + std::to_string(s - sources.begin() + 1) + " |\n";
  }
  out += "\n";
  for (std::size_t k = 0; k < sources.size(); ++k)
    out +=
        std::to_string(k + 1) + ". " + sources[k].text + " (" + name_of(sources[k].basis) + ")\n";
  return out;
}

}  // namespace

std::string page(const std::vector<Computed>& book, const std::vector<Noticed>& noticed) {
  std::string out = opening(book);
  for (const Computed& c : book) out += topic_table(c);
  return out + doubt_table(noticed);
}

std::string sheet(const std::vector<Computed>& book) {
  CsvWriter csv;
  for (const char* head : {"id", "topic", "claim", "source", "basis", "expected", "computed",
                           "error", "tolerance", "measure", "unit"})
    csv.text(head);
  csv.end_row();
  for (const Computed& c : book)
    for (std::size_t k = 0; k < c.topic.rows.size(); ++k) {
      const Row& r = c.topic.rows[k];
      const double error = error_of(r, c.values[k]);
      const bool relative = r.tolerance.measure == Measure::relative;
      csv.text(r.id).text(c.topic.title).text(r.claim).text(r.source.text);
      csv.text(name_of(r.source.basis));
      csv.raw(significant(r.expected, r.digits)).raw(significant(c.values[k], r.digits));
      csv.raw(std::abs(error) <= (relative ? kRounding : kNothing) ? "0" : short_number(error));
      csv.raw(short_number(r.tolerance.value)).text(relative ? "relative" : "absolute");
      csv.text(r.unit).end_row();
    }
  return csv.str();
}

}  // namespace pb::book
