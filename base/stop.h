// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Cancelling long work. A stop is sticky: once requested it stays. Asking and requesting are one
// atomic load and store, so both may be done from any thread and from a signal handler. Tested by
// tests/unit/base_stop.cpp.
#pragma once

#include <atomic>
#include <memory>
#include <utility>

namespace pb {

namespace detail {
struct StopState {
  std::atomic<bool> stopped{false};
  std::shared_ptr<const StopState> parent;  // a stop of the parent stops this too
};
static_assert(std::atomic<bool>::is_always_lock_free,
              "a signal handler may only touch lock-free atomics");
}  // namespace detail

/// Asked by the work, at least every 50 ms. A default-made token never stops.
class StopToken {
 public:
  StopToken() = default;

  bool stop_requested() const noexcept {
    for (const detail::StopState* s = state_.get(); s != nullptr; s = s->parent.get())
      if (s->stopped.load(std::memory_order_relaxed)) return true;
    return false;
  }

 private:
  friend class StopSource;
  explicit StopToken(std::shared_ptr<const detail::StopState> state) : state_(std::move(state)) {}
  std::shared_ptr<const detail::StopState> state_;
};

/// Held by whoever may cancel: a signal handler, a job list, a search that has seen enough.
class StopSource {
 public:
  StopSource() : state_(std::make_shared<detail::StopState>()) {}
  /// A source whose tokens also stop when `parent` does.
  explicit StopSource(const StopToken& parent) : StopSource() { state_->parent = parent.state_; }

  void request_stop() const noexcept { state_->stopped.store(true, std::memory_order_relaxed); }
  StopToken token() const { return StopToken(state_); }

 private:
  std::shared_ptr<detail::StopState> state_;
};

}  // namespace pb
