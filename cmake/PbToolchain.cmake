# SPDX-FileCopyrightText: 2026 The Pennybridge authors
# SPDX-License-Identifier: Apache-2.0
#
# Language, warnings, optimisation and sanitizers, the same for every target.

set(CMAKE_CXX_STANDARD 23)
set(CMAKE_CXX_STANDARD_REQUIRED ON)
set(CMAKE_CXX_EXTENSIONS OFF)
set(CMAKE_C_STANDARD 99)
set(CMAKE_C_STANDARD_REQUIRED ON)
set(CMAKE_C_EXTENSIONS OFF)
set(CMAKE_EXPORT_COMPILE_COMMANDS ON)
set(CMAKE_RUNTIME_OUTPUT_DIRECTORY "${CMAKE_BINARY_DIR}")

if(NOT CMAKE_BUILD_TYPE)
  set(CMAKE_BUILD_TYPE Release CACHE STRING "Build type" FORCE)
endif()

# -Wconversion stays out: numerical code indexes with int and size_t side by side, and the casts it
# asks for hide more than they show.
add_compile_options(-Wall -Wextra -Wpedantic -Wshadow -Wswitch -Werror)
add_compile_options($<$<COMPILE_LANGUAGE:CXX>:-Wnon-virtual-dtor>)
if(CMAKE_CXX_COMPILER_ID STREQUAL "GNU" AND CMAKE_CXX_COMPILER_VERSION VERSION_LESS 13)
  # g++ 12 reports copies that overlap or leave their bounds inside std::string's operator+ and are
  # not there (GCC bugs 105329 and 105651, mended in 13); the latter with precompiled headers only,
  # and then reports overflows of that kind, too.
  add_compile_options($<$<COMPILE_LANGUAGE:CXX>:-Wno-restrict> $<$<COMPILE_LANGUAGE:CXX>:-Wno-array-bounds>
                      $<$<COMPILE_LANGUAGE:CXX>:-Wno-stringop-overflow>)
endif()

if(CMAKE_CXX_COMPILER_ID MATCHES "Clang")
  # libstdc++ 12 uses its own deprecated std::get_temporary_buffer in std::stable_sort; g++ keeps quiet
  # about it because it is a system header, clang does not.
  add_compile_options(-Wno-deprecated-declarations)
endif()

# Results must not depend on how the compiler fuses or reorders floating point: no contraction, never
# -ffast-math. Nothing here reads errno after a math call or unmasks floating-point traps.
add_compile_options(-ffp-contract=off -fno-math-errno -fno-trapping-math)
set(CMAKE_CXX_FLAGS_RELEASE "-O3 -DNDEBUG")
set(CMAKE_C_FLAGS_RELEASE "-O3 -DNDEBUG")
if(PB_NATIVE)
  add_compile_options(-march=native)
endif()

if(PB_SANITIZE)
  add_compile_options(-fsanitize=${PB_SANITIZE} -fno-sanitize-recover=all -fno-omit-frame-pointer -g1)
  add_link_options(-fsanitize=${PB_SANITIZE})
  # A sanitizer build looks for defects, not for speed: asserts on, cheap optimisation.
  set(CMAKE_CXX_FLAGS_RELEASE "-O1")
  set(CMAKE_C_FLAGS_RELEASE "-O1")
endif()

if(PB_FUZZ AND NOT CMAKE_CXX_COMPILER_ID MATCHES "Clang")
  message(FATAL_ERROR "PB_FUZZ needs clang: configure with the preset 'asan'")
endif()

# pb_for_building(TARGET): compiled for the building's sake, since nobody waits for what it computes.
function(pb_for_building target)
  if(PB_SANITIZE)
    target_compile_options(${target} PRIVATE -O0)
  else()
    target_compile_options(${target} PRIVATE -O1)
  endif()
endfunction()

# pb_waited_for(FILES...): of such a target, what the tests under sanitizers spend their time in.
function(pb_waited_for)
  if(PB_SANITIZE)
    set_source_files_properties(${ARGN} PROPERTIES COMPILE_OPTIONS -O1 SKIP_PRECOMPILE_HEADERS ON)
  endif()
endfunction()

# pb_precompile(TARGET HEADERS...): the libraries' headers that most of its files include, read once.
# Not where ccache is used, which cannot see into them; sanitizer builds are mostly made from nothing.
function(pb_precompile target)
  if(PB_SANITIZE OR NOT PB_CCACHE)
    target_precompile_headers(${target} PRIVATE <algorithm> <cmath> <functional> <map> <set> <string>
                              <vector> ${ARGN})
  endif()
endfunction()

# Several sources of a folder are compiled at once, for most of the time goes into what all of them
# include and instantiate. What is local to a file therefore has a name of its own within its folder.
# -DPB_JOIN=OFF compiles each file alone: quicker for who changes one at a time.
option(PB_JOIN "Compile several sources at once" ON)
set(CMAKE_UNITY_BUILD ${PB_JOIN})
set(CMAKE_UNITY_BUILD_BATCH_SIZE 8)

find_program(PB_CCACHE ccache)
if(PB_CCACHE AND NOT CMAKE_CXX_COMPILER_LAUNCHER)
  set(CMAKE_C_COMPILER_LAUNCHER "${PB_CCACHE}")
  set(CMAKE_CXX_COMPILER_LAUNCHER "${PB_CCACHE}")
endif()
