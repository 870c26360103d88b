# SPDX-FileCopyrightText: 2026 The Pennybridge authors
# SPDX-License-Identifier: Apache-2.0
#
# The libraries the program is built on, all from the distribution. docs/dependencies.md says why
# each is here and which folder may use it; a test holds the link lists to that.

set(THREADS_PREFER_PTHREAD_FLAG ON)
find_package(Threads REQUIRED)
find_package(Eigen3 3.4 REQUIRED NO_MODULE)
find_package(Boost 1.74 REQUIRED)  # headers only: Boost.Math
find_package(Ceres 2.1 REQUIRED)  # identification only
find_package(tomlplusplus 3.3 REQUIRED)
find_package(nlohmann_json 3.11 REQUIRED)
find_package(SQLiteCpp 3.2 REQUIRED)
find_package(fmt 9.1 REQUIRED)
find_package(spdlog 1.10 REQUIRED)
find_package(CLI11 2.1 REQUIRED)
find_package(ZLIB REQUIRED)
# With its own flags, which decide on types in its header.
find_package(PkgConfig REQUIRED)
pkg_check_modules(httplib REQUIRED IMPORTED_TARGET cpp-httplib)
