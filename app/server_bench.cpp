// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The bench at the desk: captures brought into the folder, looked at, held against a design, and
// asked what motor they show.
#include <sys/stat.h>
#include <unistd.h>

#include <atomic>
#include <cerrno>
#include <nlohmann/json.hpp>
#include <system_error>

#include "app/capture_input.h"
#include "app/server_routes.h"
#include "app/server_upload.h"
#include "app/verbs/verbs.h"
#include "app/waves.h"
#include "base/hash.h"
#include "base/quantity.h"
#include "base/text.h"

namespace pb::app {
namespace {

namespace fs = std::filesystem;

// A screen has no more columns than this.
constexpr int kPoints = 600;

std::vector<std::string> texts_of(const Json& object, const char* key) {
  std::vector<std::string> out;
  const auto at = object.find(key);
  if (at == object.end() || !at->is_array()) return out;
  for (const Json& text : *at)
    if (text.is_string()) out.push_back(text.get<std::string>());
  return out;
}

/// The capture that a request names, and how its columns are to be read.
Checked<CaptureArguments> asked_capture(const Desk& desk, const Json& body) {
  CaptureArguments out;
  out.file = text_of(body, "capture");
  const auto place = inside(desk, out.file, true);
  if (!place) return std::unexpected(place.error());
  out.columns = texts_of(body, "columns");
  out.time_unit = text_of(body, "time_unit");
  return out;
}

std::string key_of(const CaptureArguments& capture) {
  std::error_code error;
  const auto written = fs::last_write_time(capture.file, error).time_since_epoch().count();
  return capture.file + "\n" + std::to_string(written) + "\n" + join(capture.columns, "\n") + "\n" +
         capture.time_unit;
}

Json overlays_json(const Comparison& found) {
  Json out = Json::array();
  for (const Overlay& o : found.overlays) {
    Json lines = series_json(o.t_s,
                             {{"measured", o.unit, &o.measured},
                              {"expected", o.unit, &o.expected},
                              {"low", o.unit, &o.low},
                              {"high", o.unit, &o.high}},
                             kPoints);
    lines["channel"] = o.channel;
    lines["unit"] = o.unit;
    out.push_back(std::move(lines));
  }
  return out;
}

Problem system_problem(const std::string& what, int error) {
  return {.message = what + ": " + std::generic_category().message(error)};
}

}  // namespace

Checked<Work> compare_work(Desk& desk, DesignInput input, const Json& body) {
  auto capture = asked_capture(desk, body);
  if (!capture) return std::unexpected(std::move(capture.error()));
  std::string key = "compare " + input.sha256 + "\n" + key_of(*capture);
  return Work{std::move(key),
              [input = std::move(input), asked = std::move(*capture)](Session& session) {
                const auto read = read_capture_input(asked);
                if (!read) return refuse(read.error());
                Comparison found;
                Answer answer = answer_compare(input, *read, {}, session, found);
                if (!found.overlays.empty()) (*answer.json)["overlays"] = overlays_json(found);
                return answer;
              }};
}

Checked<Work> identify_work(Desk& desk, double steps_per_turn, const Json& body) {
  auto capture = asked_capture(desk, body);
  if (!capture) return std::unexpected(std::move(capture.error()));
  const std::string brief = text_of(body, "brief"), voltage = text_of(body, "voltage");
  if (!brief.empty())
    if (const auto place = inside(desk, brief, true); !place || place->extension() != ".toml")
      return std::unexpected(place ? Problems{{.message = "a brief ends in .toml"}}
                                   : place.error());
  IdentifyOptions options;
  if (!voltage.empty()) {
    const auto read = parse_quantity(voltage, dim::voltage);
    if (!read) return std::unexpected(Problems{to_problem(read.error())});
    options.voltage_V = *read;
  }
  options.steps_per_turn = steps_per_turn;
  // What writes is done each time it is asked for.
  static std::atomic<long> asked_to_write{0};
  const std::string key = "identify " + key_of(*capture) + "\n" + voltage + "\n" + brief + "\n" +
                          (brief.empty() ? "" : std::to_string(++asked_to_write));
  return Work{key, [asked = std::move(*capture), options, brief](Session&) {
                const auto read = read_capture_input(asked);
                if (!read) return refuse(read.error());
                Identified found;
                Answer answer = answer_identify(*read, options, brief, found);
                if (!found.t_s.empty())
                  (*answer.json)["fit"] = series_json(found.t_s,
                                                      {{"measured", found.y_unit, &found.measured},
                                                       {"fitted", found.y_unit, &found.fitted}},
                                                      kPoints);
                return answer;
              }};
}

HttpResponse look_at_capture(Desk& desk, const HttpRequest& request) {
  const auto body = body_of(request);
  if (!body) return problem_response(body.error());
  const auto asked = asked_capture(desk, *body);
  if (!asked) return problem_response(asked.error(), 404);
  const auto capture = read_capture_input(*asked);
  if (!capture) return problem_response(capture.error(), 422);
  std::vector<Series> series;
  series.reserve(capture->channels.size());
  for (const CaptureChannel& c : capture->channels) series.push_back({c.name, c.unit, &c.y});
  Json out = capture_json(*capture);
  out["file"] = asked->file;
  out["waves"] = series_json(capture->t_s, series, kPoints / 2);
  return json_response(out);
}

Upload::Upload(const Desk& desk, const HttpRequest& head) : folder_(desk.folder) {
  const std::string name = query_of(head, "name");
  const auto place = inside(desk, name, false);
  if (!place || place->extension() != ".csv" || name.find('/') != std::string::npos) {
    refusal_ = place ? problem_response("a name of this folder that ends in .csv is needed", 400)
                     : problem_response(place.error(), 400);
    return;
  }
  stem_ = place->stem().string();
  work_ = (folder_ / ".upload-XXXXXX").string();
  file_ = ::mkstemp(work_.data());
  if (file_ < 0) refusal_ = problem_response({system_problem("the folder", errno)}, 500);
}

Upload::~Upload() {
  if (file_ < 0) return;
  ::close(file_);
  ::unlink(work_.c_str());
}

bool Upload::take(std::string_view piece) {
  if (refusal_) return false;
  size_ += piece.size();
  if (size_ > kMostUpload) {
    refusal_ = problem_response("a capture may have 1 GiB", 413);
    return false;
  }
  while (!piece.empty()) {
    const ssize_t n = ::write(file_, piece.data(), piece.size());
    if (n < 0 && errno == EINTR) continue;
    if (n < 0) {
      refusal_ = problem_response({system_problem("writing", errno)}, 507);
      return false;
    }
    piece.remove_prefix(static_cast<std::size_t>(n));
  }
  return true;
}

HttpResponse Upload::finish() {
  if (refusal_) return *refusal_;
  if (::fchmod(file_, 0644) != 0 || ::fsync(file_) != 0)
    return problem_response({system_problem("writing", errno)}, 507);
  // A link fails where the name is taken: nothing is overwritten, whoever else writes there.
  for (int n = 1;; ++n) {
    const std::string name = stem_ + (n == 1 ? "" : "-" + std::to_string(n)) + ".csv";
    if (::link(work_.c_str(), (folder_ / name).c_str()) == 0)
      return json_response(Json{{"file", name}, {"bytes", size_}});
    if (errno != EEXIST) return problem_response({system_problem(name, errno)}, 507);
  }
}

}  // namespace pb::app
