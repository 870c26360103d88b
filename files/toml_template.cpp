// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "files/toml_template.h"

#include <algorithm>
#include <filesystem>

#include "base/text.h"
#include "files/load.h"
#include "files/toml_template_tables.h"
#include "model/part.h"

namespace pb {
namespace files {
namespace {

constexpr double kLeastResistance_ohm = 1e-3, kMostResistance_ohm = 1e9;
// Every edge is simulated, and has to be over before the next.
constexpr double kLeastClock_Hz = 10, kMostClock_Hz = 20e3;
constexpr std::string_view kTurns = "0|90|180|270|m0|m90|m180|m270";

std::string class_choices() {
  std::string out;
  for (const PartClass& c : part_classes()) out += (out.empty() ? "" : "|") + std::string(c.name);
  return out;
}

class TemplateReader {
 public:
  TemplateReader(Reading& reading, Fields& document, Spots& spots)
      : reading_(reading), document_(document), spots_(spots) {}

  Template read() {
    t_.id = document_.text("id", true);
    t_.title = document_.text("title", false);
    t_.wins_when = document_.text("wins_when", false);
    roles();
    for (const Node* n : document_.tables("place")) place(*n);
    for (const Node* n : document_.tables("pin")) pin(*n);
    winding();
    for (const Node* n : document_.tables("drive")) drive(*n);
    for (const Node* n : document_.tables("leg")) leg(*n);
    for (const Node* n : document_.tables("measure")) measure(*n);
    document_.finish();
    return std::move(t_);
  }

 private:
  Fields fields(const Node& node, std::string_view key) {
    return Fields(reading_, node, document_.key_name(key));
  }

  void roles() {
    const Node* all = document_.table("role", true);
    if (!all) return;
    for (const Entry& e : all->entries) {
      Fields f = fields(e.node, "role." + escaped(e.key, 60));
      Role r;
      r.name = e.key;
      r.part_class = f.text("class", true, class_choices());
      r.doc = f.text("doc", false);
      r.optional = f.flag("optional", false);
      const Node* values = f.find("values");
      if (values && values->kind != Node::Kind::list)
        reading_.wrong(values->spot, f.key_name("values"), "a list of resistances",
                       describe(*values));
      if (values)
        for (const Node& v : values->items)
          r.values.push_back(read_quantity(reading_, v, f.key_name("values"), dim::resistance,
                                           kLeastResistance_ohm, kMostResistance_ohm));
      f.finish();
      spots_["role." + r.name] = e.spot;
      t_.roles.push_back(std::move(r));
    }
  }

  void place(const Node& node) {
    Fields f = fields(node, "place");
    Place p;
    p.ref = f.text("ref", true);
    p.role = f.text("role", true);
    spots_["place." + p.ref] = node.spot;
    if (const Node* nodes = f.table("nodes", true)) terminals(*nodes, p);
    position(f, p);
    if (f.find("turn")) p.turn = f.text("turn", false, kTurns);
    f.finish();
    t_.places.push_back(std::move(p));
  }

  /// Nodes by the names of the class's terminals, stored in their order.
  void terminals(const Node& nodes, Place& p) {
    const Role* role = find_role(t_, p.role);
    const PartClass* c = role ? find_part_class(role->part_class) : nullptr;
    if (!c) return;  // faults_of() or the role's own reading says why
    Fields f = fields(nodes, "place." + escaped(p.ref, 60) + ".nodes");
    for (std::string_view terminal : c->terminals) p.nodes.push_back(f.text(terminal, true));
    f.finish();
    for (const Entry& e : nodes.entries) spots_.try_emplace("node." + e.node.text, e.spot);
  }

  void position(Fields& f, Place& p) {
    const Node* at = f.find("at");
    if (!at) return;
    const bool pair = at->kind == Node::Kind::list && at->items.size() == 2 &&
                      at->items[0].kind == Node::Kind::number &&
                      at->items[1].kind == Node::Kind::number;
    if (!pair) {
      reading_.wrong(at->spot, f.key_name("at"), "[x, y]", describe(*at));
      return;
    }
    p.x = read_quantity(reading_, at->items[0], f.key_name("at"), dim::none, -1e4, 1e4);
    p.y = read_quantity(reading_, at->items[1], f.key_name("at"), dim::none, -1e4, 1e4);
  }

  void pin(const Node& node) {
    Fields f = fields(node, "pin");
    Pin p;
    p.name = f.text("name", true);
    p.node = f.text("node", true);
    const std::string off = f.text("off", true, "0|1|-");
    if (!off.empty()) p.off = off[0];
    if (f.find("clock"))
      p.clock_Hz = f.quantity("clock", dim::frequency, true, kLeastClock_Hz, kMostClock_Hz);
    f.finish();
    spots_["pin." + p.name] = node.spot;
    spots_.try_emplace("node." + p.node, node.spot);
    t_.pins.push_back(std::move(p));
  }

  void winding() {
    const Node* node = document_.table("winding", true);
    if (!node) return;
    Fields f = fields(*node, "winding");
    t_.winding_a = f.texts("a", true);
    t_.winding_b = f.texts("b", true);
    f.finish();
    spots_["winding"] = node->spot;
  }

  void drive(const Node& node) {
    Fields f = fields(node, "drive");
    DriveGroup g;
    g.windings = f.text("windings", true, "a|b|ab");
    g.pins = f.texts("pins", true);
    spots_.try_emplace("drive", node.spot);
    spots_["drive." + g.windings] = node.spot;
    for (const Node* s : f.tables("state")) {
      Fields state = fields(*s, "drive.state");
      DriveState d;
      d.flow = state.text("flow", true);
      d.levels = state.text("levels", true);
      d.on = state.texts("on", true);
      state.finish();
      spots_.try_emplace("drive.state." + d.flow, s->spot);
      g.states.push_back(std::move(d));
    }
    f.finish();
    t_.groups.push_back(std::move(g));
  }

  void leg(const Node& node) {
    Fields f = fields(node, "leg");
    Leg l;
    l.output = f.text("output", true);
    l.high = f.texts("high", true);
    l.low = f.texts("low", true);
    f.finish();
    spots_["leg." + l.output] = node.spot;
    t_.legs.push_back(std::move(l));
  }

  void measure(const Node& node) {
    Fields f = fields(node, "measure");
    Measure m;
    m.winding = f.text("winding", true, "a|b");
    m.sense = f.text("sense", true);
    m.reference = f.text("reference", true);
    m.reached = f.text("reached", false);
    f.finish();
    spots_["measure." + m.winding] = node.spot;
    spots_.try_emplace("measure", node.spot);
    t_.measures.push_back(std::move(m));
  }

  Reading& reading_;
  Fields& document_;
  Spots& spots_;
  Template t_;
};

std::string nodes_text(const Template& t, const Place& p) {
  const Role* role = find_role(t, p.role);
  const PartClass* c = role ? find_part_class(role->part_class) : nullptr;
  if (!c) return "{}";
  std::vector<std::string> pieces;
  for (std::size_t i = 0; i < c->terminals.size() && i < p.nodes.size(); ++i)
    pieces.push_back(std::string(c->terminals[i]) + " = " + toml_text(p.nodes[i]));
  return "{" + join(pieces, ", ") + "}";
}

std::string roles_text(const Template& t, const std::string& dotted) {
  std::string out;
  for (const Role& r : t.roles) {
    out += "\n[" + dotted + "role." + toml_key(r.name) + "]\n" + toml_line("class", r.part_class);
    if (!r.doc.empty()) out += toml_line("doc", r.doc);
    if (r.optional) out += "optional = true\n";
    std::vector<std::string> values;
    values.reserve(r.values.size());
    for (double v : r.values) values.push_back(to_exact_text(v, dim::resistance));
    if (!values.empty()) out += "values = " + toml_list(values) + "\n";
  }
  return out;
}

std::string places_text(const Template& t, const std::string& dotted) {
  std::string out;
  for (const Place& p : t.places) {
    out += "\n[[" + dotted + "place]]\n" + toml_line("ref", p.ref) + toml_line("role", p.role) +
           "nodes = " + nodes_text(t, p) + "\nat = [" + shortest(p.x) + ", " + shortest(p.y) +
           "]\n";
    if (p.turn != "0") out += toml_line("turn", p.turn);
  }
  for (const Pin& p : t.pins) {
    out += "\n[[" + dotted + "pin]]\n" + toml_line("name", p.name) + toml_line("node", p.node) +
           toml_line("off", std::string(1, p.off));
    if (p.clock_Hz > 0) out += toml_line("clock", to_exact_text(p.clock_Hz, dim::frequency));
  }
  return out;
}

std::string drive_text(const Template& t, const std::string& dotted) {
  std::string out;
  for (const DriveGroup& g : t.groups) {
    out += "\n[[" + dotted + "drive]]\n" + toml_line("windings", g.windings) +
           "pins = " + toml_list(g.pins) + "\n";
    for (const DriveState& s : g.states)
      out += "\n[[" + dotted + "drive.state]]\n" + toml_line("flow", s.flow) +
             toml_line("levels", s.levels) + "on = " + toml_list(s.on) + "\n";
  }
  for (const Leg& l : t.legs)
    out += "\n[[" + dotted + "leg]]\n" + toml_line("output", l.output) +
           "high = " + toml_list(l.high) + "\nlow = " + toml_list(l.low) + "\n";
  for (const Measure& m : t.measures) {
    out += "\n[[" + dotted + "measure]]\n" + toml_line("winding", m.winding) +
           toml_line("sense", m.sense) + toml_line("reference", m.reference);
    if (!m.reached.empty()) out += toml_line("reached", m.reached);
  }
  return out;
}

}  // namespace

Template read_template_tables(Reading& reading, Fields& document, Spots& spots) {
  return TemplateReader(reading, document, spots).read();
}

Problems placed(Problems problems, const std::string& file, const Spots& spots) {
  for (Problem& p : problems) {
    if (p.file.empty()) p.file = file;
    std::string key = p.key;
    while (p.line == 0 && !key.empty()) {
      const auto spot = spots.find(key);
      if (spot != spots.end()) {
        p.line = spot->second.line;
        p.column = spot->second.column;
      }
      const std::size_t dot = key.rfind('.');
      key.resize(dot == std::string::npos ? 0 : dot);
    }
  }
  return problems;
}

std::string template_tables_text(const Template& t, const std::string& prefix) {
  const std::string dotted = prefix.empty() ? "" : prefix + ".";
  std::string out = toml_line("id", t.id);
  if (!t.title.empty()) out += toml_line("title", t.title);
  if (!t.wins_when.empty()) out += toml_line("wins_when", t.wins_when);
  out += roles_text(t, dotted) + places_text(t, dotted) + "\n[" + dotted +
         "winding]\na = " + toml_list(t.winding_a) + "\nb = " + toml_list(t.winding_b) + "\n";
  return out + drive_text(t, dotted);
}

}  // namespace files

Checked<Template> read_template(const std::string& file, std::string_view text) {
  const auto root = files::parse_toml(file, text);
  if (!root) return std::unexpected(root.error());
  files::Reading reading(file);
  files::Fields document(reading, *root, "");
  files::Spots spots;
  read_format(reading, document);
  Template t = files::read_template_tables(reading, document, spots);
  // What is wrong with a half-read template would mislead.
  if (reading.problems.empty()) reading.add(files::placed(faults_of(t), file, spots));
  if (!reading.problems.empty()) return std::unexpected(std::move(reading.problems));
  return t;
}

std::string to_text(const Template& t) {
  return "format = 1\n" + files::template_tables_text(t, "");
}

Checked<Template> load_template(const std::string& folder, const std::string& id) {
  const std::string path = (std::filesystem::path(folder) / (id + ".toml")).string();
  const auto text = load_text(path);
  if (!text) return std::unexpected(text.error());
  return read_template(path, *text);
}

Checked<std::vector<Template>> load_templates(const std::string& folder) {
  std::vector<std::string> paths;
  std::error_code error;
  for (const auto& entry : std::filesystem::directory_iterator(folder, error))
    if (entry.path().extension() == ".toml") paths.push_back(entry.path().string());
  if (error)
    return std::unexpected(
        Problems{{.file = folder, .message = "cannot list the templates: " + error.message()}});
  std::sort(paths.begin(), paths.end());  // the order of a folder's entries is chance
  std::vector<Template> out;
  Problems problems;
  for (const std::string& path : paths) {
    const auto text = load_text(path);
    auto read = text ? read_template(path, *text) : std::unexpected(text.error());
    if (read)
      out.push_back(std::move(*read));
    else
      append(problems, std::move(read.error()));
  }
  if (!problems.empty()) return std::unexpected(std::move(problems));
  return out;
}

}  // namespace pb
