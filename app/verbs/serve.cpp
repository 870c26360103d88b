// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// serve: the desk, a page on this machine.
#include <fmt/core.h>

#include <filesystem>
#include <nlohmann/json.hpp>

#include "app/server_socket.h"
#include "app/verbs/verbs.h"

namespace pb::app {
namespace {

namespace fs = std::filesystem;

constexpr int kPort = 8471;  // free in the registry of services, as far as /etc/services tells

struct ServeArguments {
  std::string folder = ".";
  int port = kPort;
};

Answer serve_folder(const ServeArguments& options, Session& session) {
  std::error_code error;
  const fs::path folder = fs::canonical(options.folder, error);
  if (error || !fs::is_directory(folder))
    return refuse({{.file = options.folder,
                    .expected = "a folder",
                    .found = "none",
                    .message = "make it first: mkdir -p " + options.folder}});
  // Files have the same names in every message, whatever folder the server was started from.
  fs::current_path(folder, error);
  if (error) return refuse({{.file = options.folder, .message = "cannot be entered"}});
  int port = options.port;
  const bool served = serve(
      options.port,
      [&](int bound) {
        port = bound;
        return std::make_unique<Desk>(folder, bound, session.parallel);
      },
      [](const Desk& desk) {
        fmt::print(stderr, "The desk is at http://127.0.0.1:{}/ for {}\nCtrl-C ends it.\n",
                   desk.port, desk.folder.string());
      },
      session.stop);
  if (!served)
    return refuse({{.key = "--port",
                    .expected = "a free port",
                    .found = std::to_string(options.port),
                    .message = "something else listens there"}},
                  kUndecided);
  Answer answer;
  (*answer.json)["port"] = port;
  return answer;
}

}  // namespace

Run add_serve(Command& command) {
  const auto options = std::make_shared<ServeArguments>();
  command.option("folder", options->folder, "where briefs and results are").shows_default();
  command.option("--port", options->port, "on 127.0.0.1; 0 is any free one")
      .from_to(0, 65535)
      .shows_default();
  return [options](Session& session) { return serve_folder(*options, session); };
}

}  // namespace pb::app
