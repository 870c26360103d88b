// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Jobs, what they left in the folder, and downloads.
#include <fmt/core.h>

#include <algorithm>
#include <filesystem>
#include <nlohmann/json.hpp>

#include "app/server_routes.h"
#include "app/torque_curve.h"
#include "app/verb_call.h"
#include "app/verbs/verbs.h"
#include "base/hash.h"
#include "base/text.h"
#include "files/load.h"
#include "files/toml_template.h"

namespace pb::app {
namespace {

namespace fs = std::filesystem;

const char* phase_text(JobState::Phase phase) {
  switch (phase) {
    case JobState::Phase::waiting:
      return "waiting";
    case JobState::Phase::running:
      return "running";
    case JobState::Phase::done:
      break;
  }
  return "done";
}

Json state_json(const JobState& job) {
  return Json{{"id", job.id},
              {"kind", job.kind},
              {"file", job.file},
              {"key", job.key},
              {"phase", phase_text(job.phase)},
              {"share", job.share < 0 ? Json(nullptr) : Json(job.share)},
              {"note", job.note},
              {"seconds", job.seconds},
              {"status", job.phase == JobState::Phase::done ? Json(job.status) : Json(nullptr)}};
}

long id_of(const std::string& text) {
  const auto id = to_integer(text);
  return id ? static_cast<long>(*id) : -1;
}

/// The design of the file with the page's changes made.
Checked<DesignInput> asked_design(const std::string& file, const Json& body) {
  const auto changes = read_changes(body.value("changes", Json::object()));
  if (!changes) return std::unexpected(changes.error());
  auto input = read_design_input({.file = file, .sets = {}});
  if (input) input = changed_design(std::move(*input), *changes);
  if (!input) return std::unexpected(std::move(input.error()));
  return input;
}

Checked<Work> proof_work(const std::string& file, const Json& body) {
  auto input = asked_design(file, body);
  if (!input) return std::unexpected(std::move(input.error()));
  const std::string key = "check " + input->sha256;
  return Work{key, [design = std::move(*input)](Session& session) {
                Proof proof;
                return judge(design, session, proof);
              }};
}

Checked<Work> faults_work(const std::string& file, const Json& body) {
  auto input = asked_design(file, body);
  if (!input) return std::unexpected(std::move(input.error()));
  const std::string key = "faults " + input->sha256;
  return Work{key, [design = std::move(*input)](Session& session) {
                return answer_faults(design, "", session);
              }};
}

Checked<Work> held_against(Desk& desk, const std::string& file, const Json& body) {
  auto input = asked_design(file, body);
  if (!input) return std::unexpected(std::move(input.error()));
  return compare_work(desk, std::move(*input), body);
}

Checked<Work> identified(Desk& desk, const std::string& file, const Json& body) {
  const auto input = read_design_input({.file = file, .sets = {}});
  if (!input) return std::unexpected(input.error());
  return identify_work(desk, input->design.brief.motor.steps_per_turn, body);
}

Checked<Work> torque_work(const std::string& file, const Json& body) {
  auto input = asked_design(file, body);
  if (!input) return std::unexpected(std::move(input.error()));
  const std::string key = "torque " + input->sha256;
  return Work{key, [design = std::move(*input)](Session& session) {
                return torque_curve(design, session);
              }};
}

long number_of(const Json& body, const char* key, long fallback, long least, long most) {
  const auto at = body.find(key);
  if (at == body.end() || !at->is_number_integer()) return fallback;
  return std::clamp(at->get<long>(), least, most);
}

/// With the seconds that the page is ready to wait, if it says so.
Checked<Work> search_work(const std::string& file, const std::string& text, const Json& body) {
  constexpr long kDay_s = 86400;
  std::vector<std::string> asked = {file, "--out", result_folder_of(file)};
  std::string key = "design " + file + " " + sha256_hex(text);
  if (const long patience_s = number_of(body, "patience", 0, 0, kDay_s)) {
    asked.insert(asked.end(), {"--patience", std::to_string(patience_s)});
    key += fmt::format(" for {} s", patience_s);
  }
  auto run = prepare("design", asked);
  if (!run) return std::unexpected(std::move(run.error()));
  return Work{std::move(key), std::move(*run)};
}

/// Many units, or the one whose number is given.
Checked<Work> yield_work(const std::string& file, const Json& body) {
  auto input = asked_design(file, body);
  if (!input) return std::unexpected(std::move(input.error()));
  constexpr long kMostUnits = 10000, kMostSeed = 1000000;
  YieldAsked asked;
  asked.units = number_of(body, "units", 300, 1, kMostUnits);
  asked.unit = number_of(body, "unit", -1, 0, kMostUnits);
  asked.seed = static_cast<std::uint64_t>(number_of(body, "seed", 1, 1, kMostSeed));
  std::string key = fmt::format("yield {} seed {}", input->sha256, asked.seed);
  key +=
      asked.unit >= 0 ? fmt::format(" unit {}", asked.unit) : fmt::format(" units {}", asked.units);
  return Work{key, [design = std::move(*input), asked](Session& session) {
                return answer_yield(design, asked, session);
              }};
}

Checked<Work> handoff_work(const std::string& file) {
  const auto input = asked_design(file, Json::object());  // with the hash that its page knows
  if (!input) return std::unexpected(input.error());
  const std::string out = fs::path(file).replace_extension(kHandoff).generic_string();
  auto run = prepare("handoff", {file, "--out", out});
  if (!run) return std::unexpected(std::move(run.error()));
  return Work{"handoff " + file + " " + input->sha256, std::move(*run)};
}

Checked<Work> work_of(Desk& desk, const std::string& kind, const std::string& file,
                      const fs::path& place, const Json& body) {
  if (kind == "check") return proof_work(file, body);
  if (kind == "torque") return torque_work(file, body);
  if (kind == "faults") return faults_work(file, body);
  if (kind == "compare") return held_against(desk, file, body);
  if (kind == "identify") return identified(desk, file, body);
  if (kind == "import") return import_work(desk, file, body);
  if (kind == "handoff") return handoff_work(file);
  if (kind == "yield") return yield_work(file, body);
  const auto text = load_text(place.string());
  if (!text) return std::unexpected(text.error());
  if (kind == "design") return search_work(file, *text, body);
  return std::unexpected(Problems{{.message = "there is no such kind of job"}});
}

}  // namespace

HttpResponse get_jobs(Desk& desk, const HttpRequest&) {
  Json out = Json::array();
  for (const JobState& job : desk.jobs.list()) out.push_back(state_json(job));
  return json_response(Json{{"jobs", std::move(out)}});
}

HttpResponse get_job(Desk& desk, const HttpRequest& request) {
  JobState job;
  if (!desk.jobs.find(id_of(query_of(request, "id")), job))
    return problem_response("there is no such job", 404);
  Json out = state_json(job);
  out["answer"] = job.answer ? Json::parse(*job.answer, nullptr, false) : Json(nullptr);
  return json_response(out);
}

HttpResponse start_job(Desk& desk, const HttpRequest& request) {
  const auto body = body_of(request);
  if (!body) return problem_response(body.error());
  const std::string kind = text_of(*body, "kind"), file = text_of(*body, "file");
  const auto place = inside(desk, file, true);
  if (!place) return problem_response(place.error(), 404);
  auto work = work_of(desk, kind, file, *place, *body);
  if (!work) return problem_response(work.error(), 422);
  return json_response(Json{{"id", desk.jobs.submit(kind, file, work->key, std::move(work->run))}});
}

HttpResponse cancel_job(Desk& desk, const HttpRequest& request) {
  const auto body = body_of(request);
  if (!body) return problem_response(body.error());
  const auto id = body->find("id");
  if (id == body->end() || !id->is_number_integer() || !desk.jobs.cancel(id->get<long>()))
    return problem_response("there is no such job", 404);
  return json_response(Json{{"id", *id}});
}

HttpResponse get_result(Desk& desk, const HttpRequest& request) {
  const std::string file = query_of(request, "file");
  const auto brief = inside(desk, file, true);
  if (!brief) return problem_response(brief.error(), 404);
  const std::string folder = result_folder_of(file);
  const auto place = inside(desk, folder + "/design.json", true);
  if (!place) return problem_response("nothing was designed from this brief yet", 404);
  const auto text = load_text(brief->string()), stored = load_text(place->string());
  Json result = stored ? Json::parse(*stored, nullptr, false) : Json();
  if (!text || !result.is_object()) return problem_response("the result cannot be read", 404);
  result["folder"] = folder;
  if (const auto known = load_templates(data_folder("templates")))
    for (const Template& t : *known) result["wirings"][t.id] = t.title;
  result["stale"] = text_of(result, "brief_sha256") != sha256_hex(*text);
  return json_response(result);
}

HttpResponse get_download(Desk& desk, const HttpRequest& request) {
  const auto place = inside(desk, query_of(request, "file"), true);
  if (!place) return problem_response(place.error(), 404);
  const auto text = load_text(place->string());
  if (!text) return problem_response(text.error(), 404);
  HttpResponse out{
      .status = 200, .type = "text/plain; charset=utf-8", .body = *text, .headers = {}};
  if (place->extension() == ".html") {
    // A report has its style inside it, and no script.
    out.type = "text/html; charset=utf-8";
    out.headers.emplace_back(
        "Content-Security-Policy",
        "default-src 'none'; style-src 'unsafe-inline'; img-src data:; "
        "base-uri 'none'; form-action 'none'; frame-ancestors 'none'; sandbox");
    return out;
  }
  if (place->extension() == ".zip") out.type = "application/zip";
  std::string name;
  for (const char c : place->filename().string())
    name += c >= ' ' && c != '"' && c != '\\' && c != '\x7f' ? c : '_';
  out.headers.emplace_back("Content-Disposition", "attachment; filename=\"" + name + "\"");
  return out;
}

}  // namespace pb::app
