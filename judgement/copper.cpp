// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "judgement/copper.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <set>
#include <span>

#include "judgement/fault_list.h"
#include "physics/wire.h"

namespace pb {
namespace {

using namespace physics;

/// Most current: see the header.
Point most_current(const Case& c) {
  Point p = typical(c.spreads);
  for (std::size_t k = 0; k < c.spreads.size(); ++k) {
    const Spread& s = c.spreads[k];
    if (s.name == "supply.voltage" || s.name == "controller.logic_voltage") p.value[k] = s.max;
    if (s.name == "motor.winding_resistance" || s.name == "ambient") p.value[k] = s.min;
  }
  return p;
}

/// Currents of one run, or of one resting state; empty if it did not end.
std::vector<NetFlow> flows_of(const Case& c, const Point& p, const RunRequest& r,
                              const StopToken& stop) {
  Temperatures cold;
  cold.winding_K = value_of(c.spreads, p, "ambient");
  for (const bool rests : {true, false}) {  // what is hard to find at rest, time finds
    if (rests && !r.plan.stands_still()) continue;
    NetCurrents probe(c.design, means_of(r.plan));
    const Watch watch = [&](const System& s, double t, const std::vector<double>& x) {
      probe.step(s, t, x);
    };
    const RunFigures f = rests ? watched_stand(c.design, c.spreads, p, cold, r, watch)
                               : watched_run(c.design, c.spreads, p, cold, r, watch, stop);
    if (f.outcome == Outcome::reached_end) return probe.flows();
  }
  return {};
}

void keep_greater(Flow& kept, const Flow& f) {
  if (std::abs(f.mean_A) > std::abs(kept.mean_A)) kept.mean_A = f.mean_A;
  kept.rms_A = std::max(kept.rms_A, f.rms_A);
  if (f.peak_A > kept.peak_A) kept.peak_A = f.peak_A, kept.peak_s = f.peak_s;
}

void merge(std::vector<NetCopper>& nets, const std::vector<NetFlow>& flows,
           const std::string& when) {
  nets.resize(flows.size());
  for (std::size_t k = 0; k < flows.size(); ++k) {
    const NetFlow& from = flows[k];
    NetCopper& to = nets[k];
    if (to.most.empty() || from.through.rms_A > to.through.rms_A) to.most = when;
    to.net = from.net;
    keep_greater(to.through, from.through);
    to.apart_V = std::max(to.apart_V, from.apart_V);
    if (to.ends.empty()) {
      to.ends = from.ends;
      continue;
    }
    for (std::size_t e = 0; e < from.ends.size(); ++e)
      keep_greater(to.ends[e].flow, from.ends[e].flow);
  }
}

void size_net(const Brief& b, NetCopper& n) {
  const double rise_K = b.rules.trace_rise_K, foil_m = b.build.copper_thickness_m,
               rms_A = n.through.rms_A;
  n.outer_m = trace_area_m2(rms_A, rise_K, kOuterTrace) / foil_m;
  n.inner_m = trace_area_m2(rms_A, rise_K, kInnerTrace) / foil_m;
  n.in_charts = in_chart_range(rms_A, rise_K, n.outer_m, foil_m, kOuterTrace);
  constexpr double kRaster_m = 0.05e-3;
  const double least_m = std::max(n.outer_m, kFinestTrack_m);
  n.drawn_m = std::ceil(least_m / kRaster_m * (1 - 1e-9)) * kRaster_m;
  n.rise_2152_K = outer_rise_2152_K(rms_A, n.drawn_m, foil_m);
  const double hot_K = b.ambient.max_K + b.ambient.enclosure_rise_K + rise_K;
  n.ohm_per_m = copper_ohm_per_m(n.drawn_m * foil_m, hot_K);
  n.melts_s = n.through.peak_A > 0
                  ? melts_within_s(n.drawn_m * foil_m, n.through.peak_A, hot_K - 273.15)
                  : std::numeric_limits<double>::infinity();
  const double via_A = trace_current_A(via_area_m2(kViaHole_m, kViaPlating_m), rise_K, kInnerTrace);
  n.vias = std::max(1, static_cast<int>(std::ceil(rms_A / via_A)));
  n.clearance = clearance_for(n.apart_V);
}

/// Single wires, insulation for 200 degC. Source: MIL-STD-975M (1994) appendix A.
struct WireRating {
  int gauge;
  double current_A;
};
constexpr WireRating kWires[] = {{28, 1.8}, {26, 2.5}, {24, 3.3}, {22, 4.5},
                                 {20, 6.5}, {18, 9.2}, {16, 13.0}};
constexpr double kInsulation105 = 0.5;  // the same source: insulation for 105 degC
double bundle(int wires) { return wires <= 15 ? (29.0 - wires) / 28.0 : 0.5; }

LeadCopper lead_of(const Brief& b, const std::string& net, const NetEndFlow& end, int in_cable) {
  LeadCopper out;
  out.net = net, out.flow = end.flow;
  out.name = end.ref + " " + end.terminal;
  const double air_K = b.ambient.max_K + b.ambient.enclosure_rise_K;
  for (const WireRating& w : kWires) {
    const double rated_A = w.current_A * kInsulation105 * bundle(in_cable);
    if (end.flow.rms_A > rated_A) continue;
    out.gauge = w.gauge, out.rated_A = rated_A;
    const double wire_K = wire_temperature_K(w.gauge, end.flow.rms_A, air_K);
    out.rise_K = wire_K - air_K;
    out.ohm_per_m = copper_ohm_per_m(awg_area_m2(w.gauge), wire_K);
    out.drop_V_per_m = out.ohm_per_m * end.flow.rms_A;
    break;
  }
  // Half of a contact's rating: ECSS-Q-ST-30-11C rev. 2 (2021) table 6-10. Contact resistance from
  // memory: 20 mohm is what most data sheets allow.
  constexpr double kContact_ohm = 0.02, kHalf = 0.5;
  out.contact_A = end.flow.rms_A / kHalf;
  out.contact_loss_W = end.flow.rms_A * end.flow.rms_A * kContact_ohm;
  return out;
}

std::vector<LeadCopper> leads_of(const Brief& b, const std::vector<NetCopper>& nets) {
  std::vector<LeadCopper> out;
  for (const char* ref : {"supply", "motor"}) {
    int in_cable = 0;
    for (const NetCopper& n : nets)
      in_cable += static_cast<int>(
          std::count_if(n.ends.begin(), n.ends.end(), [&](const auto& e) { return e.ref == ref; }));
    for (const NetCopper& n : nets)
      for (const NetEndFlow& e : n.ends)
        if (e.ref == ref) out.push_back(lead_of(b, n.net, e, in_cable));
  }
  return out;
}

/// Greatest thermal resistance with so much copper beyond the footprint, on one side of 35 to 70
/// um.
struct Measured_K_W {
  double area_m2, rth_K_W;
};
constexpr double kSquareInch_m2 = 645.16e-6;
constexpr Measured_K_W kSot23[] = {{0, 342.6}, {kSquareInch_m2, 230.0}};
constexpr Measured_K_W kSot223[] = {{0, 164.3}, {300e-6, 81.2}, {600e-6, 68.0}};
constexpr Measured_K_W kSo8[] = {{0, 91.8}, {kSquareInch_m2, 50.0}};
constexpr Measured_K_W kDpak[] = {{0, 77.3}, {kSquareInch_m2, 26.3}};
constexpr Measured_K_W kSot323[] = {{0, 500.0}, {100e-6, 420.0}};
constexpr Measured_K_W kSod123[] = {{0, 340.0}};
struct PackageCopper {
  std::string_view package;
  std::span<const Measured_K_W> points;
  std::string_view source;
};
constexpr std::string_view kNote = "application note AN-994-1, table 1";
constexpr PackageCopper kPublished[] = {
    {"SOT-23", kSot23, kNote},
    {"SOT-223", kSot223, "a package's data sheet"},
    {"SO-8", kSo8, kNote},
    {"DPAK", kDpak, kNote},
    {"SOD-123", kSod123, "Power Sources and Supplies (2007), table 12.3"},
    {"SOT-323", kSot323, "from memory: data sheets of small MOSFETs, footprint and 1 cm²"}};

std::vector<JunctionCopper> junctions_of(const Design& d) {
  std::vector<JunctionCopper> out;
  for (const Place& p : d.wiring.places) {
    const auto part = d.parts.find(p.role);
    if (part == d.parts.end()) continue;
    const PartClass* k = find_part_class(part->second.part_class);
    if (figure_index(*k, "rth_ja") < 0) continue;
    const double rth_K_W = figure(part->second, "rth_ja");
    const CopperArea area = copper_area_for(part->second.package, rth_K_W);
    out.push_back({p.ref, part->second.number, part->second.package, rth_K_W, area.footprint_K_W,
                   area.area_m2, area.reachable, false, area.source});
  }
  return out;
}

}  // namespace

CopperArea copper_area_for(std::string_view package, double rth_K_W) {
  for (const PackageCopper& row : kPublished) {
    if (row.package != package) continue;
    const auto& p = row.points;
    const double bare_K_W = p.front().rth_K_W;
    if (rth_K_W >= bare_K_W) return {0.0, true, bare_K_W, row.source};
    if (p.size() == 1) return {kNotGiven, true, bare_K_W, row.source};
    // The curve sags below its chords: the chord asks for more copper than the curve would.
    for (std::size_t k = 1; k < p.size(); ++k)
      if (rth_K_W >= p[k].rth_K_W) {
        const double share = (p[k - 1].rth_K_W - rth_K_W) / (p[k - 1].rth_K_W - p[k].rth_K_W);
        return {p[k - 1].area_m2 + share * (p[k].area_m2 - p[k - 1].area_m2), true, bare_K_W,
                row.source};
      }
    return {kNotGiven, false, bare_K_W, row.source};
  }
  return {kNotGiven, true};
}

std::optional<Design> on_bare_footprints(const Design& design) {
  Design out = design;
  bool any = false;
  for (auto& [role, part] : out.parts) {
    const int at = figure_index(*find_part_class(part.part_class), "rth_ja");
    if (at < 0) continue;
    double& rth_K_W = part.figures[static_cast<std::size_t>(at)];
    const CopperArea area = copper_area_for(part.package, rth_K_W);
    if (!given(area.footprint_K_W) || rth_K_W >= area.footprint_K_W) continue;
    rth_K_W = area.footprint_K_W, any = true;
  }
  return any ? std::optional(std::move(out)) : std::nullopt;
}

void spare_copper(CopperTable& table, const Verdict& v) {
  if (!v.undecided.empty()) return;
  std::set<std::string> failing;  // refs: the first word of what a check is about
  for (const Check& c : v.checks)
    if (!c.passes) failing.insert(c.subject.substr(0, c.subject.find_first_of(" .")));
  const auto is_junction = [&](const std::string& ref) {
    return std::any_of(table.junctions.begin(), table.junctions.end(),
                       [&](const JunctionCopper& j) { return j.ref == ref; });
  };
  // A failure that is no single junction's may be any one's doing.
  if (!std::all_of(failing.begin(), failing.end(), is_junction)) return;
  for (JunctionCopper& j : table.junctions)
    j.footprint_suffices =
        given(j.footprint_K_W) && j.rth_K_W < j.footprint_K_W && !failing.contains(j.ref);
}

CopperTable copper_table(const Case& c, const StopToken& stop) {
  CopperTable out;
  const Point p = most_current(c);
  RunRequest moving;
  moving.plan = move_plan(c);
  std::vector<NetFlow> flows = flows_of(c, p, moving, stop);
  if (flows.empty()) out.trouble = "the move with most current does not end";
  merge(out.nets, flows, "moving");
  for (const RunRequest& held : states_frozen(c)) {
    if (!out.trouble.empty()) break;
    const std::string& flow = held.plan.states.front().flow;
    flows = flows_of(c, p, held, stop);
    if (flows.empty())
      out.trouble = "no resting state with most current in " + flow;
    else
      merge(out.nets, flows, "held in " + flow);
  }
  if (!out.trouble.empty()) out.nets.clear();
  for (NetCopper& n : out.nets) size_net(c.design.brief, n);
  out.leads = leads_of(c.design.brief, out.nets);
  out.junctions = junctions_of(c.design);
  return out;
}

}  // namespace pb
