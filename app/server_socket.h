// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The sockets around the server: loopback only, one port, many slow clients at once. With
// server_timed.h the only files that know the HTTP library. Tested by tests/browser.
#pragma once

#include <functional>
#include <string>

#include "app/server.h"
#include "base/stop.h"

namespace pb::app {

/// Listens on 127.0.0.1 and serves until stopped. `make` is given the port and returns the desk;
/// `ready` is called when connections are taken. Port 0 is any free one. False if the port is
/// taken.
bool serve(int port, const std::function<std::unique_ptr<Desk>(int port)>& make,
           const std::function<void(const Desk&)>& ready, const StopToken& stop);

}  // namespace pb::app
