// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A search that is told to stop does so. Counted in processor time of the whole process, which what
// else the machine is busy with does not lengthen.
#include <gtest/gtest.h>

#include <atomic>
#include <ctime>
#include <thread>

#include "judgement/search.h"
#include "tests/slow/small_design.h"

namespace pb::test {
namespace {

double cpu_s() {
  timespec t{};
  clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
  return static_cast<double>(t.tv_sec) + 1e-9 * static_cast<double>(t.tv_nsec);
}

/// Work done after the stop was asked for, once the search had worked for so long.
double work_after_stop_s(const Brief& brief, double asked_after_s) {
  StopSource stop;
  std::atomic<bool> over = false;
  std::atomic<double> asked_at_s = 0;
  const double began_s = cpu_s();
  std::thread asks([&] {
    while (!over && cpu_s() - began_s < asked_after_s)
      std::this_thread::sleep_for(std::chrono::milliseconds(1));
    stop.request_stop();
    asked_at_s = cpu_s();
  });
  SearchOptions o;
  o.stop = stop.token();
  const SearchResult r = search(brief, {}, shipped(), starter(), o);
  const double ended_s = cpu_s();
  over = true;
  asks.join();
  EXPECT_TRUE(r.cancelled);
  EXPECT_FALSE(r.nothing_cheaper);
  return ended_s - asked_at_s;
}

TEST(SearchStops, WithinATenthOfASecondOfWork) {
  const auto text = load_text(kTree + "/examples/vent-flap/brief.toml");
  ASSERT_TRUE(text);
  const auto read = read_brief("brief.toml", *text);
  ASSERT_TRUE(read);
  starter(), shipped();  // not to be counted
  for (const double after_s : {0.02, 0.1, 0.3, 0.55, 0.9, 1.4})
    EXPECT_LT(work_after_stop_s(read->brief, after_s), 0.1) << "asked after " << after_s << " s";
}

}  // namespace
}  // namespace pb::test
