// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/lessons.h"

#include <algorithm>
#include <numeric>
#include <optional>

#include "judgement/rank.h"

namespace pb {
namespace {

/// Where a chopped drive is hottest, as far as nobody need run it to know: most candidates that
/// cannot work are too hot, and a run costs far more than of one that is not chopped.
std::map<std::string, std::string> hottest(const Brief& b, const Template& t) {
  std::map<std::string, std::string> out{{"supply.voltage", "max"},
                                         {"motor.winding_resistance", "min"},
                                         {"motor.constant", "min"},
                                         {"ambient", "max"}};
  for (const Role& r : t.roles) out[r.name + ".on_resistance"] = out[r.name + ".drop"] = "max";
  if (!measures_current(b)) return out;
  // As much current as is ever let through, chopped as fast as it gets; back-EMF only adds to it.
  out["controller.logic_voltage"] = out["motor.constant"] = "max";
  for (const Role& r : t.roles) {
    out[r.name + ".offset"] = out[r.name + ".delay"] = "max";
    out[r.name + ".reference_ratio"] = out[r.name + ".timing"] = "min";
  }
  for (const Measure& m : t.measures)
    for (const Place& p : t.places)
      if (std::ranges::count(p.nodes, m.sense) > 0 && std::ranges::count(p.nodes, kGround) > 0)
        out[p.role + ".resistance"] = "min";
  return out;
}

}  // namespace

Lessons::Lessons(const Brief& brief, const std::vector<Assumed>& assumed,
                 const std::vector<Space>& spaces, const SearchOptions& options)
    : brief_(brief),
      assumed_(assumed),
      spaces_(spaces),
      o_(options),
      conflicts_(spaces.size()),
      hints_(spaces.size()),
      order_(spaces.size()),
      misses_(spaces.size()),
      alike_(spaces.size()),
      given_back_(spaces.size()) {
  for (std::size_t i = 0; i < spaces.size(); ++i) {
    if (regulated(brief)) hints_[i].expect(hottest(brief, *spaces[i].wiring));
    order_[i].resize(spaces[i].settings.size());
    std::iota(order_[i].begin(), order_[i].end(), 0U);
  }
}

Design Lessons::finest(const Core& c, std::size_t setting) const {
  const Space& s = spaces_[c.space];
  return design_of(brief_, assumed_, s, c.pick, s.settings[setting], Resistors::finest);
}

Refuted Lessons::learn(const Core& c, std::size_t setting, Refuted why) {
  const Space& s = spaces_[c.space];
  hints_[c.space].remember(setting, why);
  const auto carry_over = [&](Refuted& what) {
    widen(c, setting, what);
    conflicts_[c.space].learn(s, c.pick, setting, what);
    if (what.check == "clamp_energy") given_back_[c.space].try_emplace(setting, what);
  };
  carry_over(why);
  for (Refuted& other : why.others) carry_over(other);
  NearMiss& n = misses_[c.space];
  if (n.check_id.empty() || c.floor < n.floor)
    n = {s.wiring->title, why.check, why.subject,        why.value,          why.limit,
         c.floor,         why.unit,  chip_in(s, c.pick), finest(c, setting), why.corner};
  return why;
}

/// A core that fails as one before it, but for what stands across the rail, may do so for all that
/// might stand there.
void Lessons::widen(const Core& c, std::size_t setting, Refuted& why) {
  const Space& s = spaces_[c.space];
  if (const std::optional<Pick> alone = ripple_alone(s, c.pick, why)) {
    if (alike_[c.space][{setting, why.check, why.subject, *alone}]++ == 1)
      leave_out_capacitors(brief_, assumed_, s, c.pick, s.settings[setting], o_.parallel, o_.stop,
                           why);
    return;
  }
  if (!reads_all(s, why)) return;
  auto& seen = alike_[c.space][{setting, why.check, why.subject, without_rail(s, c.pick)}];
  if (seen++ == 1)
    leave_out_rail(brief_, assumed_, s, c.pick, s.settings[setting], o_.parallel, o_.stop, why);
}

void Lessons::serve_first(std::size_t space, std::size_t setting) {
  auto& order = order_[space];
  const auto at = std::find(order.begin(), order.end(), setting);
  std::rotate(order.begin(), at, at + 1);
}

const std::string* Lessons::fails(const Core& c, std::size_t setting) const {
  return conflicts_[c.space].find(c.pick, spaces_[c.space].core.size(), setting);
}

const std::string* Lessons::refuted(std::size_t space, const Pick& pick, std::size_t depth) const {
  const std::string* check = nullptr;
  for (std::size_t k : order_[space]) {
    check = conflicts_[space].find(pick, depth, k);
    if (!check) return nullptr;
  }
  return check;
}
const std::string* Lessons::refuted(const Core& c) const {
  return refuted(c.space, c.pick, spaces_[c.space].core.size());
}

const std::string* Lessons::refuted_alone(const Core& c, std::size_t role) const {
  const std::string* check = nullptr;
  for (std::size_t k : order_[c.space]) {
    check = conflicts_[c.space].find_alone(c.pick, role, k);
    if (!check) return nullptr;
  }
  return check;
}

std::vector<std::pair<std::size_t, Refuted>> Lessons::too_little_room(const Core& c) const {
  std::vector<std::pair<std::size_t, Refuted>> out;
  for (const auto& [setting, before] : given_back_[c.space])
    if (!fails(c, setting))
      if (auto why = holds_too_little(spaces_[c.space], finest(c, setting), before))
        out.emplace_back(setting, std::move(*why));
  return out;
}

}  // namespace pb
