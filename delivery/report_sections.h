// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The sections of the report, one function each. Internal to the report.
#pragma once

#include <string>
#include <vector>

#include "delivery/html.h"
#include "delivery/report.h"

namespace pb::delivery {

/// Value or limit of a check as people read it; absolute temperatures in degC.
std::string check_quantity(const Check& check, double value);
/// "gate drive on, Q1: 2.1 V against at least 4.5 V".
std::string check_sentence(const Check& check);
std::string check_sentence(const Check& check, const std::string& subjects);
/// The same number for several parts: legs are alike, and so are their checks.
struct CheckGroup {
  const Check* check = nullptr;  // of the first subject
  std::vector<std::string> subjects;
};
/// Tightest first; checks a reader could not tell apart but for the subject are one group.
std::vector<CheckGroup> grouped(const Verdict& verdict);

/// `kind` stands behind the title in the window's, `lead` below it on the page.
void open_page(
    Html& page, const std::string& title, const std::string& kind = "driver report",
    const std::string& lead = "Stepper motor driver: what to build, what it costs, and the proof.");
void close_page(Html& page, const std::string& version, const std::string& input_sha256);

void schematic_section(Html& page, const Design& design);
void parts_section(Html& page, const Design& design);
void settings_section(Html& page, const Design& design, const Proof& proof);
void cost_section(Html& page, const Cost& cost, const Brief& brief);
void margins_section(Html& page, const Verdict& verdict);
void cheaper_section(Html& page, const SearchResult& result, const std::string& currency);
// Of a study of the cost; each writes nothing where there is nothing to show.
void price_ladder_section(Html& page, const PriceLadder& ladder, const std::string& currency);
/// `cost`: landed, at the brief's own figures.
void tornado_section(Html& page, const std::vector<TornadoBar>& bars, double cost,
                     const std::string& currency);
void pareto_section(Html& page, const std::vector<ParetoPoint>& front, const std::string& currency);
void pairs_section(Html& page, const std::vector<PairTrial>& pairs, const std::string& currency);
void values_section(Html& page, const std::vector<Trial>& values, const std::string& currency);
void saves_section(Html& page, const std::vector<NearMiss>& misses, const std::vector<Save>& saves);
void waveforms_section(Html& page, const physics::RunFigures& run);
void torque_section(Html& page, const TorqueSpeed& curve);
void energy_section(Html& page, const physics::RunFigures& run);
void temperatures_section(Html& page, const Design& design, const physics::RunFigures& run);
void assumptions_section(Html& page, const std::vector<Assumed>& assumed);
/// `verdict` may be null.
void limits_section(Html& page, const Verdict* verdict);
void cautions_section(Html& page);

}  // namespace pb::delivery
