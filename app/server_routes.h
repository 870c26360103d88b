// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The routes of the desk, one function each, for the table in server.cpp, and what they share.
// Internal to the server.
#pragma once

#include <optional>
#include <string>

#include "app/json.h"
#include "app/server.h"
#include "base/problem.h"

namespace pb::app {

HttpResponse json_response(const Json& object, int status = 200);
/// {"problems": [...]}; 400 unless said otherwise.
HttpResponse problem_response(const Problems& problems, int status = 400);
HttpResponse problem_response(const std::string& message, int status);
/// A text field of the request's JSON object; empty if it is not there.
std::string text_of(const Json& object, const char* key);
/// A parameter of the query; empty if it is not there.
std::string query_of(const HttpRequest& request, const char* key);
/// The body as an object.
Checked<Json> body_of(const HttpRequest& request);

/// The place of a file that a page named, below the folder served, links followed; `must_exist` or
/// merely may be made there. Only names ending in .toml, .csv, .html, .json or
/// .zip.
Checked<std::filesystem::path> inside(const Desk& desk, const std::string& name, bool must_exist);
/// Where the results of a brief go: "a/b.toml" has "a/b.result".
std::string result_folder_of(const std::string& brief_file);

/// NAME.toml, or NAME-2.toml and so on where that is taken.
std::string free_name(const Desk& desk, const std::string& stem);

/// What folders of results end in.
inline constexpr const char *kResult = ".result", *kHandoff = ".handoff";

/// What a job does, and what tells two of them apart.
struct Work {
  std::string key;
  Run run;
};
/// A capture against the design; the answer of `compare` with what was measured and expected.
Checked<Work> compare_work(Desk& desk, DesignInput input, const Json& body);
/// What a capture tells of its motor; the answer of `identify` with the fit. Writes into the brief
/// that the body names, if it names one.
Checked<Work> identify_work(Desk& desk, double steps_per_turn, const Json& body);
/// `parts import` of a catalogue of the folder; without "dry_run": false nothing is written.
Checked<Work> import_work(Desk& desk, const std::string& file, const Json& body);

HttpResponse get_page(Desk&, const HttpRequest&);
HttpResponse get_script(Desk&, const HttpRequest&);
HttpResponse get_style(Desk&, const HttpRequest&);
HttpResponse get_icon(Desk&, const HttpRequest&);
HttpResponse get_version(Desk&, const HttpRequest&);

HttpResponse get_keys(Desk&, const HttpRequest&);
HttpResponse get_folder(Desk&, const HttpRequest&);
HttpResponse get_file(Desk&, const HttpRequest&);
HttpResponse put_file(Desk&, const HttpRequest&);
HttpResponse start_file(Desk&, const HttpRequest&);
HttpResponse read_brief_text(Desk&, const HttpRequest&);
HttpResponse edit_brief_text(Desk&, const HttpRequest&);

HttpResponse get_jobs(Desk&, const HttpRequest&);
HttpResponse get_job(Desk&, const HttpRequest&);
HttpResponse start_job(Desk&, const HttpRequest&);
HttpResponse cancel_job(Desk&, const HttpRequest&);
HttpResponse get_result(Desk&, const HttpRequest&);
HttpResponse get_download(Desk&, const HttpRequest&);

HttpResponse look_at_capture(Desk&, const HttpRequest&);

HttpResponse get_parts(Desk&, const HttpRequest&);
HttpResponse start_mapping(Desk&, const HttpRequest&);

HttpResponse show_design(Desk&, const HttpRequest&);
HttpResponse show_picture(Desk&, const HttpRequest&);
HttpResponse get_waves(Desk&, const HttpRequest&);
HttpResponse get_duty(Desk&, const HttpRequest&);
HttpResponse get_currents(Desk&, const HttpRequest&);
HttpResponse get_export(Desk&, const HttpRequest&);
HttpResponse get_alternatives(Desk&, const HttpRequest&);
HttpResponse save_design(Desk&, const HttpRequest&);

}  // namespace pb::app
