// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "files/toml_brief.h"

#include <numbers>

#include "base/check.h"
#include "base/math.h"
#include "base/text.h"
#include "files/toml_brief_sections.h"
#include "files/toml_document.h"

namespace pb {
namespace files {
namespace {

const Node kNoSection{};

/// The value of the key's default, which is text a person would write.
void assume(Brief& brief, const BriefKey& key) {
  if (key.text) {
    key.text(brief) = std::string(key.assumed);
    return;
  }
  const auto value = parse_quantity(key.assumed, key.dim);
  PB_CHECK(value.has_value(), key.name, key.assumed);
  key.number(brief) = *value;
}

/// True if the text gave the key.
bool read_key(Fields& section, const BriefKey& key, Brief& brief) {
  const bool required = key.need == Need::required;
  if (key.text) {
    std::string value = section.text(key.name, required, key.choices);
    const bool found = !value.empty();
    if (found) key.text(brief) = std::move(value);
    return found;
  }
  // People know a motor's rate as its shaft's speed, too.
  OtherWay other;
  if (key.dim == dim::step_rate)
    other = {dim::angular_speed, brief.motor.steps_per_turn / (2.0 * std::numbers::pi)};
  const double value = section.quantity(key.name, key.dim, required, key.low, key.high, other);
  key.number(brief) = value;
  return given(value);
}

std::vector<std::string_view> section_names() {
  std::vector<std::string_view> out;
  for (const BriefKey& key : brief_keys())
    if (!key.section.empty() && (out.empty() || out.back() != key.section))
      out.push_back(key.section);
  return out;
}

std::string value_text(Brief& brief, const BriefKey& key) {
  return key.text ? key.text(brief) : to_exact_text(key.number(brief), key.dim);
}

bool has_value(Brief& brief, const BriefKey& key) {
  return key.text ? !key.text(brief).empty() : given(key.number(brief));
}

void read_section(Reading& reading, Fields& document, std::string_view name, ReadBrief& out) {
  const Node* node = name.empty() ? nullptr : document.find(name);
  // A missing section lacks its required keys just as an empty one does.
  Fields own(reading, node ? *node : kNoSection, document.key_name(name));
  Fields& section = name.empty() ? document : own;
  for (const BriefKey& key : brief_keys()) {
    if (key.section != name) continue;
    if (read_key(section, key, out.brief) || key.need != Need::defaulted) continue;
    assume(out.brief, key);
    out.assumed.push_back(assumed_entry(out.brief, key));
  }
  if (!name.empty()) own.finish();
}

}  // namespace

Assumed assumed_entry(Brief brief, const BriefKey& key) {
  if (key.text) return {full_name(key), key.text(brief), ""};
  const double value = key.number(brief);
  if (key.dim == dim::temperature)
    return {full_name(key), significant(kelvin_to_celsius(value), 12), "degC"};
  return {full_name(key), shortest(value), si_unit(key.dim)};
}

ReadBrief read_brief_sections(Reading& reading, Fields& document, const std::string& prefix) {
  const std::size_t before = reading.problems.size();
  ReadBrief out;
  read_section(reading, document, "", out);
  for (std::string_view name : section_names()) read_section(reading, document, name, out);
  if (reading.problems.size() != before) return out;  // contradictions of wrong values mislead
  for (Problem& p : contradictions(out.brief)) {
    if (!prefix.empty()) p.key = prefix + "." + p.key;
    p.file = reading.file();
    reading.problems.push_back(std::move(p));
  }
  return out;
}

std::string brief_top_text(const Brief& brief) {
  Brief copy = brief;
  std::string out;
  for (const BriefKey& key : brief_keys())
    if (key.section.empty() && has_value(copy, key))
      out += toml_line(key.name, value_text(copy, key));
  return out;
}

std::string brief_sections_text(const Brief& brief, const std::string& prefix) {
  Brief copy = brief;  // the table's accessors are for writing too
  std::string out;
  for (std::string_view name : section_names()) {
    out += "\n[" + prefix + (prefix.empty() ? "" : ".") + std::string(name) + "]\n";
    for (const BriefKey& key : brief_keys())
      if (key.section == name && has_value(copy, key))
        out += toml_line(key.name, value_text(copy, key));
  }
  return out;
}

}  // namespace files

Checked<ReadBrief> read_brief(const std::string& file, std::string_view text) {
  const auto root = files::parse_toml(file, text);
  if (!root) return std::unexpected(root.error());
  files::Reading reading(file);
  files::Fields document(reading, *root, "");
  read_format(reading, document);
  ReadBrief out = files::read_brief_sections(reading, document, "");
  document.finish();
  reading.locate(*root);
  if (!reading.problems.empty()) return std::unexpected(std::move(reading.problems));
  return out;
}

std::string to_text(const Brief& brief) {
  return "format = 1\n" + files::brief_top_text(brief) + files::brief_sections_text(brief, "");
}

Problems set_key(Brief& brief, const std::string& name, const std::string& value) {
  std::vector<std::string> names;
  for (const BriefKey& key : brief_keys()) {
    names.push_back(full_name(key));
    if (names.back() != name) continue;
    // Read as the file would be, so that every rule of the file holds here too.
    files::Node node;
    node.kind = files::Node::Kind::text;
    node.text = value;
    files::Node section;
    section.entries.push_back({std::string(key.name), {}, node});
    files::Reading reading("");
    files::Fields fields(reading, section, std::string(key.section));
    files::read_key(fields, key, brief);
    if (reading.problems.empty()) reading.add(contradictions(brief));
    return reading.problems;
  }
  const std::string near = nearest(name, names);
  return {{.key = name,
           .expected = "a key of the brief, such as motion.rate",
           .found = "an unknown key",
           .message = near.empty() ? "" : "did you mean " + near + "?"}};
}

}  // namespace pb
