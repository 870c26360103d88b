// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Faults by class, captures held against a design and turned into figures of the brief, currents on
// the schematic, and the catalogue: looked at, then taken in.
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { existsSync, mkdtempSync, readFileSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { kMotor, kProof_ms, openPage, program, root, startBrowser, startDesk, stopper, stepCapture, stopAll, takeExample } from "./desk.mjs";

let browser, desk, page;
before(async () => {
  browser = await startBrowser();
  desk = await startDesk();
  page = await openPage(browser, desk.url);
  await takeExample(page, "design"); // the trap
});
after(async () => {
  stopAll();
  await browser.close();
});

const design = join(root, "examples", "follower-trap", "design.toml");
const folder = mkdtempSync(join(tmpdir(), "bench-"));
const bringIn = async (label, name, text) => {
  writeFileSync(join(folder, name), text);
  await page.getByLabel(label).setInputFiles(join(folder, name));
};

test("what flows at a moment goes into the drawing and out of it", async () => {
  await page.waitForSelector(".flows .wire", { state: "attached", timeout: kProof_ms });
  const moment = page.getByLabel("Moment of the move");
  await moment.focus();
  await moment.fill("400");
  await page.waitForFunction(() => document.querySelectorAll(".flows .wire").length > 3);
  const said = await page.locator(".drawing figcaption").innerText();
  assert.match(said, /winding a (forward|backward), [\d.]+ m?A/);
  // At every grid point within a wire as much comes as goes: the widest lines make whole paths.
  const hash = await page.evaluate(() => performance.getEntriesByType("resource").map((r) => r.name).filter((n) => n.includes("/api/currents")).pop());
  const { parts } = await page.evaluate((url) => fetch(url).then((r) => r.json()), hash);
  const known = parts["winding a"];
  assert.ok(Math.abs(known[0] + known[1]) < 1e-9 && Math.abs(known[0]) > 1e-3, "what enters a winding leaves it");
  await page.getByRole("button", { name: "temperatures" }).click();
  await page.waitForFunction(() => !document.querySelector(".flows"));
  await page.getByRole("button", { name: "currents" }).click();
  assert.deepEqual(page.errors, []);
});

test("faults are tried, stopped, tried again, and filtered by class", async () => {
  await page.getByRole("tab", { name: "Proof" }).click();
  const run = page.getByRole("button", { name: "Try every fault" });
  await run.click();
  await stopper(page, "Trying faults").click();
  await run.and(page.locator(":enabled")).waitFor({ timeout: kProof_ms });
  await run.click();
  await page.waitForSelector(".byclass", { timeout: kProof_ms });
  const counts = await page.locator(".byclass button").allInnerTexts();
  const [all, ...each] = counts.map((t) => Number(t.match(/\d+$/)[0]));
  assert.equal(all, each.reduce((a, b) => a + b));
  const answer = JSON.parse(faultsByCommand());
  assert.equal(each[0], answer.by_class.hazard, "as many hazards as the command line counts");
  const worst = page.locator(".byclass button:enabled").nth(1);
  const [, name, n] = (await worst.innerText()).trim().match(/^(.*) (\d+)$/);
  await worst.click();
  assert.equal(await worst.getAttribute("aria-pressed"), "true");
  assert.equal(await page.locator(".faults tbody").count(), 1);
  assert.equal(await page.locator(".faults tbody tr:not(.group)").count(), Number(n));
  assert.match(await page.locator(".faults .group").innerText(), new RegExp(name));
  assert.deepEqual(page.errors, []);
});

/** The same question to the program from outside; exit 1 says that there is a hazard. */
function faultsByCommand() {
  try {
    return execFileSync(program, ["faults", design, "--json"], { encoding: "utf8", stdio: ["ignore", "pipe", "ignore"] });
  } catch (e) {
    return e.stdout;
  }
}

test("a capture of another motor leaves the band, and the motor is what explains it", async () => {
  execFileSync(program, ["simulate", design, "--set", "motor.winding_resistance=17 ohm", "--out", join(folder, "run")], { stdio: "ignore" });
  const rows = readFileSync(join(folder, "run", "waveforms.csv"), "utf8").split("\n");
  await page.getByRole("tab", { name: "Bench" }).click();
  await bringIn("Capture file", "other.csv", rows.map((r) => r.split(",").slice(0, 3).join(",")).join("\n"));
  await page.locator(".columns li").nth(1).waitFor();
  assert.ok(existsSync(join(desk.folder, "other.csv")));
  await page.getByRole("button", { name: "Compare" }).click();
  await page.getByText("The capture leaves the band").waitFor({ timeout: kProof_ms });
  await page.getByRole("region", { name: "Deviations" }).waitFor();
  assert.match(await page.getByRole("region", { name: "What would explain it" }).locator("tbody tr").first().innerText(), /winding resistance/);
  assert.equal(await page.locator(".sheet:has(#comparison) .lines canvas").count(), 2);
  assert.deepEqual(page.errors, []);
});

test("a step on a winding tells resistance and inductance, and they go into the design", async () => {
  await bringIn("Capture file", "step.csv", stepCapture());
  await page.waitForFunction(() => document.querySelectorAll(".columns li").length === 2);
  const isWhat = page.locator(".columns select");
  await isWhat.nth(0).selectOption("voltage_V");
  await isWhat.nth(1).selectOption("current_A");
  await page.getByRole("button", { name: "Identify" }).click();
  const rows = page.getByRole("region", { name: "Figures of the motor" }).locator("tbody tr");
  await rows.first().waitFor({ timeout: kProof_ms });
  const figures = await rows.allInnerTexts();
  const close = (line, true_, unit) => {
    const [, value] = line.match(new RegExp(`([\\d.]+) ${unit}`));
    assert.ok(Math.abs(Number(value) / true_ - 1) < 0.02, line);
  };
  close(figures.find((f) => f.includes("resistance")), kMotor.ohm, "Ω");
  close(figures.find((f) => f.includes("inductance")), kMotor.henry * 1e3, "mH");
  await page.getByRole("button", { name: "Try in this design and prove again" }).click();
  await page.locator(".swap", { hasText: "motor winding resistance" }).waitFor();
  await page.getByText("Proof of these values").waitFor();
  assert.deepEqual(page.errors, []);
});

test("a figure of the bench is written into the brief, whose comments stay", async () => {
  const brief = readFileSync(join(root, "examples", "vent-flap", "brief.toml"), "utf8");
  writeFileSync(join(desk.folder, "flap.toml"), brief);
  const token = await page.evaluate(() => document.querySelector('meta[name="desk-token"]').content);
  const headers = { "Content-Type": "application/json", "X-Pennybridge-Token": token };
  const columns = ["voltage_V=CH1", "current_A=CH2"];
  const file = decodeURIComponent(page.url().split("#/design/")[1]);
  const ask = (url, body) => page.evaluate(([u, b, h]) => fetch(u, b && { method: "POST", headers: h, body: JSON.stringify(b) }).then((r) => r.json()), [url, body, headers]);
  const { id } = await ask("/api/jobs", { kind: "identify", file, capture: "step.csv", columns, brief: "flap.toml" });
  let job;
  do job = await ask(`/api/job?id=${id}`);
  while (job.phase !== "done");
  assert.equal(job.status, 0, JSON.stringify(job.answer));
  const now = readFileSync(join(desk.folder, "flap.toml"), "utf8");
  assert.ok(now.includes(`winding_resistance = "${job.answer.parameters.winding_resistance.text}"`), now);
  const without = (t) => t.split("\n").filter((l) => !/^winding_(resistance|inductance)/.test(l));
  assert.deepEqual(without(now), without(brief));
});

test("a catalogue is looked at through a mapping, and then taken in", async () => {
  await page.getByRole("link", { name: "Parts", exact: true }).click();
  await page.waitForSelector(".list tbody tr");
  await bringIn("Catalogue file", "shop.csv", "Part no.;Kind;Ohm tol;Watt;1000 pc\nRX-5;R;5 %;0,25 W;0,002\nRX-1;R;1 %;0,25 W;0,004\n");
  await page.waitForFunction(() => [...document.querySelectorAll("#import ~ * select, section select")].some((s) => s.value === "shop.csv"));
  await page.getByRole("button", { name: "Look, write nothing" }).click();
  await page.getByText("nothing can be taken before").waitFor({ timeout: kProof_ms });
  assert.ok(await page.getByRole("button", { name: "Take it into the store" }).isDisabled());
  await page.getByRole("button", { name: "Begin a mapping from its head line" }).click();
  const mapping = page.getByLabel("The mapping shop-map.toml as TOML");
  await mapping.waitFor();
  assert.match(await mapping.inputValue(), /# \[column\."Part no\."\]/);
  await mapping.fill(`format = 1
separator = ";"
decimal = ","
[constant]
source = "the shop"
[column."Part no."]
to = "number"
[column.Kind]
to = "class"
values = {"R" = "resistor"}
[column."Ohm tol"]
to = "tolerance"
[column.Watt]
to = "power_max"
[column."1000 pc"]
price_at = 1000
`);
  await mapping.blur();
  await page.waitForTimeout(200); // saved
  await page.getByRole("button", { name: "Look, write nothing" }).click();
  await page.getByText("2 rows: 2 new").waitFor({ timeout: kProof_ms });
  assert.ok(!existsSync(join(desk.store, "pennybridge", "parts.db")), "looking wrote nothing");
  await page.getByRole("button", { name: "Take it into the store" }).click();
  await page.getByText("2 added").waitFor({ timeout: kProof_ms });
  assert.ok(existsSync(join(desk.store, "pennybridge", "parts.db")));
  await page.getByRole("button", { name: /^resistor/ }).click();
  await page.locator(".list tbody tr", { hasText: "RX-5" }).locator(".tag", { hasText: "yours" }).waitFor();
  assert.deepEqual(page.errors, []);
});
