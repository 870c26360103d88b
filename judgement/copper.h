// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What the board's copper, its leads and its contacts must carry, and how much copper each junction
// needs. Currents are those of the simulated move without pause and of every state held for ever,
// with the highest supply and logic, the least winding resistance and everything at the lowest
// ambient temperature: then most flows. docs/copper.md says how to read it. Tested by
// tests/unit/judgement_copper.cpp.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/stop.h"
#include "judgement/evidence.h"
#include "physics/copper.h"
#include "physics/net_current.h"

namespace pb {

struct NetCopper {
  std::string net;
  physics::Flow through;            // the greater of moving and held, figure by figure
  std::string most;                 // when the rms is greatest: "moving", "held in ++"
  double outer_m = 0, inner_m = 0;  // width for the rms current at rules.trace_rise
  bool in_charts = true;            // of IPC-2221, for the outer width
  double drawn_m = 0;               // to draw on an outer layer: at least kFinestTrack_m
  double rise_2152_K = 0;           // of that, by the fit to IPC-2152
  double ohm_per_m = 0;             // of that, warmed
  double melts_s = 0;               // of that, at the peak current; infinite without current
  int vias = 1;                     // of kViaHole_m, wherever the net changes layers
  double apart_V = 0;
  physics::Clearance clearance{};
  std::vector<physics::NetEndFlow> ends;  // each the greater of moving and held
};

/// A lead that leaves the board.
struct LeadCopper {
  std::string name, net;
  physics::Flow flow;
  int gauge = 0;            // ASTM B258; 0: thicker than the table
  double rated_A = 0;       // of that gauge in its cable
  double ohm_per_m = 0;     // warmed, this one conductor
  double drop_V_per_m = 0;  // at the rms current
  double rise_K = 0;        // above still air
  double contact_A = 0;     // least rating of its contact
  double contact_loss_W = 0;
};

struct JunctionCopper {
  std::string ref, number, package;
  double rth_K_W = 0;                // that the proof rests on
  double footprint_K_W = kNotGiven;  // greatest published of the footprint alone
  double area_m2 = 0;                // of copper beyond the footprint; not given: not known
  bool reachable = true;             // by copper on one side
  bool footprint_suffices = false;   // the design passes with footprint_K_W, too
  std::string_view source = "";      // of the published figures
};

struct CopperTable {
  std::vector<NetCopper> nets;
  std::vector<LeadCopper> leads;
  std::vector<JunctionCopper> junctions;
  std::string trouble;  // why a run did not end; then there are no nets
};

/// Common practice, no source: what any board house makes without asking for more.
inline constexpr double kFinestTrack_m = 0.2e-3;
inline constexpr double kViaHole_m = 0.3e-3, kViaPlating_m = 25e-6;

/// The dead time of the case must be known.
CopperTable copper_table(const Case& c, const StopToken& stop = {});

/// Copper beyond the footprint with which a package has this thermal resistance [K/W]; not given
/// where nothing was published. `reachable`: whether any such area does.
struct CopperArea {
  double area_m2;
  bool reachable;
  double footprint_K_W = kNotGiven;
  std::string_view source = "";
};
CopperArea copper_area_for(std::string_view package, double rth_K_W);

/// The design with every junction that rests on less than its bare footprint's greatest published
/// thermal resistance put at that. Nothing changed: not given.
std::optional<Design> on_bare_footprints(const Design& design);

/// Junctions that no check of the proof of that design fails for need no more copper than their
/// footprint.
void spare_copper(CopperTable& table, const Verdict& on_bare_footprints);

}  // namespace pb
