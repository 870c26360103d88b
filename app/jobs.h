// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Long work asked for by the desk: one after the other on a thread of its own, watched by polling.
// A job lives on when the page that asked for it is closed. Tested by tests/unit/app_jobs.cpp.
#pragma once

#include <condition_variable>
#include <deque>
#include <memory>
#include <mutex>
#include <string>
#include <thread>
#include <vector>

#include "app/verb.h"

namespace pb::app {

struct JobState {
  enum class Phase { waiting, running, done };
  long id = 0;
  std::string kind, file, key;
  Phase phase = Phase::waiting;
  double share = -1;  // done so far, 0 to 1; negative: not known. Never goes back
  std::string note;   // what it is at
  double seconds = 0;
  int status = 0;                             // an exit status, once done
  std::shared_ptr<const std::string> answer;  // the JSON object, once done
};

class Jobs {
 public:
  explicit Jobs(ParallelFor parallel);
  /// Stops what runs, forgets what waits.
  ~Jobs();
  Jobs(const Jobs&) = delete;
  Jobs& operator=(const Jobs&) = delete;

  /// Starts the work, or finds the one with the same key that was not stopped: the same question
  /// has the same answer. Returns its id.
  long submit(const std::string& kind, const std::string& file, const std::string& key, Run run);
  /// Newest first.
  std::vector<JobState> list() const;
  /// False if there is no such job.
  bool find(long id, JobState& out) const;
  /// Also ends a waiting job. False if there is no such job.
  bool cancel(long id);

 private:
  struct Job {
    JobState state;
    Run run;
    StopSource stop;
    double began_s = 0;
  };
  static constexpr std::size_t kKept = 60;

  void work();
  void carry_out(const std::shared_ptr<Job>& job);
  void forget_oldest();

  ParallelFor parallel_;
  mutable std::mutex mutex_;
  std::condition_variable news_;
  std::deque<std::shared_ptr<Job>> jobs_;  // oldest first
  long next_id_ = 1;
  bool ending_ = false;
  std::thread thread_;
};

}  // namespace pb::app
