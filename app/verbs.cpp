// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The table of verbs.
#include <array>

#include "app/verb.h"
#include "app/verbs/verbs.h"

namespace pb::app {
namespace {

constexpr auto kVerbs = std::to_array<Verb>({
    {"design", "the cheapest driver proven to meet a brief",
     "design brief.toml --parts parts.csv --out result", false, add_design},
    {"check", "the verdict on one design, hand-written ones too", "check design.toml --json", false,
     add_check},
    {"simulate", "waveforms and figures of one move",
     "simulate design.toml --set motion.rate=\"200 step/s\" --out run", false, add_simulate},
    {"parts", "the store of parts: import a catalogue, list what is there",
     "parts import parts.csv --dry-run", false, add_parts},
    {"yield", "how many of many virtual units meet the brief, and what decides it",
     "yield design.toml --units 1000 --seed 1", false, add_yield},
    {"faults", "what one failed part, pin or wire, or one mistake, does",
     "faults design.toml --json", false, add_faults},
    {"compare", "a capture of the bench against what the design should do",
     "compare design.toml scope.csv --column winding_a_A=CH1", false, add_compare},
    {"identify", "what a motor is, from a capture of the bench",
     "identify step.csv --voltage \"12 V\" --brief brief.toml", false, add_identify},
    {"serve", "the desk: a page on this machine for all of it", "serve projects --port 8471", false,
     add_serve},
    {"handoff", "everything to build, program and judge a design that passes, in one folder",
     "handoff design.toml --out handoff", false, add_handoff},
    {"formats", "the reference page of files and commands", "formats > docs/formats.md", true,
     add_formats},
});

}  // namespace

std::span<const Verb> verbs() { return kVerbs; }

}  // namespace pb::app
