// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The main job on a catalogue of a distributor's size: into a store, out of it, and the search for
// examples/vent-flap in it. The answer is checked before a time is printed: something passes,
// nothing cheaper is left, and every wiring's candidates add up.
//
//   python3 benchmarks/make_catalogue.py 100000 > parts.csv
//   bench_catalogue parts.csv [--brief FILE] [--verbose] [--json FILE]
#include <sys/resource.h>
#include <unistd.h>

#include <chrono>
#include <cstdio>
#include <cstring>
#include <ctime>
#include <filesystem>
#include <string>
#include <thread>
#include <vector>

#include "files/catalogue.h"
#include "files/load.h"
#include "files/store.h"
#include "files/toml_brief.h"
#include "files/toml_template.h"
#include "judgement/search.h"

namespace {

using namespace pb;
using Clock = std::chrono::steady_clock;

struct Row {
  std::string what;
  double wall_s = 0, cpu_s = 0;
  long peak_MiB = 0;  // of the program so far
};

double cpu_s() {
  rusage used{};
  getrusage(RUSAGE_SELF, &used);
  const auto seconds = [](const timeval& t) {
    return static_cast<double>(t.tv_sec) + 1e-6 * static_cast<double>(t.tv_usec);
  };
  return seconds(used.ru_utime) + seconds(used.ru_stime);
}

class Watch {
 public:
  Row so_far(std::string what) const {
    rusage used{};
    getrusage(RUSAGE_SELF, &used);
    return {std::move(what), std::chrono::duration<double>(Clock::now() - began_).count(),
            cpu_s() - cpu_s_, used.ru_maxrss / 1024};
  }

 private:
  Clock::time_point began_ = Clock::now();
  double cpu_s_ = cpu_s();
};

[[noreturn]] void give_up(const std::string& why) {
  std::fprintf(stderr, "%s\n", why.c_str());
  std::exit(1);
}

std::string text_of(const std::string& file) {
  const auto text = load_table(file);
  if (!text) give_up(to_lines(text.error()));
  return *text;
}

/// Into a new store and out again.
std::vector<Part> through_a_store(const std::string& csv, std::vector<Row>& rows) {
  const auto folder = std::filesystem::temp_directory_path() /
                      ("bench_catalogue." + std::to_string(static_cast<long>(::getpid())));
  std::filesystem::create_directory(folder);
  const std::string file = (folder / "parts.db").string();
  const Watch import;
  {
    const auto read = read_catalogue(csv, text_of(csv));
    if (!read) give_up(to_lines(read.error()));
    auto store = PartStore::open(file);
    if (!store || !store->import(read->parts)) give_up("the store takes no parts");
  }
  rows.push_back(import.so_far("import into a new store"));
  const Watch load;
  const auto store = PartStore::open_to_read(file);
  auto parts = store ? store->load() : std::unexpected(store.error());
  if (!parts) give_up("the store gives no parts");
  rows.push_back(load.so_far("load from the store"));
  std::filesystem::remove_all(folder);
  return std::move(*parts);
}

std::string trouble_of(const SearchResult& r) {
  if (r.designs.empty()) return "no design passes";
  if (!r.nothing_cheaper) return "undecided: " + r.undecided.front();
  for (const auto& [id, n] : r.space)
    if (n.screened + n.grouped + n.beyond_cost + n.failed + n.passed + n.undecided != n.total)
      return "the candidates of " + id + " do not add up";
  return "";
}

SearchResult search_timed(const std::string& brief_file, const std::vector<Part>& parts,
                          bool verbose, std::vector<Row>& rows) {
  const auto brief = read_brief(brief_file, text_of(brief_file));
  if (!brief) give_up(to_lines(brief.error()));
  const auto templates = load_templates(std::string(PB_SOURCE_DIR) + "/templates");
  if (!templates) give_up(to_lines(templates.error()));
  constexpr std::chrono::seconds kPatience{300};
  const auto began = Clock::now();
  const Watch watch;
  Row first{"to the first proven design"};
  SearchOptions o;
  o.parallel = threads(0);
  o.out_of_time = [&] { return Clock::now() - began > kPatience; };
  o.progress = [&](const SearchProgress& p) {
    if (given(p.cheapest) && first.wall_s == 0) first = watch.so_far(first.what);
    if (verbose)
      std::fprintf(stderr, "%8.2f s  %ld judged, floor %.5f, cheapest %.5f, %ld undecided\n",
                   watch.so_far("").cpu_s, p.judged, p.floor, p.cheapest, p.undecided);
  };
  SearchResult out = search(brief->brief, brief->assumed, *templates, parts, o);
  rows.push_back(first);
  rows.push_back(watch.so_far("to the top five and the whole account"));
  return out;
}

std::string today() {
  const std::time_t now = std::time(nullptr);
  std::tm utc{};
  gmtime_r(&now, &utc);
  char text[16];
  std::strftime(text, sizeof text, "%Y-%m-%d", &utc);
  return text;
}

bool write_json(const char* path, std::size_t parts, const std::vector<Row>& rows) {
  std::FILE* f = std::fopen(path, "w");
  if (!f) return false;
  std::fprintf(f,
               "{\n \"date\": \"%s\",\n \"machine\": \"shared virtual x86-64 server, %u logical "
               "cores\",\n \"parts\": %zu,\n \"rows\": [",
               today().c_str(), std::thread::hardware_concurrency(), parts);
  const char* comma = "";
  for (const Row& r : rows) {
    std::fprintf(f,
                 "%s\n  {\"what\": \"%s\", \"wall_s\": %.3g, \"cpu_s\": %.3g, \"peak_MiB\": %ld}",
                 comma, r.what.c_str(), r.wall_s, r.cpu_s, r.peak_MiB);
    comma = ",";
  }
  std::fprintf(f, "\n ]\n}\n");
  return std::fclose(f) == 0;
}

}  // namespace

int main(int argc, char** argv) {
  std::string csv, brief = std::string(PB_SOURCE_DIR) + "/examples/vent-flap/brief.toml";
  const char* json = nullptr;
  bool verbose = false;
  for (int k = 1; k < argc; ++k) {
    if (!std::strcmp(argv[k], "--json") && k + 1 < argc)
      json = argv[++k];
    else if (!std::strcmp(argv[k], "--brief") && k + 1 < argc)
      brief = argv[++k];
    else if (!std::strcmp(argv[k], "--verbose"))
      verbose = true;
    else
      csv = argv[k];
  }
  if (csv.empty()) {
    std::fprintf(stderr,
                 "usage: bench_catalogue PARTS.CSV [--brief FILE] [--verbose] [--json FILE]\n");
    return 2;
  }
  std::vector<Row> rows;
  const std::vector<Part> parts = through_a_store(csv, rows);
  const SearchResult r = search_timed(brief, parts, verbose, rows);
  std::printf("%zu parts; %zu designs, the cheapest at %.4f\n", parts.size(), r.designs.size(),
              r.designs.empty() ? 0.0 : r.designs.front().cost.total);
  std::printf("%-40s %9s %9s %9s\n", "what", "wall s", "CPU s", "peak MiB");
  for (const Row& row : rows)
    std::printf("%-40s %9.2f %9.2f %9ld\n", row.what.c_str(), row.wall_s, row.cpu_s, row.peak_MiB);
  if (const std::string why = trouble_of(r); !why.empty()) give_up(why);
  if (json && !write_json(json, parts.size(), rows)) give_up(std::string(json) + ": not writable");
  return 0;
}
