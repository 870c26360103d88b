// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/frontier.h"

#include <limits>
#include <tuple>
#include <utility>

namespace pb {

namespace {
constexpr double kNothing = std::numeric_limits<double>::infinity();
}

bool Frontier::Node::operator>(const Node& o) const {
  // Of equal floors the deeper one first: it is nearer to a core.
  const std::size_t depth = chosen.size(), of_o = o.chosen.size();
  return std::tie(floor, of_o, space, chosen) > std::tie(o.floor, depth, o.space, o.chosen);
}

Frontier::Frontier(const std::vector<Space>& spaces, Known known, Failed failed)
    : spaces_(spaces), known_(std::move(known)), failed_(std::move(failed)) {
  for (std::size_t i = 0; i < spaces_.size(); ++i) {
    struck_.emplace_back(spaces_[i].roles.size());
    first_.emplace_back(spaces_[i].roles.size(), 0);
    if (!spaces_[i].usable) continue;
    Node root{0, i, {}};
    root.floor = floor_of(root);
    open_.push(std::move(root));
  }
}

double Frontier::floor() const { return open_.empty() ? kNothing : open_.top().floor; }

void Frontier::strike(std::size_t space, std::size_t role, std::size_t choice,
                      const std::string& check) {
  auto& list = struck_[space][role];
  const std::size_t count = core_choices(spaces_[space], role);
  if (list.empty()) list.resize(count);
  list[choice] = check;
  std::size_t& first = first_[space][role];
  while (first < count && is_struck(space, role, first)) ++first;
}

Pick Frontier::pick_of(const Node& n) const {
  const Space& s = spaces_[n.space];
  Pick out(s.roles.size(), 0);
  for (std::size_t k = 0; k < n.chosen.size(); ++k) out[s.core[k]] = n.chosen[k];
  return out;
}

double Frontier::floor_of(const Node& n) const {
  const Space& s = spaces_[n.space];
  Pick pick = pick_of(n);
  for (std::size_t k = n.chosen.size(); k < s.core.size(); ++k) {
    const std::size_t r = s.core[k];
    pick[r] = first_[n.space][r];
    if (pick[r] >= core_choices(s, r)) return kNothing;
  }
  return bound(s, pick);
}

void Frontier::pass_over(const Node& n, const std::string& check) {
  failed_(n.space, pick_of(n), n.chosen.size(), check);
}

void Frontier::push(const Node& parent, std::size_t from) {
  const Space& s = spaces_[parent.space];
  const std::size_t r = s.core[parent.chosen.size()];
  Node n = parent;
  n.chosen.push_back(0);
  for (std::size_t k = from; k < core_choices(s, r); ++k) {
    n.chosen.back() = static_cast<std::uint32_t>(k);
    if (is_struck(n.space, r, k)) {
      pass_over(n, struck_[n.space][r][k]);
      continue;
    }
    n.floor = floor_of(n);
    if (n.floor == kNothing) n.floor = parent.floor;  // to be passed over when it comes up
    open_.push(std::move(n));
    return;
  }
}

std::optional<Core> Frontier::next(double below, const std::function<bool()>& late) {
  constexpr unsigned kAskEvery = 64;
  for (unsigned popped = 1; !open_.empty() && open_.top().floor < below; ++popped) {
    if (popped % kAskEvery == 0 && late()) return std::nullopt;
    Node n = open_.top();
    open_.pop();
    const Space& s = spaces_[n.space];
    // Struck choices have been left behind since it was pushed: it may have to wait for its turn.
    const double floor = floor_of(n);
    if (floor > n.floor && floor != kNothing) {
      n.floor = floor;
      open_.push(std::move(n));
      continue;
    }
    if (!n.chosen.empty()) {
      Node parent = n;
      parent.chosen.pop_back();
      push(parent, n.chosen.back() + 1);
    }
    Pick pick = pick_of(n);
    if (const std::string* check = known_(n.space, pick, n.chosen.size())) {
      pass_over(n, *check);
    } else if (floor == kNothing) {
      for (std::size_t k = n.chosen.size(); k < s.core.size(); ++k)
        if (const std::size_t r = s.core[k]; first_[n.space][r] >= core_choices(s, r)) {
          pass_over(n, struck_[n.space][r].front());
          break;
        }
    } else if (n.chosen.size() == s.core.size()) {
      return Core{n.floor, n.space, std::move(pick)};
    } else {
      push(n, 0);
    }
  }
  return std::nullopt;
}

}  // namespace pb
