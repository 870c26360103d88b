// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The desk's server without sockets: what it refuses, each beside the same request in good form,
// and what it answers.
#include "app/server.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>

#include "app/server_upload.h"
#include "app/waves.h"
#include "base/preferred.h"
#include "files/load.h"
#include "tests/unit/files_samples.h"

namespace pb::app {
namespace {

namespace fs = std::filesystem;

constexpr int kPort = 8123;

class AppServer : public ::testing::Test {
 protected:
  AppServer() {
    std::string pattern = (fs::temp_directory_path() / "desk-XXXXXX").string();
    root_ = fs::canonical(mkdtemp(pattern.data()));
    fs::create_directories(root_ / "served" / "below");
    write("secret.toml", "secret = 1\n");
    write("served/brief.toml", test::kLeastBrief);
    write("served/below/brief.toml", test::kLeastBrief);
    desk_ = std::make_unique<Desk>(root_ / "served", kPort, serial());
    before_ = fs::current_path();
    fs::current_path(root_ / "served");  // as serve does
  }
  ~AppServer() override {
    fs::current_path(before_);
    desk_.reset();
    fs::remove_all(root_);
  }

  void write(const std::string& name, const std::string& text) const {
    std::ofstream(root_ / name, std::ios::binary) << text;
  }
  HttpRequest request(const std::string& method, const std::string& path) const {
    HttpRequest r;
    r.method = method;
    r.path = path;
    r.host = "127.0.0.1:8123";
    if (method == "POST") {
      r.token = desk_->token;
      r.content_type = "application/json";
    }
    return r;
  }
  HttpRequest get_file(const std::string& file) const {
    HttpRequest r = request("GET", "/api/file");
    r.query["file"] = file;
    return r;
  }
  HttpRequest post(const std::string& path, const Json& body) const {
    HttpRequest r = request("POST", path);
    r.body = body.dump();
    return r;
  }
  int status(const HttpRequest& r) { return dispatch(*desk_, r).status; }
  /// The answer's status with the member at each of the values.
  void expect_each(std::string HttpRequest::* member, std::initializer_list<const char*> values,
                   int expected) {
    HttpRequest r = request("GET", "/api/version");
    for (const char* value : values) {
      r.*member = value;
      EXPECT_EQ(status(r), expected) << value;
    }
  }
  HttpRequest upload(const std::string& name) const {
    HttpRequest r = request("POST", "/api/upload");
    r.content_type = "text/csv";
    r.query["name"] = name;
    return r;
  }
  std::size_t files() const {
    return static_cast<std::size_t>(
        std::distance(fs::directory_iterator("."), fs::directory_iterator()));
  }
  Json answer(const HttpRequest& r) { return Json::parse(dispatch(*desk_, r).body); }

  fs::path root_, before_;
  std::unique_ptr<Desk> desk_;
};

TEST_F(AppServer, OnlyItsOwnHostAndPort) {
  expect_each(&HttpRequest::host, {"127.0.0.1:8123", "localhost:8123"}, 200);
  expect_each(
      &HttpRequest::host,
      {"127.0.0.1", "127.0.0.1:81230", "127.0.0.1:8123.example.org", "127.0.0.1.example.org:8123",
       "example.org:8123", "", "0.0.0.0:8123", "LOCALHOST.example.org:8123", "localhost:8124"},
      403);
}

TEST_F(AppServer, OnlyItsOwnOrigin) {
  expect_each(&HttpRequest::origin, {"http://127.0.0.1:8123"}, 200);
  expect_each(&HttpRequest::origin,
              {"null", "http://example.org", "https://127.0.0.1:8123",
               "http://127.0.0.1:8123.example.org", "http://127.0.0.1:9999"},
              403);
}

TEST_F(AppServer, ChangesNeedTheTokenAndJson) {
  const HttpRequest good = post("/api/brief", Json{{"file", "x"}, {"text", ""}});
  EXPECT_EQ(status(good), 200);
  HttpRequest bad = good;
  bad.token = "";
  EXPECT_EQ(status(bad), 403);
  bad.token = std::string(desk_->token.size(), '0');
  EXPECT_EQ(status(bad), 403);
  bad = good;
  bad.content_type = "text/plain";
  EXPECT_EQ(status(bad), 415);
  bad = good;
  bad.method = "DELETE";
  EXPECT_EQ(status(bad), 405);
  bad = good;
  bad.method = "GET";
  EXPECT_EQ(status(bad), 405);
  bad = good;
  bad.body = "[1]";
  EXPECT_EQ(status(bad), 400);
  bad.body = "{";
  EXPECT_EQ(status(bad), 400);
  bad.body = std::string(kMostBody + 1, ' ');
  EXPECT_EQ(status(bad), 413);
  EXPECT_NE(Desk(root_, kPort, serial()).token, desk_->token);
}

TEST_F(AppServer, NoPathLeavesTheFolder) {
  fs::create_symlink(root_ / "secret.toml", root_ / "served" / "link.toml");
  fs::create_directory_symlink(root_, root_ / "served" / "up");
  write("served/.hidden.toml", "a = 1\n");
  EXPECT_EQ(status(get_file("brief.toml")), 200);
  EXPECT_EQ(status(get_file("below/brief.toml")), 200);
  for (const std::string& file :
       {std::string("../secret.toml"), std::string("below/../../secret.toml"),
        (root_ / "secret.toml").string(), std::string("link.toml"), std::string("up/secret.toml"),
        std::string("./brief.toml"), std::string("below//brief.toml"), std::string(".hidden.toml"),
        std::string(""), std::string("."), std::string("below"), std::string("..\\secret.toml"),
        std::string("brief.toml\0", 11), std::string("-x.toml"), std::string("%2e%2e/secret.toml")})
    EXPECT_EQ(status(get_file(file)), 404) << file;
  for (const char* path : {"/download", "/api/result"}) {
    HttpRequest r = request("GET", path);
    r.query["file"] = "../secret.toml";
    EXPECT_EQ(status(r), 404) << path;
  }
  EXPECT_EQ(status(post("/api/jobs", {{"kind", "design"}, {"file", "../secret.toml"}})), 404);
}

TEST_F(AppServer, AFileChangedOnDiskIsNotOverwritten) {
  const Json first = answer(get_file("brief.toml"));
  Json save{{"file", "brief.toml"}, {"text", "one = 1\n"}, {"base_sha256", first["sha256"]}};
  const HttpResponse saved = dispatch(*desk_, post("/api/file", save));
  ASSERT_EQ(saved.status, 200) << saved.body;
  EXPECT_EQ(*load_text("brief.toml"), "one = 1\n");
  // The same base again: the file is another now.
  save["text"] = "two = 2\n";
  const HttpResponse refused = dispatch(*desk_, post("/api/file", save));
  EXPECT_EQ(refused.status, 409);
  EXPECT_EQ(Json::parse(refused.body)["text"], "one = 1\n");
  EXPECT_EQ(*load_text("brief.toml"), "one = 1\n");
}

TEST_F(AppServer, FormAndTextSayTheSame) {
  const std::string text = "# kept\n" + test::kLeastBrief;
  const Json now = answer(post(
      "/api/brief/edit",
      {{"file", "b.toml"}, {"text", text}, {"key", "supply.voltage"}, {"value", "9 parsecs"}}));
  EXPECT_EQ(now["text"].get<std::string>().find("# kept\n"), 0u);
  EXPECT_EQ(now["entries"]["supply.voltage"]["text"], "9 parsecs");
  ASSERT_EQ(now["problems"].size(), 1u) << now["problems"];
  EXPECT_EQ(now["problems"][0]["key"], "supply.voltage");
  // The line is what the command line would print.
  EXPECT_EQ(
      now["lines"][0].get<std::string>().find("b.toml:11:11: supply.voltage: expected a voltage"),
      0u)
      << now["lines"][0];
  EXPECT_EQ(status(post("/api/brief/edit", {{"text", text}, {"key", "motor.colour"}})), 400);
}

TEST_F(AppServer, ListsBriefsAndStartsFromAnExample) {
  const Json listed = answer(request("GET", "/api/folder"));
  ASSERT_EQ(listed["briefs"].size(), 2u);
  ASSERT_FALSE(listed["examples"].empty());
  const Json example = {{"example", listed["examples"][0]["name"]}};
  const Json one = answer(post("/api/start", example)), two = answer(post("/api/start", example));
  EXPECT_NE(one["file"], two["file"]);
  EXPECT_TRUE(fs::exists(one["file"].get<std::string>()));
  EXPECT_EQ(status(post("/api/start", {{"example", "../../secret.toml"}})), 404);
}

TEST_F(AppServer, AnUploadIsThereWholeOrNotAtAll) {
  HttpResponse refusal;
  EXPECT_TRUE(admitted(*desk_, upload("scope.csv"), refusal));
  HttpRequest bad = upload("scope.csv");
  bad.content_type = "application/json";
  EXPECT_FALSE(admitted(*desk_, bad, refusal));
  bad = upload("scope.csv");
  bad.token = "";
  EXPECT_FALSE(admitted(*desk_, bad, refusal));

  const std::size_t before = files();
  {
    Upload half(*desk_, upload("scope.csv"));
    EXPECT_TRUE(half.take("t,v\n"));
  }  // the connection broke
  EXPECT_EQ(files(), before);
  for (int k = 0; k < 2; ++k) {
    Upload whole(*desk_, upload("scope.csv"));
    EXPECT_TRUE(whole.take("t,v\n") && whole.take("0,1\n"));
    const HttpResponse done = whole.finish();
    ASSERT_EQ(done.status, 200) << done.body;
  }
  EXPECT_EQ(files(), before + 2);
  EXPECT_EQ(*load_text("scope.csv"), "t,v\n0,1\n");
  EXPECT_TRUE(fs::exists("scope-2.csv"));
  for (const char* name : {"../scope.csv", "below/scope.csv", "scope.toml", "scope", ".scope.csv",
                           "/tmp/scope.csv", "", "a\\b.csv"}) {
    Upload refused(*desk_, upload(name));
    EXPECT_FALSE(refused.take("x")) << name;
    EXPECT_EQ(refused.finish().status, 400) << name;
  }
  EXPECT_EQ(files(), before + 2);
}

TEST_F(AppServer, ACaptureIsReadInsideTheFolderOnly) {
  const std::string text = "time (ms),CH1 (V)\n0,1\n1,2\n2,4\n3,4\n4,4\n5,4\n6,4\n7,4\n8,4\n9,4\n";
  write("served/scope.csv", text);
  write("secret.csv", text);
  const Json seen = answer(post("/api/capture", {{"capture", "scope.csv"}}));
  ASSERT_EQ(seen["rows"], 10) << seen;
  EXPECT_EQ(seen["waves"]["series"][0]["y"],
            (Json{1.0, 2.0, 4.0, 4.0, 4.0, 4.0, 4.0, 4.0, 4.0, 4.0}));
  EXPECT_NEAR(seen["to_s"].get<double>(), 9e-3, 1e-12);
  EXPECT_EQ(status(post("/api/capture", {{"capture", "../secret.csv"}})), 404);
  EXPECT_EQ(status(post("/api/capture",
                        {{"capture", "scope.csv"}, {"columns", Json::array({"current_A=CH9"})}})),
            422);
}

TEST_F(AppServer, AMappingBeginsFromTheHeadLine) {
  write("served/shop.csv", "Part no.;Kind;\"Price\"\nA1;N;0,1\n");
  const Json made = answer(post("/api/mapping", {{"file", "shop.csv"}}));
  EXPECT_EQ(made["file"], "shop-map.toml") << made;
  const std::string text = made["text"];
  for (const char* piece : {"separator = \";\"", "[column.\"Part no.\"]", "[column.\"Price\"]"})
    EXPECT_NE(text.find(piece), std::string::npos) << piece;
  EXPECT_EQ(answer(request("GET", "/api/folder"))["mappings"][0]["file"], "shop-map.toml");
  EXPECT_EQ(status(post("/api/mapping", {{"file", "../secret.csv"}})), 404);
  EXPECT_EQ(status(post("/api/mapping", {{"file", "brief.toml"}})), 400);
  EXPECT_EQ(status(post("/api/jobs", {{"kind", "import"}, {"file", "../secret.csv"}})), 404);
  EXPECT_EQ(status(post("/api/jobs",
                        {{"kind", "import"}, {"file", "shop.csv"}, {"map", "../secret.toml"}})),
            422);
}

TEST_F(AppServer, ResistorsAreDraggedOverPreferredValues) {
  fs::copy_file(test::kRoot / "examples/follower-trap/design.toml", "trap.toml");
  const Json view = answer(post("/api/design", {{"file", "trap.toml"}}));
  bool found = false;
  for (const Json& s : view["sliders"]) {
    if (s["kind"] != "value") continue;
    found = true;
    const auto values = s["choices"].get<std::vector<double>>();
    const double is = s["value"];
    EXPECT_NE(std::find(values.begin(), values.end(), is), values.end());
    EXPECT_TRUE(std::is_sorted(values.begin(), values.end()));
    EXPECT_GE(values.size(), 25u) << "two decades of twelve";
    EXPECT_NEAR(values.back() / values.front(), 100, 21);
    for (const double v : values) EXPECT_TRUE(v == is || is_preferred(v, pb::Series::E12)) << v;
  }
  EXPECT_TRUE(found) << view;
}

TEST_F(AppServer, FilesOfAPictureThatIsKept) {
  fs::copy_file(test::kRoot / "examples/follower-trap/design.toml", "trap.toml");
  const Json picture = answer(post("/api/picture", {{"file", "trap.toml"}}));
  ASSERT_TRUE(picture.contains("input_sha256")) << picture;
  HttpRequest r = request("GET", "/api/export");
  r.query = {{"picture", picture["input_sha256"]}, {"as", "waveforms.csv"}};
  const HttpResponse csv = dispatch(*desk_, r);
  ASSERT_EQ(csv.status, 200);
  EXPECT_TRUE(csv.body.starts_with("t_s,winding_a_A,")) << csv.body.substr(0, 80);
  r.query["as"] = "../secret.toml";
  EXPECT_EQ(status(r), 404);
  r.query = {{"picture", std::string(64, '0')}, {"as", "bom.csv"}};
  EXPECT_EQ(status(r), 404);
  // A unit's picture is another, and a unit is a number.
  const Json unit = {{"file", "trap.toml"}, {"changes", {{"unit", {{"number", 7}, {"seed", 1}}}}}};
  const Json of_unit = answer(post("/api/picture", unit));
  ASSERT_TRUE(of_unit.contains("input_sha256")) << of_unit;
  EXPECT_NE(of_unit["input_sha256"], picture["input_sha256"]);
  EXPECT_NE(of_unit["winding_a"]["rms"], picture["winding_a"]["rms"]);
  for (const Json& bad : {Json("seven"), Json{{"number", -7}}, Json{{"number", 7}}})
    EXPECT_EQ(status(post("/api/picture", {{"file", "trap.toml"}, {"changes", {{"unit", bad}}}})),
              422)
        << bad;
}

TEST_F(AppServer, RoutesThatAreNotThere) {
  EXPECT_EQ(status(request("GET", "/api/nothing")), 404);
  EXPECT_EQ(status(request("GET", "/../secret.toml")), 404);
  EXPECT_EQ(status(request("GET", "/api/version")), 200);
}

TEST(Waves, NoSpikeIsLost) {
  physics::Waveforms waves;
  waves.names = {"out"};
  for (int k = 0; k < 100000; ++k) {
    std::vector<double> row(9, 0.0);
    row[0] = k * 1e-6;
    row[8] = k == 77777 ? 40.0 : k == 3 ? -7.0 : 1.0;
    waves.rows.push_back(row);
  }
  const Json json = waves_json(waves, {.points = 100});
  const auto y = json["series"].back()["y"].get<std::vector<double>>();
  EXPECT_LE(y.size(), 200u);
  EXPECT_EQ(json["t"].size(), y.size());
  EXPECT_EQ(*std::max_element(y.begin(), y.end()), 40.0);
  EXPECT_EQ(*std::min_element(y.begin(), y.end()), -7.0);
  const Json part = waves_json(waves, {.from_s = 0.01, .to_s = 0.0101, .points = 200});
  EXPECT_EQ(part["t"].size(), 102u);  // all rows of the window and one on each side
}

TEST(Waves, AGapStaysOne) {
  std::vector<double> t, y;
  for (int k = 0; k < 5000; ++k) {
    t.push_back(k);
    y.push_back(k >= 1000 && k < 2000 ? std::nan("") : k == 4321 ? 9.0 : 1.0);
  }
  const Json json = series_json(t, {{"v", "V", &y}}, 100);
  const Json& thin = json["series"][0]["y"];
  EXPECT_LE(thin.size(), 200u);
  EXPECT_NE(std::find(thin.begin(), thin.end(), 9.0), thin.end());
  const auto nulls = std::count(thin.begin(), thin.end(), Json(nullptr));
  EXPECT_NEAR(static_cast<double>(nulls) / static_cast<double>(thin.size()), 0.2, 0.03);
}

}  // namespace
}  // namespace pb::app
