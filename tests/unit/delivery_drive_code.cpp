// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The tables as C text. Whether they compile and do what the proof ran is for
// tests/cli/test_handoff.py, with compilers of others; those of chopped drives are here.
#include "delivery/drive_code.h"

#include <gtest/gtest.h>
#include <unistd.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <sstream>

#include "files/load.h"
#include "physics/drive_table.h"
#include "tests/unit/delivery_samples.h"

namespace pb::delivery {
namespace {

TEST(DeliveryDriveCode, TheFixedFilesAreThoseOfTheTree) {
  const auto files = drive_code(test::design_of(test::all_templates().front(), true), 1e-6);
  ASSERT_EQ(files.size(), 4u);
  for (const TextFile& f : files) {
    if (!f.name.starts_with("pb_drive")) continue;
    EXPECT_EQ(f.text, *load_text((test::kRoot / "drive" / f.name).string())) << f.name;
  }
}

TEST(DeliveryDriveCode, TextsOfTheDesignStayInsideTheirComments) {
  Design d = test::design_of(test::all_templates().front(), true);
  d.brief.title = "a */ int x; /* b /*/ c\n#error ?\?/ \\";
  for (DriveGroup& g : d.wiring.groups)
    for (std::string& p : g.pins) {
      if (p == d.wiring.pins[0].name) p = "p-1";
      if (p == d.wiring.pins[1].name) p = "P 1";
    }
  d.wiring.pins[0].name = "p-1";
  d.wiring.pins[1].name = "P 1";
  for (const TextFile& f : drive_code(d, 1e-6)) {
    bool inside = false;
    std::string code;
    for (std::size_t i = 0; i + 1 < f.text.size(); ++i) {
      const std::string_view two(f.text.data() + i, 2);
      EXPECT_FALSE(inside && two == "/*") << f.name << ' ' << f.text.substr(i, 40);
      EXPECT_FALSE(!inside && two == "*/") << f.name;
      if (two == "/*" || two == "*/") {
        inside = two == "/*";
        ++i;
      } else if (!inside) {
        code += f.text[i];
      }
    }
    EXPECT_EQ(code.find("int x"), std::string::npos) << f.name;
    EXPECT_EQ(code.find("#error"), std::string::npos) << f.name;
    EXPECT_EQ(f.text.find("\?\?/"), std::string::npos) << f.name;
  }
  const std::string header = drive_code(d, 1e-6)[2].text;
  EXPECT_NE(header.find("  PB_PIN_P_1 = 0,"), std::string::npos);
  EXPECT_NE(header.find("  PB_PIN_P_1_1 = 1,"), std::string::npos);
}

/// A microcontroller of nothing but a clock, in C; it stops at the tick it is told.
constexpr const char* kMain = R"(
#include <stdio.h>
#include <stdlib.h>
static long long now;
static uint32_t timer;
static void write_pin(void *context, uint8_t pin, uint8_t level) {
  (void)context;
  printf("%lld %d %c\n", now, pin, "01z"[level]);
}
static void set_timer(void *context, uint32_t ticks) { (void)context; timer = ticks; }
static void set_reference(void *context, uint8_t winding, uint16_t level) {
  (void)context;
  printf("%lld analog %d %u\n", now, winding, level);
}
int main(int argc, char **argv) {
  static pb_drive motor;
  const pb_port port = {write_pin, set_timer, 0, set_reference};
  if (argc != 3) return 2;
  now = -(long long)pb_design.wake_ticks;
  pb_drive_init(&motor, &pb_design, &port);
  if (!pb_drive_move(&motor, atoi(argv[1]))) return 1;
  while (timer != 0 && now + timer <= atoll(argv[2])) {
    now += timer;
    timer = 0;
    pb_drive_timer(&motor);
  }
  return 0;
}
)";

/// What the delivered files write to the pins of the move, compiled by the machine's C compiler
/// without a complaint and run.
std::string compiled_writes(const std::vector<TextFile>& files, int states, std::int64_t last) {
  namespace fs = std::filesystem;
  const fs::path folder = fs::temp_directory_path() / ("pb_drive_" + std::to_string(getpid()));
  fs::create_directories(folder);
  for (const TextFile& f : files) std::ofstream(folder / f.name) << f.text;
  std::ofstream(folder / "main.c") << "#include \"pb_table.h\"\n" << kMain;
  const std::string go = "cd '" + folder.string() +
                         "' && cc -std=c99 -Wall -Wextra -Wpedantic -Werror -O1 -o main main.c "
                         "pb_drive.c pb_table.c && "
                         "./main " +
                         std::to_string(states) + ' ' + std::to_string(last) + " > writes";
  EXPECT_EQ(std::system(go.c_str()), 0);
  const std::string out = load_text((folder / "writes").string()).value_or("");
  fs::remove_all(folder);
  return out;
}

// The analog outputs and the pins of the driven states; what decay there is is the timers'.
TEST(DeliveryDriveCode, TablesOfAMeasuredDriveDoWhatTheProofRuns) {
  int tried = 0;
  for (const Template& t : test::all_templates()) {
    if (t.measures.empty()) continue;
    SCOPED_TRACE(t.title);
    Design d = test::design_of(t, true);
    d.brief.regulation.kind = "current";
    d.brief.regulation.current_A = 0.04;
    d.brief.motion.hold = "reduced";
    d.brief.motion.rate_steps_s = 400;
    d.settings.sequence = "micro", d.settings.decay = "mixed";
    constexpr double kDead_s = 3e-6;
    const physics::DriveTable table = physics::drive_table(d, "micro", kDead_s);
    const physics::Plan plan = physics::plan_move(d, table, 6);
    std::string pins, analog;
    for (const physics::PinWrite& w : plan.writes)
      pins += std::to_string(w.tick) + ' ' + std::to_string(w.pin) + ' ' + w.level + '\n';
    for (const physics::ReferenceWrite& w : plan.references)
      analog += std::to_string(w.tick) + " analog " + std::to_string(w.winding) + ' ' +
                std::to_string(std::lround(65535 * w.share)) + '\n';
    const auto last = std::max(plan.writes.back().tick, plan.references.back().tick);
    std::istringstream built(compiled_writes(drive_code(d, kDead_s), 6 * table.per_step, last));
    std::string built_pins, built_analog;
    for (std::string line; std::getline(built, line);)
      (line.find("analog") == std::string::npos ? built_pins : built_analog) += line + '\n';
    EXPECT_EQ(built_pins, pins);
    EXPECT_EQ(built_analog, analog);
    EXPECT_EQ(plan.references.back().winding, 1);
    const std::string header = drive_code(d, kDead_s)[2].text;
    EXPECT_EQ(header.find("PB_OFF_TICKS") != std::string::npos,
              !t.measures.front().reached.empty());
    ++tried;
  }
  EXPECT_GE(tried, 2);
}

TEST(DeliveryDriveCode, ChoppedTablesDoWhatTheProofRunsTickForTick) {
  int tried = 0;
  for (const char* sequence : {"two-phase", "micro"})
    for (const char* decay : {"diode", "slow", "fast"})
      for (const Template& t : test::all_templates()) {
        if (!physics::supports(t, sequence) || !physics::supports_decay(t, sequence, decay))
          continue;
        SCOPED_TRACE(t.title + ' ' + sequence + ' ' + decay);
        Design d = test::design_of(t, true);
        d.brief.regulation.kind = "duty";
        d.brief.regulation.current_A = 0.04;
        d.brief.motion.hold = "reduced";
        d.brief.motion.rate_steps_s = 400;
        d.settings.sequence = sequence, d.settings.decay = decay;
        constexpr double kDead_s = 3e-6;
        const physics::DriveTable table = physics::drive_table(d, sequence, kDead_s);
        const physics::Plan plan = physics::plan_move(d, table, 6);
        std::string proof;
        for (const physics::PinWrite& w : plan.writes)
          proof += std::to_string(w.tick) + ' ' + std::to_string(w.pin) + ' ' + w.level + '\n';
        EXPECT_GT(plan.writes.size(), 1000u);
        const std::string built =
            compiled_writes(drive_code(d, kDead_s), 6 * table.per_step, plan.writes.back().tick);
        EXPECT_EQ(built.size(), proof.size());
        EXPECT_TRUE(built == proof);
        ++tried;
        break;  // one wiring a sequence and decay
      }
  EXPECT_EQ(tried, 6);
}

}  // namespace
}  // namespace pb::delivery
