# SPDX-FileCopyrightText: 2026 The Pennybridge authors
# SPDX-License-Identifier: Apache-2.0
#
# cmake -DOUT=FILE "-DPARTS=NAME=FILE;..." -P write_assets.cmake: each file as a constant in a C++ file.

set(bytes "")
set(views "")
foreach(part IN LISTS PARTS)
  string(REGEX MATCH "^([A-Za-z]+)=(.*)$" ignored "${part}")
  set(name "${CMAKE_MATCH_1}")
  file(READ "${CMAKE_MATCH_2}" hex HEX)
  if(hex STREQUAL "")
    message(FATAL_ERROR "${CMAKE_MATCH_2} is empty")
  endif()
  string(REGEX REPLACE "(................................)" "\\1\n" hex "${hex}")
  string(REGEX REPLACE "([0-9a-f][0-9a-f])" "0x\\1," hex "${hex}")
  string(APPEND bytes "constexpr unsigned char ${name}Bytes[] = {\n${hex}};\n")
  string(APPEND views "const std::string_view ${name}(reinterpret_cast<const char*>(${name}Bytes), "
                      "sizeof ${name}Bytes);\n")
endforeach()
file(WRITE "${OUT}" "// Written by cmake/write_assets.cmake.
#include \"app/assets.h\"

namespace pb::app::assets {
namespace {
${bytes}}  // namespace
${views}}  // namespace pb::app::assets
")
