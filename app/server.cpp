// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "app/server.h"

#include <fmt/core.h>

#include <array>
#include <nlohmann/json.hpp>
#include <random>

#include "app/assets.h"
#include "app/server_routes.h"
#include "app/server_upload.h"
#include "app/verb_call.h"
#include "base/text.h"

namespace pb::app {
namespace {

struct Route {
  std::string_view method, path;
  HttpResponse (*handle)(Desk&, const HttpRequest&);
};

constexpr auto kRoutes = std::to_array<Route>({
    {"GET", "/", get_page},
    {"GET", "/desk.js", get_script},
    {"GET", "/desk.css", get_style},
    {"GET", "/icon.svg", get_icon},
    {"GET", "/api/version", get_version},
    {"GET", "/api/keys", get_keys},
    {"GET", "/api/folder", get_folder},
    {"GET", "/api/file", get_file},
    {"POST", "/api/file", put_file},
    {"POST", "/api/start", start_file},
    {"POST", "/api/brief", read_brief_text},
    {"POST", "/api/brief/edit", edit_brief_text},
    {"GET", "/api/jobs", get_jobs},
    {"GET", "/api/job", get_job},
    {"POST", "/api/jobs", start_job},
    {"POST", "/api/jobs/cancel", cancel_job},
    {"GET", "/api/result", get_result},
    {"GET", "/download", get_download},
    {"POST", "/api/capture", look_at_capture},
    {"GET", "/api/parts", get_parts},
    {"POST", "/api/mapping", start_mapping},
    {"POST", "/api/design", show_design},
    {"POST", "/api/picture", show_picture},
    {"GET", "/api/waves", get_waves},
    {"GET", "/api/duty", get_duty},
    {"GET", "/api/currents", get_currents},
    {"GET", "/api/export", get_export},
    {"GET", "/api/alternatives", get_alternatives},
    {"POST", "/api/design/save", save_design},
});

// The hosts a browser on this machine may call us by. Compared whole: a prefix would let
// 127.0.0.1.example.org in.
bool is_own_host(const std::string& host, int port) {
  return host == fmt::format("127.0.0.1:{}", port) || host == fmt::format("localhost:{}", port);
}

bool is_own_origin(const std::string& origin, int port) {
  constexpr std::string_view kScheme = "http://";
  return origin.starts_with(kScheme) && is_own_host(origin.substr(kScheme.size()), port);
}

/// 128 bits nobody can guess.
std::string fresh_token() {
  std::random_device device;
  std::string out;
  for (int k = 0; k < 4; ++k) out += fmt::format("{:08x}", device());
  return out;
}

/// The same time for every wrong token.
bool same_token(const std::string& a, const std::string& b) {
  if (a.size() != b.size()) return false;
  unsigned different = 0;
  for (std::size_t k = 0; k < a.size(); ++k) different |= static_cast<unsigned char>(a[k] ^ b[k]);
  return different == 0;
}

HttpResponse asset(std::string_view body, const char* type) {
  return {.status = 200, .type = type, .body = std::string(body), .headers = {}};
}

}  // namespace

Desk::Desk(std::filesystem::path folder_, int port_, ParallelFor parallel)
    : folder(std::move(folder_)), port(port_), token(fresh_token()), jobs(std::move(parallel)) {}

bool admitted(const Desk& desk, const HttpRequest& request, HttpResponse& refusal) {
  if (!is_own_host(request.host, desk.port))
    refusal = problem_response("the host must be 127.0.0.1 or localhost, with this port", 403);
  else if (!request.origin.empty() && !is_own_origin(request.origin, desk.port))
    refusal = problem_response("requests from other pages are refused", 403);
  else if (request.method != "GET" && request.method != "HEAD" && request.method != "POST")
    refusal = problem_response("only GET and POST are answered", 405);
  else if (request.method == "POST" && !same_token(request.token, desk.token))
    refusal = problem_response("the page is from an earlier run of the server: load it again", 403);
  else if (const char* type = request.path == kUploadPath ? kUploadType : "application/json";
           request.method == "POST" && request.content_type != type)
    refusal = problem_response(std::string("a body must be ") + type, 415);
  else
    return true;
  return false;
}

HttpResponse dispatch(Desk& desk, const HttpRequest& request) {
  HttpResponse refusal;
  if (!admitted(desk, request, refusal)) return refusal;
  if (request.body.size() > kMostBody) return problem_response("a body may have 1 MiB", 413);
  bool other_method = false;
  for (const Route& route : kRoutes) {
    if (route.path != request.path) continue;
    if (route.method != (request.method == "HEAD" ? "GET" : request.method)) {
      other_method = true;
      continue;
    }
    try {
      return route.handle(desk, request);
    } catch (const std::exception& error) {
      return problem_response(std::string("a fault of this program: ") + error.what(), 500);
    }
  }
  return problem_response("no such route", other_method ? 405 : 404);
}

std::vector<std::pair<std::string, std::string>> common_headers() {
  return {{"Content-Security-Policy",
           "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
           "connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"},
          {"X-Content-Type-Options", "nosniff"},
          {"X-Frame-Options", "DENY"},
          {"Referrer-Policy", "no-referrer"},
          {"Cross-Origin-Opener-Policy", "same-origin"},
          {"Cross-Origin-Resource-Policy", "same-origin"},
          {"Cache-Control", "no-store"}};
}

HttpResponse json_response(const Json& object, int status) {
  return {.status = status,
          .body = object.dump(-1, ' ', false, Json::error_handler_t::replace),
          .headers = {}};
}

HttpResponse problem_response(const Problems& problems, int status) {
  return json_response(Json{{"problems", to_json(problems)}}, status);
}

HttpResponse problem_response(const std::string& message, int status) {
  return problem_response(Problems{{.message = message}}, status);
}

std::string text_of(const Json& object, const char* key) {
  const auto at = object.find(key);
  return at != object.end() && at->is_string() ? at->get<std::string>() : "";
}

std::string query_of(const HttpRequest& request, const char* key) {
  const auto at = request.query.find(key);
  return at == request.query.end() ? "" : at->second;
}

Checked<Json> body_of(const HttpRequest& request) {
  Json body = Json::parse(request.body, nullptr, false);
  if (!body.is_object())
    return std::unexpected(Problems{{.message = "the body must be one JSON object"}});
  return body;
}

HttpResponse get_page(Desk& desk, const HttpRequest&) {
  std::string page(assets::kPage);
  page = replace_all(page, "@TOKEN@", desk.token);
  return {.status = 200, .type = "text/html; charset=utf-8", .body = page, .headers = {}};
}

HttpResponse get_script(Desk&, const HttpRequest&) {
  return asset(assets::kScript, "application/javascript; charset=utf-8");
}
HttpResponse get_style(Desk&, const HttpRequest&) {
  return asset(assets::kStyle, "text/css; charset=utf-8");
}
HttpResponse get_icon(Desk&, const HttpRequest&) { return asset(assets::kIcon, "image/svg+xml"); }

HttpResponse get_version(Desk& desk, const HttpRequest&) {
  return json_response(
      Json{{"format", 1}, {"version", PB_VERSION}, {"folder", escaped(desk.folder.string())}});
}

}  // namespace pb::app
