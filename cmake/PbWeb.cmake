# SPDX-FileCopyrightText: 2026 The Pennybridge authors
# SPDX-License-Identifier: Apache-2.0
#
# The desk's page: bundled from web/ by esbuild and written as C++, so that the program is one file.
# What the page borrows stands in web/vendor, so that a build fetches nothing.

find_program(PB_ESBUILD esbuild)
if(NOT PB_ESBUILD)
  message(FATAL_ERROR "The desk's page is bundled with esbuild, which is not here. ./run installs it; "
                      "by hand: apt-get install esbuild")
endif()

# pb_web(TARGET): adds the page to the target.
function(pb_web target)
  set(web "${PROJECT_SOURCE_DIR}/web")
  set(out "${CMAKE_CURRENT_BINARY_DIR}/page")
  file(GLOB sources CONFIGURE_DEPENDS "${web}/src/*" "${web}/tsconfig.json" "${web}/vendor/*/package.json")
  set(bundle "${PB_ESBUILD}" --bundle --minify --target=es2020 --legal-comments=none --charset=utf8
             --log-level=warning)
  add_custom_command(
    OUTPUT "${out}/script.js" "${out}/style.css"
    COMMAND ${bundle} --format=iife --jsx=automatic --jsx-import-source=preact src/main.tsx
            "--outfile=${out}/script.js"
    COMMAND ${bundle} src/desk.css "--outfile=${out}/style.css"
    DEPENDS ${sources}
    WORKING_DIRECTORY "${web}"
    COMMENT "Bundling the desk's page"
    VERBATIM)
  set(parts "kPage=${web}/index.html" "kScript=${out}/script.js" "kStyle=${out}/style.css"
            "kIcon=${web}/src/icon.svg")
  add_custom_command(
    OUTPUT "${out}/assets.cpp"
    COMMAND "${CMAKE_COMMAND}" "-DOUT=${out}/assets.cpp" "-DPARTS=${parts}" -P
            "${PROJECT_SOURCE_DIR}/cmake/write_assets.cmake"
    DEPENDS "${out}/script.js" "${out}/style.css" "${web}/index.html"
            "${PROJECT_SOURCE_DIR}/cmake/write_assets.cmake"
    COMMENT "Writing the desk's page as C++"
    VERBATIM)
  target_sources(${target} PRIVATE "${out}/assets.cpp")
  # Alone, so that the page changes without seven others being compiled again.
  set_source_files_properties("${out}/assets.cpp" PROPERTIES SKIP_UNITY_BUILD_INCLUSION ON)
endfunction()
