// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The table of symbols. Shapes after IEC 60617 parts 4 and 5 (passive components, semiconductors);
// leads are stretched to the drawing grid, and a gate lead meets the middle of its gate so that a
// resistor beside it needs no bend.
#include "delivery/symbols.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "base/text.h"

namespace pb::delivery {
namespace {

const std::vector<XY> kTwoLeads = {{0, -3}, {0, 3}};
const std::vector<XY> kThreeLeads = {{0, -3}, {-4, 0}, {0, 3}};
constexpr Box kTransistorBody = {-2.6, -2, 0.6, 2};

// Gate plate, three pieces of channel (enhancement type), drain, source, substrate tied to source.
constexpr std::string_view kChannel =
    "M-4 0H-2.4 M-2.4 -1.6V1.6 M-1.7 -1.8V-0.9 M-1.7 -0.45V0.45 M-1.7 0.9V1.8 "
    "M-1.7 -1.35H0V-3 M-1.7 1.35H0V3 M-1.7 0H0V1.35";
constexpr std::string_view kBipolar =
    "M-4 0H-1.7 M-1.7 -1.5V1.5 M-1.7 -0.6L0 -1.8V-3 M-1.7 0.6L0 1.8V3";

// A driver chip is a plain block (IEC 60617 part 12): inputs at the left, outputs at the right.
const std::vector<XY> kBridgeLeads = {{0, -7}, {0, 7}, {-8, -2}, {-8, 2}, {8, -2}, {8, 2}};
const std::vector<XY> kTwoBridgeLeads = {{0, -11}, {0, 11}, {-8, -6}, {-8, -2}, {-8, 2},
                                         {-8, 6},  {8, -6}, {8, -2},  {8, 2},   {8, 6}};
constexpr std::string_view kTwoBridgeBox =
    "M-5 -8H5V8H-5Z M0 -11V-8 M0 8V11 M-8 -6H-5 M-8 -2H-5 M-8 2H-5 M-8 6H-5 M5 -6H8 M5 -2H8 "
    "M5 2H8 M5 6H8";

const std::vector<XY> kTwoChopperLeads = {{0, -15},  {0, 15},   {-12, -10}, {-12, -6}, {-12, 6},
                                          {-12, 10}, {12, -10}, {12, -6},   {12, 6},   {12, 10},
                                          {12, -2},  {12, 2},   {-12, -2},  {-12, 2}};
const std::vector<XY> kComparatorLeads = {{0, -5}, {0, 5}, {-5, -2}, {-5, 2}, {5, 0}};

const std::vector<Symbol>& symbols() {
  static const std::vector<Symbol> table = {
      {"resistor", kTwoLeads, {-0.8, -2, 0.8, 2}, "M0 -3V-2 M0 2V3 M-0.8 -2H0.8V2H-0.8Z", ""},
      {"ceramic",
       kTwoLeads,
       {-1.5, -0.4, 1.5, 0.4},
       "M0 -3V-0.35 M0 0.35V3 M-1.5 -0.35H1.5 M-1.5 0.35H1.5",
       ""},
      {"electrolytic",
       kTwoLeads,
       {-1.9, -1.7, 1.5, 0.4},
       "M0 -3V-0.35 M0 0.35V3 M-1.5 -0.35H1.5 M-1.5 0.35H1.5 M-1.7 -1.2H-0.7 M-1.2 -1.7V-0.7",
       ""},
      {"diode", kTwoLeads, {-1.1, -1, 1.1, 1}, "M0 -3V3 M-1.1 -0.9H1.1L0 0.9Z M-1.1 0.9H1.1", ""},
      {"schottky diode",
       kTwoLeads,
       {-1.1, -1, 1.1, 1.4},
       "M0 -3V3 M-1.1 -0.9H1.1L0 0.9Z M-0.7 0.5H-1.1V0.9H1.1V1.3H0.7",
       ""},
      {"breakdown diode",
       kTwoLeads,
       {-1.1, -1, 1.1, 1},
       "M0 -3V3 M-1.1 -0.9H1.1L0 0.9Z M-1.1 0.4V0.9H1.1",
       ""},
      {"n-mosfet", kThreeLeads, kTransistorBody, kChannel, "M-1.65 0L-0.85 -0.4V0.4Z"},
      {"p-mosfet", kThreeLeads, kTransistorBody, kChannel, "M-0.4 0L-1.2 -0.4V0.4Z"},
      {"npn", kThreeLeads, kTransistorBody, kBipolar, "M-0.1 1.73L-1.02 1.62L-0.56 0.97Z"},
      {"pnp", kThreeLeads, kTransistorBody, kBipolar, "M-1.6 0.67L-1.14 1.43L-0.68 0.78Z"},
      {"bridge-chip",
       kBridgeLeads,
       {-5, -4, 5, 4},
       "M-5 -4H5V4H-5Z M0 -7V-4 M0 4V7 M-8 -2H-5 M-8 2H-5 M5 -2H8 M5 2H8",
       "",
       {"VM", "GND", "IN1", "IN2", "OUT1", "OUT2"}},
      {"dual-bridge-chip",
       kTwoBridgeLeads,
       {-5, -8, 5, 8},
       kTwoBridgeBox,
       "",
       {"VM", "GND", "IN1", "IN2", "IN3", "IN4", "OUT1", "OUT2", "OUT3", "OUT4"}},
      {"buffers",
       kTwoBridgeLeads,
       {-5, -8, 5, 8},
       kTwoBridgeBox,
       "",
       {"VCC", "GND", "IN1", "IN2", "IN3", "IN4", "OUT1", "OUT2", "OUT3", "OUT4"}},
      {"dual-chopper-chip",
       kTwoChopperLeads,
       {-9, -12, 9, 12},
       "M-9 -12H9V12H-9Z M0 -15V-12 M0 12V15 M-12 -10H-9 M-12 -6H-9 M-12 -2H-9 M-12 2H-9 M-12 6H-9 "
       "M-12 10H-9 M9 -10H12 M9 -6H12 M9 -2H12 M9 2H12 M9 6H12 M9 10H12",
       "",
       {"VM", "GND", "IN1", "IN2", "IN3", "IN4", "OUT1", "OUT2", "OUT3", "OUT4", "SENSE1", "SENSE2",
        "REF1", "REF2"}},
      // The amplifying triangle of IEC 60617 part 13, with its inputs marked.
      {"comparator",
       kComparatorLeads,
       {-3, -4, 3, 4},
       "M-3 -4L3 0L-3 4Z M0 -5V-2 M0 2V5 M-5 -2H-3 M-5 2H-3 M3 0H5 M-2.5 -2H-1.5 M-2 -2.5V-1.5 "
       "M-2.5 "
       "2H-1.5",
       ""},
      {"winding",
       {{0, -5}, {0, 5}},
       {-0.2, -4, 1.2, 4},
       "M0 -5V-4A1 1 0 0 1 0 -2A1 1 0 0 1 0 0A1 1 0 0 1 0 2A1 1 0 0 1 0 4V5",
       ""},
  };
  return table;
}

const Symbol& named(std::string_view name) {
  for (const Symbol& s : symbols())
    if (s.name == name) return s;
  return symbols().front();
}

// A metal-semiconductor junction drops less than a silicon one ever does at a useful current
// (common practice, no source). The catalogue has no column that says so.
constexpr double kSchottkyBelow_V = 0.45;

}  // namespace

const Symbol& symbol_of(std::string_view part_class, const Part* part) {
  if (part_class == "zener") return named("breakdown diode");
  if (part != nullptr && part_class == "diode" && figure(*part, "vf_low_typ") < kSchottkyBelow_V)
    return named("schottky diode");
  return named(part_class);
}

const Symbol& winding_symbol() { return named("winding"); }

Turn parse_turn(std::string_view text) {
  Turn out;
  out.mirrored = !text.empty() && text.front() == 'm';
  if (out.mirrored) text.remove_prefix(1);
  const auto degrees = to_integer(text);
  out.degrees = degrees ? static_cast<int>(*degrees % 360) : 0;
  return out;
}

XY turned(XY p, Turn turn) {
  if (turn.mirrored) p.x = -p.x;
  for (int done = 0; done < turn.degrees; done += 90) p = {-p.y, p.x};
  return p;
}

Box turned(const Box& box, Turn turn) {
  const XY a = turned(XY{box.left, box.top}, turn), b = turned(XY{box.right, box.bottom}, turn);
  return {std::min(a.x, b.x), std::min(a.y, b.y), std::max(a.x, b.x), std::max(a.y, b.y)};
}

namespace {

/// Upright whatever the turn, just inside the side its terminal is on.
void draw_labels(Svg& svg, const Symbol& symbol, XY at, Turn turn) {
  constexpr double kSize = 1.1, kInset = 0.4, kHalfCapital = 0.4;
  const Box b = turned(symbol.body, turn);
  for (std::size_t k = 0; k < symbol.labels.size(); ++k) {
    const XY p = turned(symbol.terminals[k], turn);
    XY base{at.x + p.x, at.y + p.y + kHalfCapital};
    Anchor anchor = Anchor::middle;
    if (std::abs(p.x) > std::abs(p.y)) {
      anchor = p.x < 0 ? Anchor::start : Anchor::end;
      base.x = at.x + (p.x < 0 ? b.left + kInset : b.right - kInset);
    } else {
      base.y = at.y + (p.y < 0 ? b.top + kInset + 2 * kHalfCapital : b.bottom - kInset);
    }
    svg.text(base, symbol.labels[k], kSize, anchor,
             "stroke=\"none\" fill=\"currentColor\" class=\"terminal\"");
  }
}

}  // namespace

void draw_symbol(Svg& svg, const Symbol& symbol, XY at, Turn turn) {
  svg.open_group(fmt::format("transform=\"translate({} {}) rotate({}){}\"", svg_number(at.x),
                             svg_number(at.y), turn.degrees, turn.mirrored ? " scale(-1 1)" : ""));
  svg.path(symbol.strokes);
  if (!symbol.solid.empty()) svg.path(symbol.solid, {.fill = "currentColor"});
  svg.close_group();
  draw_labels(svg, symbol, at, turn);
}

}  // namespace pb::delivery
