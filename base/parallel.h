// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Doing n independent things, perhaps at once. The physics gets a ParallelFor handed to it and so
// needs no thread library. Body i writes slot i only; sums over the slots run afterwards, in index
// order, on one thread: then the result does not depend on the number of threads. Tested by
// tests/unit/base_parallel.cpp.
#pragma once

#include <cstddef>
#include <functional>

namespace pb {

/// Runs body(0) … body(n-1), each once, and returns when all are done. Indices are started in
/// rising order. If bodies throw, the exception of the lowest throwing index is rethrown (the same
/// one for any number of threads), and indices not yet started are left out.
using ParallelFor =
    std::function<void(std::size_t n, const std::function<void(std::size_t)>& body)>;

/// On the calling thread.
ParallelFor serial();

/// On `n` threads, the calling one included; 0 means as many as the machine has. The threads live
/// as long as the returned object and its copies. A call from inside a body, or while another
/// caller is using the threads, runs on the calling thread: nesting cannot deadlock, and no caller
/// waits for another.
ParallelFor threads(unsigned n);

}  // namespace pb
