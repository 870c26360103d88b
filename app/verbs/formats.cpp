// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// formats: prints docs/formats.md, written from the same tables that the readers follow.

#include "app/formats_page.h"
#include "app/verbs/verbs.h"
#include "app/web_types.h"

namespace pb::app {

Run add_formats(Command& command) {
  const auto types = std::make_shared<bool>(false);
  command.flag("--types", *types, "the same names as TypeScript: web/src/keys.ts");
  return [types](Session&) {
    Answer answer;
    answer.text = *types ? web_types() : formats_page();
    return answer;
  };
}

}  // namespace pb::app
