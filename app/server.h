// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The desk's server as a function from a request to a response; sockets are server_socket.cpp's.
// Every route is a row of a table. Tested by tests/unit/app_server.cpp and tests/browser.
//
// Invariants: only requests that name this server's own host and port are answered; what changes
// anything carries the token that the page of this run was given; no path from a request leaves the
// folder served.
#pragma once

#include <filesystem>
#include <map>
#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "app/jobs.h"
#include "app/json.h"
#include "app/pictures.h"

namespace pb::app {

struct HttpRequest {
  std::string method, path, host, origin, token, content_type, body;
  std::map<std::string, std::string> query;
};

struct HttpResponse {
  int status = 200;
  std::string type = "application/json; charset=utf-8";
  std::string body;
  std::vector<std::pair<std::string, std::string>> headers;
};

/// Everything a page can look at or ask for.
struct Desk {
  Desk(std::filesystem::path folder_, int port_, ParallelFor parallel);

  std::filesystem::path folder;  // canonical
  int port;
  std::string token;  // of this run
  Jobs jobs;
  Pictures pictures;
};

inline constexpr std::size_t kMostBody = 1u << 20;

/// Never throws.
HttpResponse dispatch(Desk& desk, const HttpRequest& request);

/// Whether the server will have the request at all: own host, own origin, token. To be asked before
/// a body is read. Fills `refusal` where not.
bool admitted(const Desk& desk, const HttpRequest& request, HttpResponse& refusal);

/// Headers of every response.
std::vector<std::pair<std::string, std::string>> common_headers();

}  // namespace pb::app
