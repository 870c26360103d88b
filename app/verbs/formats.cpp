// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// formats: prints docs/formats.md, written from the same tables that the readers follow.
#include <CLI/CLI.hpp>

#include "app/formats_page.h"
#include "app/verbs/verbs.h"

namespace pb::app {

Run add_formats(CLI::App&) {
  return [](Session&) {
    Answer answer;
    answer.text = formats_page();
    return answer;
  };
}

}  // namespace pb::app
