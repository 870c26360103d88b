// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The program: the command line, and Ctrl-C turned into a request to stop.
#include <signal.h>  // NOLINT(modernize-deprecated-headers): sigaction is POSIX's, not the library's
#include <unistd.h>

#include "app/cli.h"

namespace {

const pb::StopSource* stop_source = nullptr;

// The first signal asks, the second insists.
void on_signal(int /*signal*/) {
  static volatile sig_atomic_t asked = 0;
  if (asked != 0) _exit(130);
  asked = 1;
  stop_source->request_stop();
}

}  // namespace

int main(int argc, char** argv) {
  static const pb::StopSource source;
  stop_source = &source;
  struct sigaction action = {};
  action.sa_handler = on_signal;
  sigaction(SIGINT, &action, nullptr);
  sigaction(SIGTERM, &action, nullptr);
  signal(SIGPIPE, SIG_IGN);  // a reader that went away is a write error, reported as such
  return pb::app::run_command_line(argc, argv, source.token());
}
