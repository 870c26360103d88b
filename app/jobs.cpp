// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "app/jobs.h"

#include <sys/resource.h>

#include <algorithm>
#include <chrono>
#include <nlohmann/json.hpp>

#include "app/verb_call.h"

namespace pb::app {
namespace {

double now_s() {
  return std::chrono::duration<double>(std::chrono::steady_clock::now().time_since_epoch()).count();
}

/// The calling thread goes on when nothing else wants the processor: a proof that runs does not
/// hold up the picture that follows a slider. On Linux each thread has a niceness of its own.
void let_pictures_first() {
  constexpr int kNicer = 5;
  thread_local const int done = ::setpriority(PRIO_PROCESS, 0, kNicer);
  static_cast<void>(done);  // where it cannot be had, work goes on as before
}

ParallelFor behind_pictures(ParallelFor parallel) {
  return [parallel = std::move(parallel)](std::size_t n,
                                          const std::function<void(std::size_t)>& body) {
    parallel(n, [&body](std::size_t k) {
      let_pictures_first();
      body(k);
    });
  };
}

}  // namespace

Jobs::Jobs(ParallelFor parallel)
    : parallel_(behind_pictures(std::move(parallel))), thread_([this] { work(); }) {}

Jobs::~Jobs() {
  {
    const std::lock_guard lock(mutex_);
    ending_ = true;
    for (const auto& job : jobs_) job->stop.request_stop();
  }
  news_.notify_all();
  thread_.join();
}

long Jobs::submit(const std::string& kind, const std::string& file, const std::string& key,
                  Run run) {
  const std::lock_guard lock(mutex_);
  for (const auto& job : jobs_)
    if (job->state.key == key && !job->stop.token().stop_requested()) return job->state.id;
  const auto job = std::make_shared<Job>();
  job->state.id = next_id_++;
  job->state.kind = kind;
  job->state.file = file;
  job->state.key = key;
  job->run = std::move(run);
  jobs_.push_back(job);
  forget_oldest();
  news_.notify_all();
  return job->state.id;
}

void Jobs::forget_oldest() {
  const auto done = [](const auto& job) { return job->state.phase == JobState::Phase::done; };
  while (jobs_.size() > kKept) {
    const auto oldest = std::find_if(jobs_.begin(), jobs_.end(), done);
    if (oldest == jobs_.end()) return;
    jobs_.erase(oldest);
  }
}

std::vector<JobState> Jobs::list() const {
  const std::lock_guard lock(mutex_);
  std::vector<JobState> out;
  for (auto job = jobs_.rbegin(); job != jobs_.rend(); ++job) {
    out.push_back((*job)->state);
    if (out.back().phase == JobState::Phase::running)
      out.back().seconds = now_s() - (*job)->began_s;
  }
  return out;
}

bool Jobs::find(long id, JobState& out) const {
  for (JobState& state : list())
    if (state.id == id) {
      out = std::move(state);
      return true;
    }
  return false;
}

bool Jobs::cancel(long id) {
  const std::lock_guard lock(mutex_);
  for (const auto& job : jobs_) {
    if (job->state.id != id) continue;
    if (job->state.phase != JobState::Phase::done) job->stop.request_stop();
    return true;
  }
  return false;
}

void Jobs::work() {
  for (;;) {
    std::shared_ptr<Job> next;
    {
      std::unique_lock lock(mutex_);
      const auto waiting = [](const auto& job) {
        return job->state.phase == JobState::Phase::waiting;
      };
      news_.wait(lock, [&] { return ending_ || std::any_of(jobs_.begin(), jobs_.end(), waiting); });
      if (ending_) return;
      next = *std::find_if(jobs_.begin(), jobs_.end(), waiting);
      next->state.phase = JobState::Phase::running;
      next->began_s = now_s();
    }
    carry_out(next);
  }
}

void Jobs::carry_out(const std::shared_ptr<Job>& job) {
  Session session;
  session.stop = job->stop.token();
  session.parallel = parallel_;
  session.json = true;
  session.progress = [&](const std::string& note) {
    const std::lock_guard lock(mutex_);
    job->state.note = note;
  };
  session.share = [&](double share) {
    const std::lock_guard lock(mutex_);
    job->state.share = std::max(job->state.share, share);
  };
  // A job stopped while it waited is not begun: its answer is that it was interrupted.
  const Answer answer = run_safely(
      session.stop.stop_requested() ? [](Session&) { return Answer(); } : job->run, session);
  auto text = std::make_shared<const std::string>(whole_object(answer));
  const std::lock_guard lock(mutex_);
  job->run = nullptr;
  job->state.phase = JobState::Phase::done;
  job->state.seconds = now_s() - job->began_s;
  job->state.status = answer.status;
  job->state.answer = std::move(text);
}

}  // namespace pb::app
