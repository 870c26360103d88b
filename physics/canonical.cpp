// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "physics/canonical.h"

#include <algorithm>
#include <bit>
#include <cstdint>
#include <map>
#include <numeric>
#include <set>
#include <string>

#include "base/random.h"

namespace pb::physics {
namespace {

using Colour = std::uint64_t;

/// Ordered pair; the odd constant (golden ratio) keeps (a, b) apart from (b, a).
Colour joined(Colour a, Colour b) { return mix64(mix64(a) * 0x9e3779b97f4a7c15u + b); }

Colour of_number(double x) {
  return given(x) ? std::bit_cast<Colour>(x) : 1;  // all not-a-numbers alike
}

class Refinement {
 public:
  explicit Refinement(const Design& d) : d_(d) {
    for (const Place& p : d.wiring.places) place_.push_back(kind_of(p));
    for (const Pin& p : d.wiring.pins) pin_.push_back(steering_of(p));
    anchor(kGround, 2), anchor(kRail, 3), anchor(kLogic, 4);
    Colour end = 5;
    for (const auto* w : {&d.wiring.winding_a, &d.wiring.winding_b})
      for (const std::string& node : *w) anchor(node, end++);
  }

  /// Each round tells apart at least one more node, or nothing changes any more.
  void run() {
    const std::vector<Colour> kinds = place_, steering = pin_;
    std::size_t told_apart = 0;
    for (;;) {
      for (std::size_t k = 0; k < place_.size(); ++k) {
        place_[k] = kinds[k];
        for (const std::string& n : d_.wiring.places[k].nodes)
          place_[k] = joined(place_[k], node_[n]);
      }
      for (std::size_t k = 0; k < pin_.size(); ++k)
        pin_[k] = joined(steering[k], node_[d_.wiring.pins[k].node]);
      std::set<Colour> different;
      for (const auto& [name, colour] : node_) different.insert(colour);
      if (different.size() <= told_apart) return;
      told_apart = different.size();
      spread_to_nodes(kinds);
    }
  }

  std::vector<Colour> place_, pin_;

 private:
  bool present(const Place& p) const { return d_.parts.contains(p.role); }

  /// The part's class, figures and setting: everything electrical about it.
  Colour kind_of(const Place& p) const {
    const auto part = d_.parts.find(p.role);
    if (part == d_.parts.end()) return 0;
    Colour c = fnv1a(part->second.part_class);
    for (double x : part->second.figures) c = joined(c, of_number(x));
    const auto setting = d_.settings.value.find(p.role);
    return setting == d_.settings.value.end() ? c : joined(c, of_number(setting->second));
  }

  /// Which level the pin takes in which drive state. A sum, as states have no order.
  Colour steering_of(const Pin& pin) const {
    Colour c = mix64(static_cast<Colour>(pin.off));
    if (pin.clock_Hz > 0) c = joined(c, of_number(pin.clock_Hz));
    for (const DriveGroup& g : d_.wiring.groups)
      for (std::size_t k = 0; k < g.pins.size(); ++k) {
        if (g.pins[k] != pin.name) continue;
        for (const DriveState& s : g.states)
          c += joined(joined(fnv1a(g.windings), fnv1a(s.flow)), static_cast<Colour>(s.levels[k]));
      }
    return c;
  }

  /// A node may be several things at once, as where windings share a return.
  void anchor(const std::string& node, Colour as) { node_[node] += mix64(as); }

  void spread_to_nodes(const std::vector<Colour>& kinds) {
    std::map<std::string, Colour> sum;
    for (std::size_t k = 0; k < place_.size(); ++k) {
      const auto& nodes = d_.wiring.places[k].nodes;
      if (kinds[k] == 0) continue;
      for (std::size_t t = 0; t < nodes.size(); ++t) sum[nodes[t]] += joined(place_[k], t);
    }
    for (std::size_t k = 0; k < pin_.size(); ++k)
      sum[d_.wiring.pins[k].node] += joined(pin_[k], kPinTerminal);
    for (auto& [name, colour] : node_) colour = joined(colour, sum[name]);
    for (const auto& [name, more] : sum) node_.try_emplace(name, joined(0, more));
  }

  static constexpr Colour kPinTerminal = 1000;  // no part has so many terminals

  const Design& d_;
  std::map<std::string, Colour> node_;
};

template <class Key>
std::vector<std::size_t> sorted(std::size_t count, Key key) {
  std::vector<std::size_t> order(count);
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::stable_sort(order.begin(), order.end(),
                   [&](std::size_t a, std::size_t b) { return key(a) < key(b); });
  return order;
}

}  // namespace

CanonicalOrder canonical_order(const Design& d) {
  Refinement r(d);
  r.run();
  const Template& t = d.wiring;
  CanonicalOrder out;
  out.places = sorted(t.places.size(), [&](std::size_t k) {
    return std::pair(!d.parts.contains(t.places[k].role), r.place_[k]);
  });
  out.pins = sorted(t.pins.size(), [&](std::size_t k) { return r.pin_[k]; });
  const auto first_place = [&](std::size_t role) {
    const auto at = std::find_if(out.places.begin(), out.places.end(), [&](std::size_t k) {
      return t.places[k].role == t.roles[role].name;
    });
    return at - out.places.begin();
  };
  out.roles = sorted(t.roles.size(), first_place);
  return out;
}

}  // namespace pb::physics
