// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "app/server_socket.h"

#include <sys/socket.h>

#include <atomic>
#include <chrono>
#include <condition_variable>
#include <deque>
#include <mutex>
#include <thread>

#include "app/server_routes.h"
#include "app/server_timed.h"
#include "app/server_upload.h"
#include "base/text.h"

namespace pb::app {
namespace {

// A thread a connection: a client that drips its request byte by byte holds one thread and nobody
// else. Beyond these many connections newcomers wait.
constexpr std::size_t kMostConnections = 256;
constexpr int kQueue = 128;
constexpr std::size_t kRequestsAConnection = 1000;
constexpr std::chrono::seconds kIdle{5}, kHeadDeadline{8}, kBodyDeadline{30}, kUploadDeadline{600},
    kAnswerDeadline{60};

/// Starts a thread when work comes and none is idle.
class ConnectionThreads : public httplib::TaskQueue {
 public:
  void enqueue(std::function<void()> connection) override {
    std::unique_lock lock(mutex_);
    waiting_.push_back(std::move(connection));
    if (idle_ < waiting_.size() && threads_.size() < kMostConnections)
      threads_.emplace_back([this] { work(); });
    news_.notify_one();
  }

  void shutdown() override {
    {
      const std::lock_guard lock(mutex_);
      ending_ = true;
    }
    news_.notify_all();
    for (std::thread& t : threads_) t.join();
  }

 private:
  void work() {
    std::unique_lock lock(mutex_);
    for (;;) {
      ++idle_;
      news_.wait(lock, [&] { return ending_ || !waiting_.empty(); });
      --idle_;
      if (waiting_.empty()) return;
      const auto connection = std::move(waiting_.front());
      waiting_.pop_front();
      lock.unlock();
      connection();
      lock.lock();
    }
  }

  std::mutex mutex_;
  std::condition_variable news_;
  std::deque<std::function<void()>> waiting_;
  std::vector<std::thread> threads_;
  std::size_t idle_ = 0;
  bool ending_ = false;
};

HttpRequest request_of(const httplib::Request& from) {
  HttpRequest to;
  to.method = from.method;
  to.path = from.path;
  to.host = from.get_header_value("Host");
  to.origin = from.get_header_value("Origin");
  to.token = from.get_header_value("X-Pennybridge-Token");
  to.content_type = from.get_header_value("Content-Type");
  to.body = from.body;
  for (const auto& [key, value] : from.params) to.query[key] = value;
  // Two hosts in one request are none.
  if (from.get_header_value_count("Host") != 1) to.host.clear();
  return to;
}

void answer(const HttpResponse& from, httplib::Response& to) {
  to.status = from.status;
  to.headers.clear();
  auto headers = common_headers();
  for (const auto& [name, value] : headers) to.set_header(name, value);
  for (const auto& [name, value] : from.headers) {
    to.headers.erase(name);
    to.set_header(name, value);
  }
  to.set_content(from.body, from.type);
}

/// Whether the body is to be as long as one may be, if its length is announced.
bool announced_fits(const httplib::Request& request, HttpResponse& refusal) {
  const std::string text = request.get_header_value("Content-Length");
  const auto length = text.empty() ? std::optional<long long>(0) : to_integer(text);
  const std::size_t most = request.path == kUploadPath ? kMostUpload : kMostBody;
  if (length && *length >= 0 && static_cast<unsigned long long>(*length) <= most) return true;
  refusal = problem_response(
      request.path == kUploadPath ? "a capture may have 1 GiB" : "a body may have 1 MiB", 413);
  return false;
}

/// Bodies come piece by piece: one too long, or too slow, is dropped before it is held.
HttpResponse with_body(Desk& desk, HttpRequest request, const httplib::ContentReader& body) {
  bool whole = false;
  if (request.path == kUploadPath) {
    Upload upload(desk, request);
    whole = body([&](const char* data, std::size_t n) { return upload.take({data, n}); });
    if (whole || upload.refused()) return upload.finish();
  } else {
    bool is_long = false;
    whole = body([&](const char* data, std::size_t n) {
      is_long = request.body.size() + n > kMostBody;
      if (is_long) return false;
      request.body.append(data, n);
      return true;
    });
    if (is_long) return problem_response("a body may have 1 MiB", 413);
    if (whole) return dispatch(desk, request);
  }
  return problem_response("the body did not come whole, or not in time", 408);
}

}  // namespace

bool serve(int port, const std::function<std::unique_ptr<Desk>(int port)>& make,
           const std::function<void(const Desk&)>& ready, const StopToken& stop) {
  TimedServer server({.idle = kIdle,
                      .head = kHeadDeadline,
                      .body =
                          [](const httplib::Request& request) {
                            return request.path == kUploadPath ? kUploadDeadline : kBodyDeadline;
                          },
                      .answer = kAnswerDeadline});
  server.new_task_queue = [] { return new ConnectionThreads; };
  // The library would share the port with whoever else asks for it.
  int listening = -1;
  server.set_socket_options([&](int socket) {
    const int yes = 1;
    ::setsockopt(socket, SOL_SOCKET, SO_REUSEADDR, &yes, sizeof yes);
    listening = socket;
  });
  server.set_payload_max_length(kMostUpload);
  server.set_keep_alive_max_count(kRequestsAConnection);
  server.set_tcp_nodelay(true);
  const int bound = port == 0                                ? server.bind_to_any_port("127.0.0.1")
                    : server.bind_to_port("127.0.0.1", port) ? port
                                                             : -1;
  if (bound < 0) return false;
  // The library lets five clients queue; a page opens more connections than that at once.
  ::listen(listening, kQueue);
  const std::unique_ptr<Desk> desk = make(bound);

  // Asked before the body is read.
  server.set_pre_routing_handler([&](const httplib::Request& request, httplib::Response& response) {
    HttpResponse refusal;
    HttpRequest head = request_of(request);
    if (admitted(*desk, head, refusal) && announced_fits(request, refusal))
      return httplib::Server::HandlerResponse::Unhandled;
    answer(refusal, response);
    response.set_header("Connection", "close");  // a body may still be on its way
    return httplib::Server::HandlerResponse::Handled;
  });
  server.Get(".*", [&](const httplib::Request& request, httplib::Response& response) {
    answer(dispatch(*desk, request_of(request)), response);
  });
  server.Post(".*", [&](const httplib::Request& request, httplib::Response& response,
                        const httplib::ContentReader& body) {
    answer(with_body(*desk, request_of(request), body), response);
  });
  const httplib::Server::HandlerWithResponse refuse_bare = [](const httplib::Request&,
                                                              httplib::Response& response) {
    if (response.body.empty()) {
      const int status = response.status;
      answer({.status = status,
              .body = R"({"problems": [{"message": "the request is refused"}]})",
              .headers = {}},
             response);
    }
    return httplib::Server::HandlerResponse::Handled;
  };
  server.set_error_handler(refuse_bare);

  std::atomic<bool> ended{false};
  std::thread watch([&] {
    while (!stop.stop_requested() && !ended)
      std::this_thread::sleep_for(std::chrono::milliseconds(50));
    server.stop();
  });
  ready(*desk);
  server.listen_after_bind();
  ended = true;
  watch.join();
  return true;
}

}  // namespace pb::app
