// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Stop tokens are sticky, cheap and safe in a signal handler.
#include "base/stop.h"

#include <gtest/gtest.h>

#include <csignal>
#include <thread>

namespace pb {
namespace {

const StopSource* for_signal = nullptr;

TEST(Stop, DefaultTokenNeverStops) { EXPECT_FALSE(StopToken().stop_requested()); }

TEST(Stop, IsSeenByEveryTokenAndStays) {
  const StopSource source;
  const StopToken before = source.token();
  EXPECT_FALSE(before.stop_requested());
  source.request_stop();
  source.request_stop();
  EXPECT_TRUE(before.stop_requested());
  EXPECT_TRUE(source.token().stop_requested());
  EXPECT_FALSE(StopSource().token().stop_requested());
}

TEST(Stop, ReachesChildrenButNotParents) {
  const StopSource parent;
  const StopSource child(parent.token()), sibling(parent.token());
  child.request_stop();
  EXPECT_TRUE(child.token().stop_requested());
  EXPECT_FALSE(parent.token().stop_requested());
  EXPECT_FALSE(sibling.token().stop_requested());
  parent.request_stop();
  EXPECT_TRUE(sibling.token().stop_requested());
}

TEST(Stop, TokenOutlivesItsSource) {
  StopToken token;
  {
    const StopSource parent;
    const StopSource child(parent.token());
    token = child.token();
    parent.request_stop();
  }
  EXPECT_TRUE(token.stop_requested());
}

TEST(Stop, MayBeRequestedFromASignalHandler) {
  const StopSource source;
  for_signal = &source;
  const auto before = std::signal(SIGUSR1, [](int) { for_signal->request_stop(); });
  std::raise(SIGUSR1);
  std::signal(SIGUSR1, before);
  for_signal = nullptr;
  EXPECT_TRUE(source.token().stop_requested());
}

TEST(Stop, CrossesThreads) {
  const StopSource source;
  std::thread worker([token = source.token()] {
    while (!token.stop_requested()) std::this_thread::yield();
  });
  source.request_stop();
  worker.join();
}

}  // namespace
}  // namespace pb
