// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Briefs that no driver can meet, found before anything is tried.
#pragma once

#include <optional>
#include <string>

#include "model/brief.h"

namespace pb {

struct Impossible {
  std::string key, why;  // the key of the brief that makes it so
};

/// Whether even a driver without loss leaves less torque than the load asks at the rate asked.
/// Square-wave drive, fundamental alone, windings at the ends of their tolerances that help most:
///   T(K) = K V_1/Z - K^2 w R/Z^2, V_1 = 4/pi V, Z = |R + j N w L|, w in rad/s of the shaft.
/// Source: P. Acarnley, Stepping Motors, 4th ed. 2002, ch. 5.
std::optional<Impossible> impossible(const Brief& brief);

}  // namespace pb
