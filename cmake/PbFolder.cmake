# SPDX-FileCopyrightText: 2026 The Pennybridge authors
# SPDX-License-Identifier: Apache-2.0
#
# pb_folder(NAME links...): one folder of the house as the static library pb_NAME.
#
# Sources are every .cpp and .c of the folder and of the folders directly inside it; main.cpp is left
# to the executable. A folder with headers only becomes an INTERFACE library, so that the others can
# link it either way.

function(pb_folder name)
  file(GLOB sources CONFIGURE_DEPENDS
       "${CMAKE_CURRENT_SOURCE_DIR}/*.cpp" "${CMAKE_CURRENT_SOURCE_DIR}/*/*.cpp"
       "${CMAKE_CURRENT_SOURCE_DIR}/*.c" "${CMAKE_CURRENT_SOURCE_DIR}/*/*.c")
  list(FILTER sources EXCLUDE REGEX "/main\\.cpp$")
  if(sources)
    add_library(pb_${name} STATIC ${sources})
    target_include_directories(pb_${name} PUBLIC "${PROJECT_SOURCE_DIR}")
    target_link_libraries(pb_${name} PUBLIC ${ARGN})
  else()
    add_library(pb_${name} INTERFACE)
    target_include_directories(pb_${name} INTERFACE "${PROJECT_SOURCE_DIR}")
    target_link_libraries(pb_${name} INTERFACE ${ARGN})
  endif()
endfunction()

# pb_folder_definitions(NAME definitions...): compile definitions for the folder's own sources.
function(pb_folder_definitions name)
  get_target_property(kind pb_${name} TYPE)
  if(NOT kind STREQUAL "INTERFACE_LIBRARY")
    target_compile_definitions(pb_${name} PRIVATE ${ARGN})
  endif()
endfunction()
