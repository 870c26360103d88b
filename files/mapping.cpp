// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "files/mapping.h"

#include <algorithm>

#include "base/text.h"
#include "files/catalogue_columns.h"
#include "files/toml_document.h"

namespace pb {
namespace {

using catalogue::Field;
using files::Fields, files::Node, files::Reading, files::Spot;

class MappingReader {
 public:
  MappingReader(Reading& reading, const Node& root) : reading_(reading), root_(root) {}

  Mapping read() {
    Fields f(reading_, root_, "");
    read_format(reading_, f);
    const std::string separator = f.text("separator", false, ",|;|tab");
    if (!separator.empty()) out_.separator = separator == "tab" ? '\t' : separator[0];
    const std::string decimal = f.text("decimal", false, ".|,");
    if (!decimal.empty()) out_.decimal = decimal[0];
    const std::string thousands = f.text("thousands", false, ".|,|'| ");
    if (!thousands.empty()) out_.thousands = thousands[0];
    if (out_.thousands == out_.decimal)
      reading_.wrong(f.spot(), "thousands", "another sign than the decimal one",
                     pb::quoted(thousands));
    out_.latin1 = f.text("encoding", false, "utf-8|latin-1") == "latin-1";
    out_.empty = f.texts("empty", false);
    if (const Node* constant = f.table("constant", false)) read_constants(*constant);
    if (const Node* columns = f.table("column", true))
      for (const files::Entry& e : columns->entries) read_column(e);
    f.finish();
    require("number", f);
    require("class", f);
    if (std::ranges::none_of(out_.columns, [](const auto& c) { return c.price_at > 0; }))
      require("price_breaks", f);
    return std::move(out_);
  }

 private:
  /// Reports a name that is none of ours, and one that something else fills already.
  void target(const std::string& name, Spot spot, const std::string& key) {
    const auto column = catalogue::read_column(name, catalogue::Units::optional);
    if (!column) {
      reading_.wrong(spot, key, column.error().expected, column.error().found,
                     column.error().message);
      return;
    }
    const std::string what =
        column->field == Field::figure ? column->figure : std::string(column->name);
    if (!filled_.emplace(what, key).second)
      reading_.wrong(spot, key, "each column of ours once", pb::quoted(name),
                     filled_.at(what) + " fills it");
  }

  void read_constants(const Node& table) {
    for (const files::Entry& e : table.entries) {
      const std::string key = "constant." + escaped(e.key, 60);
      if (e.node.kind == Node::Kind::table || e.node.kind == Node::Kind::list) {
        reading_.wrong(e.node.spot, key, "text", describe(e.node));
        continue;
      }
      target(e.key, e.spot, key);
      out_.constant[e.key] = e.node.text;
    }
  }

  void read_patterns(const Node& node, const std::string& key, MappedColumn& column) {
    std::vector<const Node*> texts;
    if (node.kind == Node::Kind::text) texts.push_back(&node);
    if (node.kind == Node::Kind::list)
      for (const Node& item : node.items) texts.push_back(&item);
    if (texts.empty())
      reading_.wrong(node.spot, key, "a pattern or a list of them", describe(node));
    std::vector<std::string> names;  // alternatives may name the same figures
    for (const Node* t : texts) {
      auto pattern = t->kind == Node::Kind::text ? CellPattern::compile(t->text)
                                                 : std::unexpected<std::string>("a pattern");
      if (!pattern) {
        reading_.wrong(t->spot, key, pattern.error(), describe(*t));
        continue;
      }
      for (const std::string& name : pattern->names()) {
        if (name.empty() || std::ranges::find(names, name) != names.end()) continue;
        names.push_back(name);
        target(name, t->spot, key);
      }
      column.patterns.push_back(std::move(*pattern));
    }
  }

  void read_values(const Node& table, const std::string& key, MappedColumn& column) {
    for (const files::Entry& e : table.entries) {
      if (e.node.kind == Node::Kind::text)
        column.values[e.key] = e.node.text;
      else
        reading_.wrong(e.node.spot, key + "." + escaped(e.key, 60), "text", describe(e.node));
    }
  }

  void read_column(const files::Entry& entry) {
    const std::string key = "column." + escaped(entry.key, 60);
    Fields f(reading_, entry.node, key);
    MappedColumn column;
    column.theirs = trim(entry.key);
    const Node* pattern = f.find("pattern");
    const Node* price = f.find("price_at");
    column.to = f.text("to", false);
    if (!column.to.empty()) target(column.to, entry.spot, key + ".to");
    if (pattern) read_patterns(*pattern, key + ".pattern", column);
    if (price) {
      const double quantity =
          files::read_quantity(reading_, *price, key + ".price_at", dim::none, 1, 1e12);
      column.price_at = quantity == quantity ? quantity : 1;
    }
    if ((column.to.empty() ? 0 : 1) + (pattern ? 1 : 0) + (price ? 1 : 0) != 1)
      reading_.wrong(entry.spot, key, "one of to, pattern, price_at",
                     pattern || price || !column.to.empty() ? "several" : "none");
    column.magnitude = f.flag("magnitude", false);
    if (const Node* values = f.table("values", false))
      read_values(*values, key + ".values", column);
    f.finish();
    out_.columns.push_back(std::move(column));
  }

  void require(const std::string& name, const Fields& f) {
    if (!filled_.contains(name))
      reading_.wrong(f.spot(), name, "a column or a constant for it", "none");
  }

  Reading& reading_;
  const Node& root_;
  Mapping out_;
  std::map<std::string, std::string> filled_;
};

}  // namespace

Checked<Mapping> read_mapping(const std::string& file, std::string_view text) {
  const auto root = files::parse_toml(file, text);
  if (!root) return std::unexpected(root.error());
  Reading reading(file);
  Mapping out = MappingReader(reading, *root).read();
  if (!reading.problems.empty()) return std::unexpected(std::move(reading.problems));
  return out;
}

}  // namespace pb
