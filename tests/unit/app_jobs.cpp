// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Jobs run one after the other, can be stopped, and answer whatever their work does.
#include "app/jobs.h"

#include <gtest/gtest.h>

#include <chrono>
#include <nlohmann/json.hpp>
#include <stdexcept>
#include <thread>

namespace pb::app {
namespace {

JobState wait_for(const Jobs& jobs, long id) {
  JobState state;
  for (int k = 0; k < 2000; ++k) {
    EXPECT_TRUE(jobs.find(id, state));
    if (state.phase == JobState::Phase::done) return state;
    std::this_thread::sleep_for(std::chrono::milliseconds(5));
  }
  ADD_FAILURE() << "the job never ended";
  return state;
}

Answer wait_until_stopped(Session& session) {
  while (!session.stop.stop_requested()) std::this_thread::sleep_for(std::chrono::milliseconds(1));
  return {};
}

TEST(Jobs, AnswersAndReportsProgressThatNeverGoesBack) {
  Jobs jobs(serial());
  const long id = jobs.submit("check", "a.toml", "a", [](Session& session) {
    session.share(0.5);
    session.share(0.25);
    Answer answer;
    answer.status = kDoesNotPass;
    (*answer.json)["passes"] = false;
    return answer;
  });
  const JobState state = wait_for(jobs, id);
  EXPECT_EQ(state.share, 0.5);
  EXPECT_EQ(state.status, kDoesNotPass);
  EXPECT_EQ(Json::parse(*state.answer)["passes"], false);
  // The same question has the same answer, another has not.
  EXPECT_EQ(jobs.submit("check", "a.toml", "a", wait_until_stopped), id);
  EXPECT_NE(jobs.submit("check", "a.toml", "b", [](Session&) { return Answer(); }), id);
}

TEST(Jobs, StopsWhatRunsAndWhatWaits) {
  Jobs jobs(serial());
  const long running = jobs.submit("design", "a", "a", wait_until_stopped);
  bool begun = false;
  const long waiting = jobs.submit("design", "b", "b", [&](Session&) {
    begun = true;
    return Answer();
  });
  EXPECT_TRUE(jobs.cancel(waiting));
  EXPECT_TRUE(jobs.cancel(running));
  EXPECT_EQ(wait_for(jobs, running).status, kInterrupted);
  EXPECT_EQ(wait_for(jobs, waiting).status, kInterrupted);
  EXPECT_FALSE(begun);
  EXPECT_FALSE(jobs.cancel(9999));
  // What was stopped may be asked again.
  EXPECT_NE(jobs.submit("design", "a", "a", [](Session&) { return Answer(); }), running);
}

TEST(Jobs, AFaultEndsTheJobAndNotTheNext) {
  Jobs jobs(serial());
  const long bad =
      jobs.submit("check", "a", "a", [](Session&) -> Answer { throw std::logic_error("broken"); });
  const long good = jobs.submit("check", "b", "b", [](Session&) { return Answer(); });
  EXPECT_EQ(wait_for(jobs, bad).status, kUndecided);
  EXPECT_EQ(wait_for(jobs, good).status, kPasses);
}

TEST(Jobs, EndsWithWorkStillThere) {
  Jobs jobs(serial());
  jobs.submit("design", "a", "a", wait_until_stopped);
  jobs.submit("design", "b", "b", wait_until_stopped);
}

}  // namespace
}  // namespace pb::app
