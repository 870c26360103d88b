// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/alternatives.h"

#include <algorithm>
#include <cmath>
#include <functional>
#include <set>
#include <tuple>

#include "judgement/checks.h"
#include "judgement/cost.h"

namespace pb {
namespace {

Design changed(const Design& design, const Trial& t) {
  Design d = design;
  for (const std::string& role : t.roles) {
    if (!t.replaces.empty()) d.parts[role] = t.part;
    if (given(t.ohm)) d.settings.value[role] = t.ohm;
  }
  return d;
}

/// Roles with the same value come on one.
void one_reel(std::vector<CostLine>& lines, const Design& d,
              const std::vector<std::string>& roles) {
  for (CostLine& line : lines)
    for (const std::string& role : roles)
      if (line.part == &d.parts.at(role)) line.reel = reel_of(d.wiring, roles.front());
}

void price(Trial& t, const Design& design) {
  const Design d = changed(design, t);
  const std::vector<CostLine> now = cost_lines(design);
  std::vector<CostLine> then = cost_lines(d);
  if (given(t.ohm)) one_reel(then, d, t.roles);
  if (!cost_faults(d.brief, now).empty() || !cost_faults(d.brief, then).empty()) return;
  t.landed_cost = landed_cost(d.brief, then).total;
  t.saves = landed_cost(d.brief, now).total - t.landed_cost;
}

class Trier {
 public:
  Trier(const Design& d, const Proof& proof, const AlternativesOptions& o)
      : d_(d), proof_(proof), o_(o) {}

  Alternatives all(const std::vector<Part>& catalogue) {
    std::vector<Source> sources = sources_in(catalogue);
    out_.values = shared_values(d_, o_.most_values);
    std::size_t rows = 0;
    for (const Source& s : sources) rows += s.rows.size();
    const std::size_t most = std::min(rows, static_cast<std::size_t>(o_.most));
    out_.left = static_cast<int>(rows - most);
    const auto ends = [&] {
      if (o_.progress)
        o_.progress(static_cast<double>(++done_) / static_cast<double>(most + out_.values.size()));
      return o_.effort.stop.stop_requested();
    };
    while (out_.parts.size() < most) {
      Source& s = neediest(sources);
      out_.parts.push_back(s.rows[s.tried++]);
      try_it(out_.parts.back(), d_, proof_, o_.effort);
      s.found += out_.parts.back().passes;
      if (ends()) return std::move(out_);
    }
    for (Trial& t : out_.values) {
      try_it(t, d_, proof_, o_.effort);
      if (ends()) break;
    }
    return std::move(out_);
  }

 private:
  /// A number of the board, and what could stand in its place, cheapest first.
  struct Source {
    std::vector<Trial> rows;
    std::size_t tried = 0, found = 0;
  };

  /// The next effort goes to a number without a second source, and there to the one least tried.
  static Source& neediest(std::vector<Source>& sources) {
    const auto key = [](const Source& s) {
      return std::tuple(s.tried >= s.rows.size(), s.found, s.tried);
    };
    return *std::min_element(sources.begin(), sources.end(),
                             [&](const Source& a, const Source& b) { return key(a) < key(b); });
  }

  std::vector<std::string> roles_of(const std::string& number) const {
    std::vector<std::string> out;
    for (const Role& r : d_.wiring.roles) {
      const auto part = d_.parts.find(r.name);
      if (part != d_.parts.end() && part->second.number == number) out.push_back(r.name);
    }
    return out;
  }

  double pieces(const std::vector<std::string>& roles) const {
    const auto count =
        std::count_if(d_.wiring.places.begin(), d_.wiring.places.end(), [&](const Place& p) {
          return std::find(roles.begin(), roles.end(), p.role) != roles.end();
        });
    const BuildBrief& b = d_.brief.build;
    return std::ceil(b.quantity * static_cast<double>(count) * (1 + b.attrition));
  }

  /// Same footprint, same class, priced in the brief's money, nothing missing.
  bool fits(const Part& part, const Part& now) const {
    return part.number != now.number && part.part_class == now.part_class &&
           part.package == now.package && part.currency == d_.brief.build.currency &&
           !part.price_breaks.empty() && missing_figures(part).empty();
  }

  std::vector<Trial> rows_for(const Part& now, const std::vector<Part>& catalogue) const {
    std::vector<Trial> rows;
    const std::vector<std::string> roles = roles_of(now.number);
    for (const Part& part : catalogue) {
      if (!fits(part, now)) continue;
      Trial t;
      t.replaces = now.number, t.part = part, t.roles = roles;
      rows.push_back(std::move(t));
    }
    const double need = pieces(roles);
    std::stable_sort(rows.begin(), rows.end(), [&](const Trial& a, const Trial& b) {
      return cheapest_purchase(a.part, need).money() < cheapest_purchase(b.part, need).money();
    });
    return rows;
  }

  std::vector<Source> sources_in(const std::vector<Part>& catalogue) const {
    std::vector<Source> out;
    std::set<std::string> seen;
    for (const Role& r : d_.wiring.roles) {
      const auto now = d_.parts.find(r.name);
      if (now != d_.parts.end() && seen.insert(now->second.number).second)
        out.push_back({rows_for(now->second, catalogue)});
    }
    return out;
  }

  const Design& d_;
  const Proof& proof_;
  const AlternativesOptions& o_;
  std::size_t done_ = 0;
  Alternatives out_;
};

}  // namespace

TrialOutcome outcome_of(const Design& changed, const Proof& before, const Effort& effort) {
  TrialOutcome out;
  if (effort.late()) return out;
  ProofOptions p;
  p.parallel = effort.parallel, p.stop = effort.stop, p.fail_first = true;
  if (!effort.has_time_for_a_proof()) p.depth = Depth::trial;
  p.try_first = before.corners;
  constexpr std::size_t kTried = 3;  // what nearly failed the one that passes
  if (p.try_first.size() > kTried) p.try_first.resize(kTried);
  const Proof proof = prove(changed, p);
  const Verdict& v = proof.verdict;
  const Check* c = tightest(v);
  const bool fails = c != nullptr && (p.depth == Depth::trial ? c->fails_clearly() : !c->passes);
  out.tried = !proof.cancelled;
  out.passes = v.undecided.empty() && !fails && !proof.cancelled;
  out.proven = out.tried && (p.depth != Depth::trial || fails);
  if (!v.undecided.empty()) out.fails = "undecided: " + v.undecided.front();
  if (c == nullptr) return out;
  out.margin = c->margin;
  if (fails && v.undecided.empty()) out.fails = c->id + " " + c->subject;
  return out;
}

std::vector<Trial> shared_values(const Design& d, int most) {
  std::vector<Trial> out;
  const auto& v = d.settings.value;
  for (auto a = v.begin(); a != v.end(); ++a)
    for (auto b = std::next(a); b != v.end(); ++b) {
      const auto pa = d.parts.find(a->first), pb = d.parts.find(b->first);
      if (pa == d.parts.end() || pb == d.parts.end() || a->second == b->second ||
          pa->second.number != pb->second.number)
        continue;
      for (const double ohm : {a->second, b->second}) {
        Trial t;
        t.roles = {a->first, b->first}, t.ohm = ohm;
        price(t, d);
        out.push_back(std::move(t));
      }
    }
  std::ranges::stable_sort(out, std::greater<>(), &Trial::saves);
  if (out.size() > static_cast<std::size_t>(most)) out.resize(static_cast<std::size_t>(most));
  return out;
}

void try_it(Trial& t, const Design& design, const Proof& proof, const Effort& effort) {
  price(t, design);
  static_cast<TrialOutcome&>(t) = outcome_of(changed(design, t), proof, effort);
}

Alternatives alternatives_of(const Design& design, const Proof& proof,
                             const std::vector<Part>& catalogue,
                             const AlternativesOptions& options) {
  return Trier(design, proof, options).all(catalogue);
}

}  // namespace pb
