// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "physics/system.h"

#include "physics/system_equations.h"

namespace pb::physics {

template class BasicSystem<double>;

}  // namespace pb::physics
