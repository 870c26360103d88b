// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "files/toml_design.h"

#include <algorithm>
#include <filesystem>

#include "base/text.h"
#include "files/catalogue.h"
#include "files/catalogue_rules.h"
#include "files/load.h"
#include "files/toml_brief_sections.h"
#include "files/toml_document.h"
#include "files/toml_template.h"
#include "files/toml_template_tables.h"

namespace pb {
namespace files {
namespace {

constexpr double kMostPieces = 1e12;

class DesignReader {
 public:
  DesignReader(Reading& reading, Fields& document, std::string templates_folder)
      : reading_(reading), document_(document), templates_folder_(std::move(templates_folder)) {}

  Design read() {
    brief();
    wiring();
    parts();
    settings();
    document_.finish();
    return std::move(d_);
  }
  const Spots& spots() const { return spots_; }

 private:
  void brief() {
    const Node* node = document_.table("brief", true);
    if (!node) return;
    Fields f(reading_, *node, "brief");
    ReadBrief read = read_brief_sections(reading_, f, "brief");
    d_.brief = read.brief;
    d_.assumed = std::move(read.assumed);
    for (const std::string& name : f.texts("assumed", false)) assumed(f, name);
    f.finish();
  }

  /// A value written down which nobody gave: the report goes on calling it assumed.
  void assumed(Fields& f, const std::string& name) {
    for (const BriefKey& key : brief_keys()) {
      if (full_name(key) != name) continue;
      const bool there = std::any_of(d_.assumed.begin(), d_.assumed.end(),
                                     [&](const Assumed& a) { return a.key == name; });
      if (!there) d_.assumed.push_back(assumed_entry(d_.brief, key));
      return;
    }
    reading_.wrong(f.spot(), "brief.assumed", "keys of the brief", pb::quoted(name));
  }

  void wiring() {
    const Node* node = document_.find("wiring");
    if (!node)
      reading_.wrong({}, "wiring", "a template, or the name of one", "nothing");
    else if (node->kind == Node::Kind::text)
      named_wiring(*node);
    else {
      Fields f(reading_, *node, "wiring");
      d_.wiring = read_template_tables(reading_, f, spots_);
    }
  }

  void named_wiring(const Node& node) {
    namespace fs = std::filesystem;
    const std::string name = node.text.ends_with(".toml") ? node.text : node.text + ".toml";
    fs::path path = fs::path(reading_.file()).parent_path() / name;
    if (!fs::exists(path)) path = fs::path(templates_folder_) / name;
    const auto text = load_text(path.string());
    if (!text) {
      reading_.wrong(node.spot, "wiring", "a template beside the design or in " + templates_folder_,
                     describe(node));
      return;
    }
    auto read = read_template(path.string(), *text);
    if (read)
      d_.wiring = std::move(*read);
    else
      reading_.add(std::move(read.error()));
  }

  void parts() {
    const Node* all = document_.table("part", true);
    if (!all) return;
    for (const Entry& e : all->entries) {
      spots_["part." + e.key] = e.spot;
      Fields f(reading_, e.node, "part." + escaped(e.key, 60));
      d_.parts[e.key] = part(f);
    }
  }

  Part part(Fields& f) {
    Part p;
    std::string classes;
    for (const PartClass& c : part_classes())
      classes += (classes.empty() ? "" : "|") + std::string(c.name);
    p.number = f.text("number", true);
    p.part_class = f.text("class", true, classes);
    p.package = f.text("package", false);
    p.source = f.text("source", false);
    p.row_sha256 = f.text("row_sha256", false);
    if (std::string text = f.text("lifecycle", false); !text.empty()) p.lifecycle = text;
    if (std::string text = f.text("currency", false); !text.empty()) p.currency = text;
    p.stock = f.quantity("stock", dim::pieces, false, 0, kMostPieces);
    if (double n = f.quantity("minimum", dim::pieces, false, 1, kMostPieces); given(n))
      p.minimum = n;
    if (double n = f.quantity("multiple", dim::pieces, false, 1, kMostPieces); given(n))
      p.multiple = n;
    prices(f, p);
    figures(f, p);
    f.finish();
    return p;
  }

  void prices(Fields& f, Part& p) {
    const std::string text = f.text("price_breaks", false);
    if (text.empty()) return;
    const auto breaks = parse_price_breaks(text);
    if (breaks)
      p.price_breaks = *breaks;
    else
      reading_.wrong(f.find("price_breaks")->spot, f.key_name("price_breaks"),
                     breaks.error()[0].expected, breaks.error()[0].found);
  }

  void figures(Fields& f, Part& p) {
    const Node* node = f.table("figures", false);
    const PartClass* c = find_part_class(p.part_class);
    if (!c) return;
    p.figures.assign(c->figures.size(), kNotGiven);
    if (!node) return;
    Fields own(reading_, *node, f.key_name("figures"));
    for (std::size_t i = 0; i < c->figures.size(); ++i) {
      const Figure& g = c->figures[i];
      p.figures[i] = own.quantity(g.name, g.dim, false, g.low, g.high);
    }
    for (const FigureOrder& order : broken_orders(p)) {
      const Dim dim = c->figures[static_cast<std::size_t>(figure_index(*c, order.low))].dim;
      reading_.wrong(own.find(order.low)->spot, own.key_name(std::string(order.low)),
                     expected_of(p, order, dim), format_quantity(figure(p, order.low), dim, 6));
    }
    own.finish();
  }

  void settings() {
    const Node* node = document_.table("settings", false);
    if (!node) return;
    Fields f(reading_, *node, "settings");
    if (f.find("sequence"))
      d_.settings.sequence = f.text("sequence", true, "one-phase|two-phase|half|micro");
    if (f.find("stop")) d_.settings.stop = f.text("stop", true, "brake|coast");
    if (f.find("decay")) d_.settings.decay = f.text("decay", true, "slow|fast|diode|mixed");
    d_.settings.dead_time_s = f.quantity("dead_time", dim::time, false, 0, 1);
    if (const Node* values = f.table("value", false)) {
      for (const Entry& e : values->entries) {
        const std::string key = "settings.value." + escaped(e.key, 60);
        spots_["settings.value." + e.key] = e.spot;
        d_.settings.value[e.key] = read_quantity(reading_, e.node, key, dim::resistance, 1e-3, 1e9);
      }
    }
    f.finish();
  }

  Reading& reading_;
  Fields& document_;
  std::string templates_folder_;
  Spots spots_;
  Design d_;
};

std::string number_line(std::string_view key, double value) {
  return std::string(key) + " = " + toml_text(to_exact_text(value, dim::none)) + "\n";
}

std::string part_text(const std::string& role, const Part& p) {
  const std::string table = "part." + toml_key(role);
  std::string out =
      "\n[" + table + "]\n" + toml_line("number", p.number) + toml_line("class", p.part_class);
  if (!p.package.empty()) out += toml_line("package", p.package);
  if (given(p.stock)) out += number_line("stock", p.stock);
  out += toml_line("lifecycle", p.lifecycle) + toml_line("currency", p.currency) +
         number_line("minimum", p.minimum) + number_line("multiple", p.multiple);
  if (!p.price_breaks.empty()) out += toml_line("price_breaks", to_text(p.price_breaks));
  if (!p.source.empty()) out += toml_line("source", p.source);
  out += toml_line("row_sha256", p.row_sha256.empty() ? row_hash(p) : p.row_sha256);
  out += "\n[" + table + ".figures]\n";
  const PartClass* c = find_part_class(p.part_class);
  for (std::size_t i = 0; c && i < c->figures.size() && i < p.figures.size(); ++i)
    if (given(p.figures[i]))
      out += toml_line(c->figures[i].name, to_exact_text(p.figures[i], c->figures[i].dim));
  return out;
}

std::string settings_text(const Settings& s, bool chopped) {
  std::string out =
      "\n[settings]\n" + toml_line("sequence", s.sequence) + toml_line("stop", s.stop);
  if (chopped) out += toml_line("decay", s.decay);
  if (given(s.dead_time_s)) out += toml_line("dead_time", to_exact_text(s.dead_time_s, dim::time));
  out += "\n[settings.value]\n";
  for (const auto& [role, ohm] : s.value)
    out += toml_line(role, to_exact_text(ohm, dim::resistance));
  return out;
}

}  // namespace
}  // namespace files

Checked<Design> read_design(const std::string& file, std::string_view text,
                            const std::string& templates_folder) {
  const auto root = files::parse_toml(file, text);
  if (!root) return std::unexpected(root.error());
  files::Reading reading(file);
  files::Fields document(reading, *root, "");
  read_format(reading, document);
  files::DesignReader reader(reading, document, templates_folder);
  Design d = reader.read();
  if (reading.problems.empty()) reading.add(files::placed(faults_of(d), file, reader.spots()));
  reading.locate(*root);
  if (!reading.problems.empty()) return std::unexpected(std::move(reading.problems));
  return d;
}

Checked<Design> load_design(const std::string& path, const std::string& templates_folder) {
  const auto text = load_text(path);
  if (!text) return std::unexpected(text.error());
  return read_design(path, *text, templates_folder);
}

std::string to_text(const Design& d) {
  std::vector<std::string> assumed;
  assumed.reserve(d.assumed.size());
  for (const Assumed& a : d.assumed) assumed.push_back(a.key);
  std::string out = "format = 1\n\n[brief]\n" + files::brief_top_text(d.brief);
  if (!assumed.empty()) out += "assumed = " + files::toml_list(assumed) + "\n";
  out += files::brief_sections_text(d.brief, "brief");
  out += "\n[wiring]\n" + files::template_tables_text(d.wiring, "wiring");
  for (const auto& [role, part] : d.parts) out += files::part_text(role, part);
  return out + files::settings_text(d.settings, regulated(d.brief));
}

}  // namespace pb
