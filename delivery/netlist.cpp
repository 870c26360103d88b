// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "delivery/netlist.h"

#include <fmt/core.h>

#include <algorithm>
#include <map>
#include <set>

#include "base/text.h"
#include "delivery/values.h"
#include "files/csv.h"
#include "model/part.h"

namespace pb::delivery {
namespace {

int rank_of(const std::string& node) {
  const char* first[] = {kGround, kRail, kLogic};
  for (int k = 0; k < 3; ++k)
    if (node == first[k]) return k;
  return 3;
}

/// Identifiers of one name space: a letter first, then letters, digits and underscores; a leading
/// '&' lets anything else begin one. Case does not tell two apart.
class Names {
 public:
  /// The same text always gives the same identifier.
  std::string of(const std::string& text) {
    const auto known = ids_.find(text);
    if (known != ids_.end()) return known->second;
    std::string id;
    for (const char c : text) id += letter(c) || digit(c) ? c : '_';
    if (id.empty() || !letter(id[0])) id.insert(0, "&");
    std::string unique = id;
    for (int k = 2; !taken_.insert(lower(unique)).second; ++k) unique = fmt::format("{}_{}", id, k);
    return ids_[text] = unique;
  }
  /// The identifier, with the text itself where they differ.
  std::string definition(const std::string& text) {
    const std::string id = of(text);
    return id == text ? id : fmt::format("(rename {} {})", id, string(text));
  }
  /// A string token: printable ASCII, everything else and the quote as %code%.
  static std::string string(const std::string& text) {
    std::string out = "\"";
    for (const char c : text) {
      const auto code = static_cast<unsigned char>(c);
      if (code < 0x20 || code > 0x7e || c == '"' || c == '%')
        out += fmt::format("%{}%", code);
      else
        out += c;
    }
    return out + "\"";
  }

 private:
  static bool letter(char c) { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z'); }
  static bool digit(char c) { return c >= '0' && c <= '9'; }
  static std::string lower(std::string text) {
    for (char& c : text)
      if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
    return text;
  }
  std::map<std::string, std::string> ids_;
  std::set<std::string> taken_;
};

std::vector<const Place*> placed(const Design& d) {
  std::vector<const Place*> out;
  for (const Place& p : d.wiring.places)
    if (d.parts.contains(p.role)) out.push_back(&p);
  std::sort(out.begin(), out.end(),
            [](const Place* a, const Place* b) { return ref_before(a->ref, b->ref); });
  return out;
}

std::vector<std::string> terminals_of(const Part& part) {
  std::vector<std::string> out;
  if (const PartClass* c = find_part_class(part.part_class))
    for (const auto& t : c->terminals) out.emplace_back(t);
  return out;
}

void add_outside(std::map<std::string, Net>& nets, const Design& d) {
  const auto add = [&](const std::string& node, std::string terminal) {
    nets[node].ends.push_back({"", std::move(terminal), ""});
  };
  add(kGround, "supply 0 V");
  add(kRail, "supply +");
  if (nets.contains(kLogic)) add(kLogic, "logic supply");
  for (const Pin& p : d.wiring.pins) add(p.node, "pin " + p.name);
  for (const Measure& m : d.wiring.measures) {
    add(m.reference, "analog output " + m.winding);
    if (!m.reached.empty()) add(m.reached, "input, current " + m.winding + " reached");
  }
  const std::vector<std::string>* windings[] = {&d.wiring.winding_a, &d.wiring.winding_b};
  for (int w = 0; w < 2; ++w)
    for (std::size_t end = 0; end < windings[w]->size(); ++end)
      add((*windings[w])[end],
          fmt::format("motor {} {}", w == 0 ? "a" : "b", end == 0 ? "start" : "finish"));
}

std::string edif_cells(const Design& d, Names& cells) {
  std::string out;
  std::set<std::string> done;
  for (const Place* p : placed(d)) {
    const Part& part = d.parts.at(p->role);
    if (!done.insert(part.number).second) continue;
    out += fmt::format(
        "  (cell {} (cellType GENERIC)\n   (view net (viewType NETLIST)\n    (interface",
        cells.definition(part.number));
    for (const std::string& t : terminals_of(part))
      out += fmt::format(" (port {} (direction INOUT))", t);
    out += ")))\n";
  }
  return out;
}

/// Signs beyond ASCII as letters: a reader of the netlist need not know %...% for a common value.
std::string plain(std::string text) {
  for (const auto& [sign, letters] : {std::pair{"\xC2\xB5", "u"}, {"\xCE\xA9", "ohm"}})
    text = replace_all(std::move(text), sign, letters);
  return text;
}

}  // namespace

std::vector<Net> nets_of(const Design& d) {
  std::map<std::string, Net> nets;
  for (const Place* p : placed(d)) {
    const auto terminals = terminals_of(d.parts.at(p->role));
    for (std::size_t k = 0; k < p->nodes.size() && k < terminals.size(); ++k)
      nets[p->nodes[k]].ends.push_back({p->ref, terminals[k], p->role});
  }
  add_outside(nets, d);
  std::vector<Net> out;
  for (auto& [name, net] : nets) {
    net.name = name;
    out.push_back(std::move(net));
  }
  std::stable_sort(out.begin(), out.end(),
                   [](const Net& a, const Net& b) { return rank_of(a.name) < rank_of(b.name); });
  return out;
}

std::string netlist_csv(const Design& d) {
  CsvWriter csv;
  for (const char* column : {"net", "ref", "terminal", "number", "value"}) csv.text(column);
  csv.end_row();
  for (const Net& net : nets_of(d))
    for (const NetEnd& end : net.ends) {
      csv.text(net.name).text(end.ref).text(end.terminal);
      csv.text(end.ref.empty() ? "" : d.parts.at(end.role).number);
      csv.text(end.ref.empty() ? "" : short_value(d, end.role));
      csv.end_row();
    }
  return csv.str();
}

std::string netlist_edif(const Design& d) {
  Names cells, instances, nets, ports;
  cells.of("board");
  const std::string title = d.brief.title.empty() ? d.wiring.title : d.brief.title;
  std::string out = fmt::format(
      "(edif {}\n (edifVersion 2 0 0)\n (edifLevel 0)\n (keywordMap (keywordLevel 0))\n"
      " (library parts (edifLevel 0) (technology (numberDefinition))\n",
      Names().definition(title));
  out += edif_cells(d, cells);
  out += "  (cell board (cellType GENERIC)\n   (view net (viewType NETLIST)\n    (interface";
  const std::vector<Net> all = nets_of(d);
  for (const Net& net : all)
    for (const NetEnd& end : net.ends)
      if (end.ref.empty())
        out += fmt::format("\n     (port {} (direction INOUT))", ports.definition(end.terminal));
  out += ")\n    (contents\n";
  for (const Place* p : placed(d)) {
    const Part& part = d.parts.at(p->role);
    out += fmt::format(
        "     (instance {} (viewRef net (cellRef {}))\n      (designator {})"
        " (property VALUE (string {})))\n",
        instances.definition(p->ref), cells.of(part.number), Names::string(p->ref),
        Names::string(plain(short_value(d, p->role))));
  }
  for (const Net& net : all) {
    out += fmt::format("     (net {} (joined", nets.definition(net.name));
    for (const NetEnd& end : net.ends)
      out += end.ref.empty() ? fmt::format("\n      (portRef {})", ports.of(end.terminal))
                             : fmt::format("\n      (portRef {} (instanceRef {}))", end.terminal,
                                           instances.of(end.ref));
    out += "))\n";
  }
  out.pop_back();
  return out + "))))\n (design board (cellRef board (libraryRef parts))))\n";
}

}  // namespace pb::delivery
