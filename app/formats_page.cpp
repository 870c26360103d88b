// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
#include "app/formats_page.h"

#include "app/verb.h"
#include "base/quantity.h"
#include "base/text.h"
#include "model/brief.h"
#include "model/part.h"

namespace pb::app {
namespace {

constexpr const char* kHead = R"(# Formats

Every file and command, written by `pennybridge formats` from the tables that the readers follow; a
test holds this page to them. Do not edit it by hand.

Files are TOML 1.0 with `format = 1`. A quantity is text with a unit: "4k7", "4.7 kohm", "22 µF",
"0.35 A", "54 g cm2", "120 rpm", "85 degC", "10 %". Plain numbers and pieces may also stand without
quotes. Messages read `FILE:LINE:COL: KEY: expected X, found Y`, one a problem, all problems at once.

)";

constexpr const char* kTemplate = R"(
## Template

One way to wire the whole driver. The example shows every key.

```toml
format = 1
id = "some-bridge"
title = "What a person calls it"        # optional
wins_when = "where it is the cheapest"  # optional

[role.high_side]        # a role is what to buy: one part serves every place of the role
class = "p-mosfet"      # a part class, see below
doc = "what it is for"  # optional
optional = false        # true: a design may leave it, and its places, out
values = ["4k7", "10k"] # resistors only: what the tool may choose from

[[place]]               # one part on the board
ref = "Q1"
role = "high_side"
nodes = {drain = "a1", gate = "gate_a1", source = "rail"}  # one a terminal of the class
at = [20, 12]           # where the drawing has its middle: x to the right, y down
turn = "m180"           # "0" "90" "180" "270" clockwise, a leading "m" mirrors left and right first

[[pin]]                 # a pin of the controller
name = "a1h"
node = "gate_a1"
off = "1"               # level that turns its switch off; "-" if it steers two switches at once

[[pin]]                 # after all others: one that no state sets
name = "pump"
node = "pin_pump"
off = "-"
clock = "1 kHz"         # a timer toggles it as long as the program runs, 10 Hz to 20 kHz; all such pins alike

[winding]               # start and finish of each
a = ["a1", "a2"]
b = ["b1", "b2"]

[[drive]]               # pins that together set one winding, or both
windings = "a"          # "a" "b" "ab"
pins = ["a1h", "a1l", "a2h", "a2l"]

[[drive.state]]
flow = "+"              # one sign a winding: "+" "-" "0" open (coast) "b" shorted (brake);
                        # "p" "m" as "+" "-" with one of the two switches off, for a chopped drive
levels = "0011"         # one a pin: "0" "1" "z"
on = ["Q1", "Q4"]       # switches meant to be on; of a driver chip the inputs meant to be high: "U1.in1"

[[leg]]                 # an output, and the switches that pull it up and down; none for a driver chip
output = "a1"
high = ["Q1"]
low = ["Q2"]

[[measure]]             # how winding a's current is measured, then b's; none where nothing measures it
winding = "a"
sense = "sense_a"       # what comes down from its low switches flows to ground from here, by a resistor
reference = "dac_a"     # an analog output of the controller says how much that is to be
reached = "reached_a"   # an input of the controller, at a comparator's output; none where the chip compares
```

Nodes with a meaning: `rail` is the motor supply behind its cable, `gnd` is zero, `logic` is the
supply of the controller. A symbol at turn "0" has its first terminal on top and its last at the
bottom; a gate or base is at the left. A drawn symbol takes 4 by 4 steps, a driver
chip 16 by 14, with two bridges or as eight buffers 16 by 22, with choppers inside 24 by 30: supply on
top, inputs at the left.

)";

constexpr const char* kDesign = R"(
## Design

A brief, a wiring, a part in every role and the settings, in one file that needs no other.

- `[brief]`: the keys of the brief below it (`[brief.motor]` and so on), and `assumed`, the names of
  keys whose values are defaults that nobody gave.
- `[wiring]`: a whole template, its tables below it (`[[wiring.place]]`). Or, instead, `wiring =
  "NAME"`: NAME.toml beside the design or among the templates.
- `[part.ROLE]`: `number`, `class`; optional `package`, `stock`, `lifecycle`, `currency`, `minimum`,
  `multiple`, `price_breaks` ("1:0.12;100:0.08"), `source`, `row_sha256`.
- `[part.ROLE.figures]`: data-sheet figures of the class, as quantities.
- `[settings]`: `sequence` ("one-phase" "two-phase" "half" "micro"), `stop` ("brake" "coast"),
  `decay` ("slow" "fast" "diode" "mixed"; used where the brief's regulation is not "none"), `dead_time`
  (computed from the circuit if not given).
- `[settings.value]`: ROLE = resistance, for every role of a resistor.

## parts.csv

RFC 4180, LF, a head line; plain or compressed with gzip. Columns `number,class,package,stock,
lifecycle,currency,minimum,multiple,price_breaks,source`, then figures with the unit in the name:
`vds_max_V`, `rds_max_mohm`, `rth_ja_K_per_W`. Identical rows are one part; one number with different
data is refused at both rows.

A pair is one part; the figures of its second half begin with `second_`.

## Store of parts

`parts import FILE` puts a catalogue into the store, whole or not at all; `parts import FILE
--dry-run` says what would be taken, what is missing and which rows are unusable, and writes nothing.
The store is one file: `--store FILE`, else `$XDG_DATA_HOME/pennybridge/parts.db`, else
`~/.local/share/pennybridge/parts.db`. A number that is there already gets the new row, price and
stock included, if both have the same `source`; a row of another source is the user's own and stays,
unless `--replace` is given. Rows the file does not have stay.

`design` takes its parts from the files of `--parts`, and from nothing else if any is given. Without,
from the store and the starter catalogue; a number both have is the store's.

## Mapping

How to read a catalogue whose columns are not these: `parts import FILE --map MAPPING`. The example
shows every key.

```toml
format = 1
separator = ";"       # "," ";" "tab"
decimal = ","         # "." ","
thousands = "."       # none if not given
encoding = "latin-1"  # "utf-8" if not given
empty = ["-", "n/a"]  # cells that give nothing, besides empty ones

[constant]            # a column of ours that every row has alike
source = "the shop"

[column."Part no."]   # a column of theirs; those not named here are left out
to = "number"         # a column of ours

[column.Kind]
to = "class"
values = {"N-Channel" = "n-mosfet", "P-Channel" = "p-mosfet"}  # their text = ours

[column."Ciss / pF"]
to = "ciss_pF"        # a number is in the unit of the name, "350 pF" brings its own

[column."Vgs(th) max"]
to = "threshold_max"  # every cell brings its unit
magnitude = true      # "-1,2 V" of a P channel is 1.2 V

[column."Rds on"]     # "45 mOhm @ 4,5 V, 3 A"; {} is text nobody wants
pattern = "{rds_max} @ {rds_gate}, {}"

[column.Vgs]          # the first pattern that fits
pattern = ["±{vgs_max}", "+{vgs_max}, {}"]

[column."1000 pc"]
price_at = 1000       # unit prices at this quantity; "0,08 EUR" is 0.08
```

)";

constexpr const char* kCommands = R"(
## Commands

Every verb takes `--help`, and `--json`: then exactly one object is on standard output, messages are
on standard error. Ctrl-C stops.

| exit | means |
| --- | --- |
| 0 | passes, or done |
| 1 | proven not to pass, nothing found, or the brief is impossible |
| 2 | bad input or usage, empty catalogue, an output folder that is not ours |
| 3 | undecided (no convergence), disk, port, a fault of the program |
| 130 | interrupted |

An output folder is built beside its place and swapped in. A place that is taken is refused with 2
unless its `manifest.json` says that this program made it and nobody has added files.

)";

constexpr const char* kJson = R"(
## JSON

SI, temperatures in degC. A number that is none is null, and named in `undecided`. Every object has
`format`, `version`; of verbs that read a design also `input_sha256` and `assumed: [{key, value,
unit}]`; where there is anything to say `problems: [{file, line, column, key, expected, found,
message}]`.

`design`: `designs[{rank, template, wiring, has_chip, landed_cost, floor_cost, currency,
hottest_degC, board_area_m2, energy_J, design_file, tightest_margin{id,subject,margin}, parts[{ref,role,number,quantity,unit_price}],
cost{parts,attrition,placement,setup,area,test,one_off,scrap}}]`, `nothing_cheaper`, `claim`,
`undecided[]`, `chips[{number, kind, landed_cost, currency, board_area_m2, passes, tightest_margin, why, design_file}]`, `chip_wins`,
`rejected{CHECK: "candidates"}`, `space{TEMPLATE: {total, screened, grouped, beyond_cost, failed, passed,
undecided}}` (decimal strings that sum; what was not visited in time is undecided), `impossible{key,why}` if no driver can.
`ladder{searched_again: false, quantities[], lines[{name, kind, bought, passes, why, landed_cost[],
without_one_off[]}], break_even[{against, with_one_off, without_one_off}]}`: the winner and chips bought
instead, each with its own parts at every quantity; quantities from which on the winner is cheaper, null
if it never is. `tornado[{input, value, unit, low, high, cost_low, cost_high}]`: landed cost with one
input at `low` and `high` times its value, greatest swing first. `pareto[{template, wiring, landed_cost,
hottest_degC, board_area_m2, parts, energy_J, design_file}]`: of the proven designs and chips those that
none other beats in all five; hottest junction at the worst corner, energy of the move that is run.
`why_not_cheaper[{template, wiring, floor_cost, check{id,subject,value,limit,unit}, changes_tried,
would_pass_with{key,text,from,to,judged_by}}]`: the cheapest candidate of a wiring that failed, and the
smallest single change with which it would pass; null if none of those tried does.
`alternatives{pairs[{number, class, package, roles[], places[[REF, REF]], mutual_K_W, landed_cost, saves,
tried, proven, passes, fails, margin}]}`: two transistors in one package in place of two single ones of
the winner, each package for two places; `landed_cost` of a good board with them, and what that `saves`
(below nothing: costs more); only priced unless `tried`, and unless `proven` tried at some corners only.
`alternatives.values[{roles[], ohm, landed_cost, saves, tried, proven, passes, fails, margin}]`: one value
for two resistors of the winner, and what one reel less saves.

`simulate` (typical figures, windings and parts as cold as the air): `window{from_s,to_s}`, `winding_a{rms,peak}`, `winding_b{rms,peak}`, `supply{mean,peak}`,
`rail{min,max}`, `rotor{steps_commanded,steps_made,steps_lost,theta_end_rad,settle_error_step,
speed_mean_rad_s,speed_min_rad_s,speed_max_rad_s,speed_ripple}`,
`output{turned_rad,end_stop_Nm}`, `losses{REF: W}`, `ledger_J{source,loss,load,stored,throughput}`, `energy_residual`, `dead_time_s`.
RMS and mean are of the window: the last whole electrical cycles at the running rate; peaks are of
the whole run. `speed_ripple` is (greatest - least)/|mean| speed of the rotor over the window.

With `--torque-curve` `design` (of its best design), `check` and `simulate` have
`torque_curve{rate_steps_s, load_Nm, asked_Nm, natural_Hz, resonance{from_steps_s,worst_steps_s,to_steps_s},
points[{rate_steps_s,pull_in_Nm,pull_out_Nm,ramp_Nm,lag_step,steps_lost}]}`: torques at the output shaft,
null where none was looked for; `ramp_Nm` is what the inertia took on the way to a pull-out; `asked_Nm` the
load with the margin asked; `resonance` null where none stands out. The reports show it as plots, and
`simulate --out` writes the points to `torque.csv`, with the same names.

`check`: `passes`, `tightest_margin{id,subject,margin}`, `energy_residual`, `checks[{id, subject, value, nominal, limit, sense, unit, margin,
passes, grade, corner, allowance, hand{formula,value,difference}, source, help, facts{},
inputs[{figure,end,margin_change}]}]`, `not_judged[]`,
`undecided[]`. Margin is (limit − value)/|limit| for sense "max", (value − limit)/|limit| for "min".

`yield`: `units`, `seed`, `spread{shape,lot_correlation}`, `failed`, `failed_units[]`, `yield`,
`interval{low,high,confidence}` of the yield, `by_check{ID: units that fail it}`, `undecided[]`,
`checks[{id, subject, unit, nominal, mean, deviation, worst{value,unit_number},
margin{nominal,mean,deviation,worst,sum,root_sum_square,corner}, share_by_margin, worse_than_corner,
drivers[{figure,rank_correlation}]}]`: the tightest subject of each check, tightest first. With
`--unit K`: `unit`, `passes`, `figures{NAME: value}`, `checks[{id, subject, unit, value, limit, margin,
passes, by_trial}]`; by trial it is only known that the limit holds, or does not, and
`share_by_margin` is null. Exit 1 if a unit fails, or does worse than the corner that
the effects of single figures, and of both supplies at once, point to: by more than twice a run's
accuracy and a twentieth of the margin left there. What a proof scans is not held to a corner.

`faults`: `by_class{CLASS: cases}`, `cases[{part, fault, class, peak_A, peak_degC, fuse_s,
available_W, detected_by, contain, hottest, melts, supply_A, harmed[{subject,by}]}]`, `undecided[]`; see
[faults.md](faults.md). Class is "works on", "stops safely", "destroyed but contained" or "hazard",
null if undecided. Exit 1 if there is a hazard.

`compare`: `aligned_s` (the design's time less the capture's), `likeness` (correlation then),
`inside_band`, `outside` (share of readings), `deviations[{channel, unit, from_s, to_s, at_s, value, low,
high, expected}]`, `causes[{key, unit, nominal, fitted, explains}]` (each fitted alone, the share of the
squared deviation it takes away; one that is there or not has unit "1"), `capture`, `band{units, seed}`,
`notes[]`. Exit 1 if the capture is not inside the band.

`identify`: `kind` ("step" "spin"), `parameters{NAME: {value, low, high, unit, text}}` with the names of the
brief's `[motor]` (`text` as a brief would say it), `confidence` of low to high, `residual{deviation,
unit}`, `capture{rows, from_s, to_s, time_unit, channels[{name, unit}], notes[]}`, `notes[]`,
`undecided[]`; with `--brief` or `--design`
`proved[{design, passes, tightest_margin{id, subject, margin}}]`, and the exit is that of the proofs.

`parts import`: `store`, `rows`, `added`, `changed`, `same`, `kept[]` (numbers another source has),
`classes{CLASS: {rows, incomplete, missing{FIGURE: rows}}}`, `left_out[]` (columns), `notes[]`.
`parts list`: `store`, `parts[{number, class, package, lifecycle, currency, source, stock,
unit_price_1k}]`.
`handoff`: `passes`, `files[{name, sha256}]`, `out`, `drive{states,tick_s}`: the move of
`pin_writes.csv`; `alternatives{tried, passed, left}`, `production{detected, latent, undecided}`; of a
design that does not pass the fields of `check`, and nothing is written.

## The folder of `handoff`

`report.html`, `verdict.json` (as `check --json`), `design.toml`, `schematic.svg`, `schematic.pdf`,
`bom.csv`, `bom_alternatives.csv` and `assembly.html` (second sources, docs/bench.md), `bench_plan.html`
and `.csv`, `production_test.html` and `.csv`, `production_faults.csv` (docs/bench.md), `copper.html`,
`copper.csv`, `copper_leads.csv`, `copper_heat.csv`, `placement.svg` (docs/copper.md),
`netlist.csv` (`net,ref,terminal,number,value`; ends outside the board have no ref),
`netlist.edif` (EDIF 2 0 0, ANSI/EIA-548-1988, view type NETLIST), `manifest.json` with the SHA-256 of
every file, `handoff.zip` with all of them, and `drive/`: C99 for the firmware. `pb_drive.h` says how
to use it; `pb_table.h` and `pb_table.c` are the design's tables; `pin_writes.csv`
(`tick,pin,name,level`) is every change of a pin in the move that the proof ran, in ticks of the timer
from the first state on. Folder, clock, time zone, locale and user change no byte.

## Captures

`identify CAPTURE` reads the CSV of any oscilloscope or logging supply: any lines before the numbers;
separator comma, semicolon, tab or blanks; decimal point, or comma where it does not separate; times in
s, ms, us, ns or as clock times; columns of text and gaps in between. Names and units come from the
lines above the numbers (`CH1 (mV)`, `t_s`, or units in a line of their own). A time without a unit is
taken as s, ms or us by the step between rows, and the answer says so; `--time-unit` decides. Time must
not run backwards.

`--column OURS=THEIRS` says which column is which: THEIRS is a name or a number from 1, `*FACTOR` after it
scales it (`winding_a_A=CH1*-10`), `time=THEIRS` is the time axis.

`compare` takes the columns of waveforms.csv, one of them at least; currents of windings are those of the
board's leads, from output to winding. The band is made of virtual units as `yield` draws them, each
reading's least and greatest, 15 % wider on either side and for the probe's noise; a capture with at most
1 % of its readings outside is inside. Parts and motor start at the ambient temperature.

`identify` takes a current and a voltage (columns `current_A` and `voltage_V`, else the only ones in A and
V; or `--voltage`) as a step on one winding of a rotor that stands still: `winding_resistance`,
`winding_inductance`. A voltage alone is that of an open winding of a rotor that is spun:
`back_emf_constant`; that needs `--steps-per-turn` or a brief. `--brief FILE` puts what was found into the
brief and leaves every other byte of it alone; so does `--design FILE` with a design, else with every
`design*.toml` beside the brief, and proves it again.

## waveforms.csv

`t_s,winding_a_A,winding_b_A,rail_V,supply_A,theta_rad,speed_rad_s,torque_Nm`, then the voltages of
outputs and gates by the names of their nodes. RFC 4180, LF, decimal point; text that begins with
`=`, `+`, `-` or `@` gets a leading `'`.
)";

/// "|" would end the cell of a table.
std::string cell(std::string_view text) { return replace_all(text, "|", "\\|"); }

std::string range_text(const BriefKey& key) {
  if (!key.choices.empty()) {
    std::vector<std::string> all;
    for (std::string_view c : split(key.choices, '|')) all.push_back(quoted(c));
    return join(all, " ");
  }
  if (key.text) return "text";
  return format_range(key.low, key.high, key.dim);
}

std::string default_text(const BriefKey& key) {
  if (key.need == Need::required) return "**required**";
  return key.need == Need::optional ? "" : "`" + std::string(key.assumed) + "`";
}

std::string brief_tables() {
  std::string out = "## Brief\n";
  std::string_view section = "-";
  for (const BriefKey& key : brief_keys()) {
    if (key.section != section) {
      section = key.section;
      out += section.empty() ? "\nOutside of sections:\n" : "\n`[" + std::string(section) + "]`\n";
      out += "\n| key | default | from, to | meaning |\n| --- | --- | --- | --- |\n";
    }
    out += "| `" + std::string(key.name) + "` | " + default_text(key) + " | " +
           cell(range_text(key)) + " | " + cell(key.doc) + " |\n";
  }
  return out;
}

std::string class_tables() {
  std::string out = "## Part classes\n";
  for (const PartClass& c : part_classes()) {
    std::vector<std::string> terminals;
    for (std::string_view t : c.terminals) terminals.push_back("`" + std::string(t) + "`");
    out += "\n`" + std::string(c.name) + "`: " + std::string(c.doc) + "; terminals " +
           join(terminals, ", ") + ".\n\n| figure | needed | from, to | meaning |\n" +
           "| --- | --- | --- | --- |\n";
    for (const Figure& f : c.figures)
      out += "| `" + std::string(f.name) + "` | " + (f.required ? "yes" : "") + " | " +
             format_range(f.low, f.high, f.dim) + " | " + cell(f.doc) + " |\n";
  }
  return out;
}

std::string verb_table() {
  std::string out = "| verb | does | example |\n| --- | --- | --- |\n";
  for (const Verb& v : verbs())
    if (!v.hidden)
      out += "| `" + std::string(v.name) + "` | " + cell(v.doc) + " | `pennybridge " +
             cell(v.example) + "` |\n";
  return out;
}

}  // namespace

std::string formats_page() {
  return kHead + brief_tables() + kTemplate + class_tables() + kDesign + kCommands + verb_table() +
         kJson;
}

}  // namespace pb::app
