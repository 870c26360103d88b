// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// A small pool of threads that live as long as the ParallelFor that holds them.
#include "base/parallel.h"

#include <algorithm>
#include <atomic>
#include <condition_variable>
#include <exception>
#include <memory>
#include <mutex>
#include <thread>
#include <vector>

namespace pb {
namespace {

using Body = std::function<void(std::size_t)>;

void run_serially(std::size_t n, const Body& body) {
  for (std::size_t i = 0; i < n; ++i) body(i);
}

// One parallel loop. Indices are handed out in rising order; when index i throws, every lower index
// has been handed out already and will finish, so the lowest thrower is the same for any number of
// threads.
struct Loop {
  std::size_t n;
  const Body& body;
  std::atomic<std::size_t> next{0};
  std::mutex mutex;  // guards the two below
  std::size_t lowest_thrower;
  std::exception_ptr error;

  Loop(std::size_t count, const Body& work) : n(count), body(work), lowest_thrower(count) {}

  void work() {
    for (std::size_t i = next.fetch_add(1); i < n; i = next.fetch_add(1)) {
      try {
        body(i);
      } catch (...) {  // carried to the caller, which rethrows it
        const std::lock_guard lock(mutex);
        if (i < lowest_thrower) {
          lowest_thrower = i;
          error = std::current_exception();
        }
        next.store(n);
      }
    }
  }
};

thread_local bool inside_loop = false;  // a nested loop runs on its own thread

struct InsideLoop {
  InsideLoop() { inside_loop = true; }
  ~InsideLoop() { inside_loop = false; }
  InsideLoop(const InsideLoop&) = delete;
  InsideLoop& operator=(const InsideLoop&) = delete;
};

class Pool {
 public:
  explicit Pool(unsigned helpers) {
    threads_.reserve(helpers);
    for (unsigned i = 0; i < helpers; ++i) threads_.emplace_back([this] { help(); });
  }

  ~Pool() {
    {
      const std::lock_guard lock(mutex_);
      ending_ = true;
    }
    wake_.notify_all();
    for (std::thread& t : threads_) t.join();
  }

  Pool(const Pool&) = delete;
  Pool& operator=(const Pool&) = delete;

  void run(std::size_t n, const Body& body) {
    // Asked before the lock: a thread must not try a mutex it holds.
    if (inside_loop || n < 2) return run_serially(n, body);
    const std::unique_lock user(user_, std::try_to_lock);
    if (!user.owns_lock()) return run_serially(n, body);
    Loop loop(n, body);
    start(loop);
    {
      const InsideLoop mark;
      loop.work();
    }
    finish();
    if (loop.error) std::rethrow_exception(loop.error);
  }

 private:
  void start(Loop& loop) {
    {
      const std::lock_guard lock(mutex_);
      loop_ = &loop;
      ++round_;
    }
    wake_.notify_all();
  }

  // No helper may touch the loop after this: late wakers find no loop, early ones are waited for.
  void finish() {
    std::unique_lock lock(mutex_);
    loop_ = nullptr;
    idle_.wait(lock, [this] { return busy_ == 0; });
  }

  void help() {
    const InsideLoop mark;
    std::uint64_t seen = 0;
    std::unique_lock lock(mutex_);
    while (true) {
      wake_.wait(lock, [&] { return ending_ || (loop_ != nullptr && round_ != seen); });
      if (ending_) return;
      seen = round_;
      Loop* loop = loop_;
      ++busy_;
      lock.unlock();
      loop->work();
      lock.lock();
      if (--busy_ == 0) idle_.notify_all();
    }
  }

  std::mutex user_;   // held while a caller uses the helpers
  std::mutex mutex_;  // guards all below
  std::condition_variable wake_, idle_;
  Loop* loop_ = nullptr;
  std::uint64_t round_ = 0;
  unsigned busy_ = 0;
  bool ending_ = false;
  std::vector<std::thread> threads_;
};

}  // namespace

ParallelFor serial() {
  return [](std::size_t n, const Body& body) { run_serially(n, body); };
}

ParallelFor threads(unsigned n) {
  if (n == 0) n = std::max(1u, std::thread::hardware_concurrency());
  if (n == 1) return serial();
  auto pool = std::make_shared<Pool>(n - 1);
  return [pool](std::size_t count, const Body& body) { pool->run(count, body); };
}

}  // namespace pb
