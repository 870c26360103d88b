// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The library's server with a deadline for every request: its own time-outs are between two bytes,
// so that a client which sends one now and then would keep a connection for ever. Tested by
// tests/browser/test_safety.py.
#pragma once

#include <httplib.h>

#include <chrono>
#include <functional>

namespace pb::app {

class TimedServer : public httplib::Server {
 public:
  struct Deadlines {
    std::chrono::seconds idle;  // before a request begins
    std::chrono::seconds head;  // from its first byte to the end of its head
    std::function<std::chrono::seconds(const httplib::Request&)> body;  // from there to its end
    std::chrono::seconds answer;  // from the answer's first byte to its last
  };
  explicit TimedServer(Deadlines deadlines) : deadlines_(std::move(deadlines)) {}

 private:
  bool process_and_close_socket(socket_t socket) override;

  Deadlines deadlines_;
};

}  // namespace pb::app
