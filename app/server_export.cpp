// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// GET /api/export?picture=HASH&as=NAME: what a page shows, as files, with all that is tried in it.
// Only of a picture that is kept, so that no link from elsewhere makes this program compute.
#include <algorithm>
#include <array>

#include "app/server_routes.h"
#include "app/waves.h"
#include "delivery/bom.h"
#include "delivery/schematic.h"
#include "files/toml_design.h"

namespace pb::app {
namespace {

struct Export {
  std::string_view name;
  const char* type;
  std::string (*write)(const Picture&);
};
constexpr auto kExports = std::to_array<Export>({
    {"waveforms.csv", "text/csv; charset=utf-8",
     [](const Picture& p) { return waveforms_csv(p.evidence.move.figures.waves); }},
    {"bom.csv", "text/csv; charset=utf-8",
     [](const Picture& p) { return delivery::bom_csv(p.input.design); }},
    {"schematic.svg", "image/svg+xml",
     [](const Picture& p) { return delivery::schematic_svg(p.input.design); }},
    {"design.toml", "application/toml; charset=utf-8",
     [](const Picture& p) { return pb::to_text(p.input.design); }},
});

}  // namespace

HttpResponse get_export(Desk& desk, const HttpRequest& request) {
  const std::string name = query_of(request, "as");
  const auto wanted = std::find_if(kExports.begin(), kExports.end(),
                                   [&](const Export& e) { return e.name == name; });
  if (wanted == kExports.end()) return problem_response("there is no such file of a picture", 404);
  const auto picture = desk.pictures.find(query_of(request, "picture"));
  if (!picture) return problem_response("that picture is no longer kept", 404);
  return {.status = 200,
          .type = wanted->type,
          .body = wanted->write(*picture),
          .headers = {{"Content-Disposition", "attachment; filename=\"" + name + "\""}}};
}

}  // namespace pb::app
