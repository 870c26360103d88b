// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The text of the files of drive/, put into the program when it is built (delivery/CMakeLists.txt).
#pragma once

#include <string_view>

namespace pb::delivery {

extern const std::string_view kDriveHeader;  // drive/pb_drive.h
extern const std::string_view kDriveSource;  // drive/pb_drive.c

}  // namespace pb::delivery
