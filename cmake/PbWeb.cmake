# SPDX-FileCopyrightText: 2026 The Pennybridge authors
# SPDX-License-Identifier: Apache-2.0
#
# The desk's page: bundled from web/ by esbuild and written as C++, so that the program is one file.
# Packages come through npm by the lock file; they stay in web/node_modules, shared by all builds.

find_program(PB_NODE NAMES node nodejs)
find_program(PB_NPM npm)
if(NOT PB_NODE OR NOT PB_NPM)
  message(FATAL_ERROR "The desk's page is built with node (18 or later) and npm, and they are not both "
                      "here. ./run installs them; by hand: apt-get install nodejs npm")
endif()
execute_process(COMMAND "${PB_NODE}" --version OUTPUT_VARIABLE node_version OUTPUT_STRIP_TRAILING_WHITESPACE)
if(NOT node_version MATCHES "^v([0-9]+)" OR CMAKE_MATCH_1 LESS 18)
  message(FATAL_ERROR "The desk's page needs node 18 or later; ${PB_NODE} is ${node_version}")
endif()

# pb_web(TARGET): adds the page to the target.
function(pb_web target)
  file(GLOB sources CONFIGURE_DEPENDS "${PROJECT_SOURCE_DIR}/web/src/*" "${PROJECT_SOURCE_DIR}/web/*.json"
       "${PROJECT_SOURCE_DIR}/web/build.*" "${PROJECT_SOURCE_DIR}/web/index.html")
  set(out "${CMAKE_CURRENT_BINARY_DIR}/assets.cpp")
  add_custom_command(
    OUTPUT "${out}"
    COMMAND bash "${PROJECT_SOURCE_DIR}/web/build.sh" "${PB_NODE}" "${PB_NPM}" "${out}"
    DEPENDS ${sources}
    COMMENT "Bundling the desk's page"
    VERBATIM)
  target_sources(${target} PRIVATE "${out}")
endfunction()
