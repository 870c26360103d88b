// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "app/server_timed.h"

#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>

namespace pb::app {
namespace {

using Clock = std::chrono::steady_clock;

/// Whether the socket may be read or written (POLLIN, POLLOUT) before the time is over.
bool ready(socket_t socket, short event, Clock::time_point until) {
  for (;;) {
    const auto left = std::chrono::ceil<std::chrono::milliseconds>(until - Clock::now()).count();
    if (left <= 0) return false;
    pollfd one{.fd = socket, .events = event, .revents = 0};
    const int n = ::poll(&one, 1, static_cast<int>(std::min<long>(left, 60'000)));
    if (n > 0) return true;
    if (n < 0 && errno != EINTR) return false;
  }
}

/// A connection whose reads and writes fail once its time is over.
class TimedStream : public httplib::Stream {
 public:
  TimedStream(socket_t socket, std::chrono::seconds answer) : socket_(socket), answer_(answer) {}

  /// A request begins, or goes on: this long for what is still to come.
  void allow(std::chrono::seconds time) {
    until_ = Clock::now() + time;
    answering_ = false;
  }

  /// Whether bytes came that nobody has read yet.
  bool has_more() const { return next_ < end_; }
  bool is_readable() const override { return has_more() || ready(socket_, POLLIN, until_); }
  bool is_writable() const override { return ready(socket_, POLLOUT, until_); }

  /// Heads are asked for byte by byte: they come from a buffer.
  ssize_t read(char* to, size_t size) override {
    if (!has_more()) {
      if (!ready(socket_, POLLIN, until_)) return -1;
      ssize_t n = 0;
      do n = ::recv(socket_, buffer_.data(), buffer_.size(), 0);
      while (n < 0 && errno == EINTR);
      if (n <= 0) return n;
      next_ = 0;
      end_ = static_cast<std::size_t>(n);
    }
    const std::size_t n = std::min(size, end_ - next_);
    std::copy_n(buffer_.data() + next_, n, to);
    next_ += n;
    return static_cast<ssize_t>(n);
  }
  ssize_t write(const char* from, size_t size) override {
    // How long the work took before the first byte of the answer is not the client's fault.
    if (!answering_) until_ = Clock::now() + answer_;
    answering_ = true;
    if (!is_writable()) return -1;
    ssize_t n = 0;
    do n = ::send(socket_, from, size, MSG_NOSIGNAL | MSG_DONTWAIT);
    while (n < 0 && errno == EINTR);
    return n < 0 && (errno == EAGAIN || errno == EWOULDBLOCK) ? 0 : n;
  }
  // Every client is on this machine, and nobody asks which one it is.
  void get_remote_ip_and_port(std::string& ip, int& port) const override {
    ip = "127.0.0.1", port = 0;
  }
  void get_local_ip_and_port(std::string& ip, int& port) const override {
    ip = "127.0.0.1", port = 0;
  }
  socket_t socket() const override { return socket_; }

 private:
  socket_t socket_;
  std::chrono::seconds answer_;
  Clock::time_point until_{};
  bool answering_ = false;
  std::array<char, 16384> buffer_;
  std::size_t next_ = 0, end_ = 0;
};

}  // namespace

bool TimedServer::process_and_close_socket(socket_t socket) {
  TimedStream stream(socket, deadlines_.answer);
  bool good = false;
  for (std::size_t left = keep_alive_max_count_; left > 0; --left) {
    // In short waits, so that an idle connection does not hold up the server's end.
    constexpr std::chrono::milliseconds kLook{100};
    const auto until = Clock::now() + deadlines_.idle;
    bool begun = stream.has_more();
    while (!begun && Clock::now() < until && svr_sock_ != INVALID_SOCKET)
      begun = ready(socket, POLLIN, std::min(until, Clock::now() + kLook));
    if (!begun || svr_sock_ == INVALID_SOCKET) break;
    stream.allow(deadlines_.head);
    bool closed = false;
    good = process_request(stream, left == 1, closed, [&](const httplib::Request& request) {
      stream.allow(deadlines_.body(request));
    });
    if (!good || closed) break;
  }
  ::shutdown(socket, SHUT_RDWR);
  ::close(socket);
  return good;
}

}  // namespace pb::app
