// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The brief: by the form alone from nothing to a proven design; text and form in step; undo; a file
// changed behind the page's back.
import assert from "node:assert/strict";
import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { fewParts, kProof_ms, openPage, search, startBrowser, startDesk, stopAll, takeExample } from "./desk.mjs";

let browser;
before(async () => (browser = await startBrowser()));
after(async () => {
  stopAll();
  await browser.close();
});

const text = (page) => page.getByLabel("The brief as TOML");
const field = (page, name) => page.locator(`[id="key-${name}"]`);
// Changes closer together than this are one step of undo.
const pause = () => new Promise((resolve) => setTimeout(resolve, 900));
const saved = (page) => page.getByText("· saved").waitFor();

// A small hybrid motor at 12 V, by figures any catalogue of motors has.
const brief = {
  title: "By the form alone",
  "motor.winding_resistance": "30 ohm",
  "motor.winding_inductance": "37 mH",
  "motor.steps_per_turn": "200 steps",
  "motor.holding_torque": "0.26 N m",
  "motor.rated_current": "0.4 A",
  "motor.thermal_resistance": "6 K/W",
  "load.torque": "20 mN m",
  "motion.rate": "150 steps/s",
  "supply.voltage": "12 V",
  "supply.tolerance": "5 %",
  "controller.logic_voltage": "3.3 V",
  "ambient.min": "0 degC",
  "ambient.max": "40 degC",
  "build.quantity": "2000",
};

test("from an empty folder to a proven design by the form alone", async () => {
  const desk = await startDesk(undefined, fewParts());
  const page = await openPage(browser, desk.url);
  await page.getByRole("button", { name: "Empty brief" }).click();
  await page.waitForSelector(".field");
  const find = page.getByRole("button", { name: "Find the cheapest driver" });
  assert.ok(await find.isDisabled(), "an empty brief can not be searched");
  for (const [key, value] of Object.entries(brief)) {
    await field(page, key).fill(value);
    await field(page, key).blur();
    await page.waitForFunction(([v]) => document.querySelector(".editor textarea").value.includes(v), [value]);
  }
  await page.getByText("The brief is complete.").waitFor();
  await saved(page);
  await search(page);
  await page.getByText(/^(Build it for|Buy the chip)/).waitFor();
  await page.getByRole("link", { name: "Open the design" }).click();
  await page.getByRole("tab", { name: "Proof" }).click();
  await page.waitForSelector(".margins", { timeout: kProof_ms });
  assert.equal(await page.locator(".strip .mark.passes").count(), 1);
  await page.getByRole("button", { name: "Hand it over" }).click();
  const all = page.getByRole("link", { name: "Everything as one file" });
  await all.waitFor({ timeout: kProof_ms });
  const [zip] = await Promise.all([page.waitForEvent("download"), all.click()]);
  assert.equal(readFileSync(await zip.path()).subarray(0, 2).toString(), "PK");
  const [download] = await Promise.all([
    page.waitForEvent("download"),
    page.goBack().then(() => page.getByRole("link", { name: "Bill of materials" }).click()),
  ]);
  const bom = readFileSync(await download.path(), "utf8");
  assert.match(bom, /^refs,quantity,number,description,package,unit_price,line_cost,currency/);
  assert.ok(bom.split("\n").length > 3);
  assert.deepEqual(page.errors, []);
  await desk.stop();
});

test("text and form are in step, comments and order survive, undo goes back", async () => {
  const desk = await startDesk();
  const page = await openPage(browser, desk.url);
  await takeExample(page);
  const file = decodeURIComponent(page.url().split("#/brief/")[1]);
  const first = await text(page).inputValue();
  assert.match(first, /# An invented scenario/);
  // The form changes one region of the text.
  await field(page, "supply.voltage").fill("9 V");
  await field(page, "supply.voltage").blur();
  await page.waitForFunction(() => /^voltage = "9 V"$/m.test(document.querySelector(".editor textarea").value));
  const second = await text(page).inputValue();
  assert.equal(second, first.replace(/^voltage = "[^"]*"$/m, 'voltage = "9 V"'));
  await pause();
  // The text changes the form; what is wrong is said with the command line's own words.
  await text(page).fill(second.replace('"9 V"', '"9 parsecs"'));
  await page.locator(".field.bad [id='key-supply.voltage']").waitFor();
  assert.equal(await field(page, "supply.voltage").inputValue(), "9 parsecs");
  assert.match(await page.locator(".messages").innerText(), /\.toml:\d+:\d+: supply\.voltage: expected a voltage/);
  await pause();
  // Not TOML at all: the sheet waits.
  await text(page).fill("[motor\n" + second);
  await page.getByText("The text is not TOML").waitFor();
  assert.ok(await field(page, "supply.voltage").isDisabled());
  for (let k = 0; k < 3; ++k) await page.getByRole("button", { name: "Undo" }).click();
  await page.waitForFunction((t) => document.querySelector(".editor textarea").value === t, first);
  await page.getByRole("button", { name: "Redo" }).click();
  await page.waitForFunction((t) => document.querySelector(".editor textarea").value === t, second);
  await page.keyboard.press("Control+z");
  await page.waitForFunction((t) => document.querySelector(".editor textarea").value === t, first);
  // An emptied field is a key nobody gives: the default stands, shown as assumed.
  await field(page, "supply.tolerance").fill("");
  await field(page, "supply.tolerance").blur();
  await page.locator(".field.assumed [id='key-supply.tolerance']").waitFor();
  await saved(page);
  assert.equal(readFileSync(join(desk.folder, file), "utf8"), await text(page).inputValue());
  assert.deepEqual(page.errors, []);
  await desk.stop();
});

test("a file changed by something else is noticed, not overwritten", async () => {
  const desk = await startDesk();
  const page = await openPage(browser, desk.url);
  await takeExample(page);
  const file = join(desk.folder, decodeURIComponent(page.url().split("#/brief/")[1]));
  // Nothing edited here: the page follows.
  const theirs = readFileSync(file, "utf8") + "# from elsewhere\n";
  writeFileSync(file, theirs);
  await page.waitForFunction((t) => document.querySelector(".editor textarea").value === t, theirs);
  // Edited here and there: asked, and the file left alone.
  const other = theirs + "# once more\n";
  writeFileSync(file, other);
  await text(page).fill(theirs.replace(/^title = .*$/m, 'title = "Mine"'));
  await page.getByText("The file was changed by something else").waitFor();
  assert.equal(readFileSync(file, "utf8"), other);
  await page.getByRole("button", { name: "Write mine over it" }).click();
  await saved(page);
  assert.match(readFileSync(file, "utf8"), /title = "Mine"/);
  assert.deepEqual(page.errors, []);
  await desk.stop();
});

test("a server that answers late is no other writer", async () => {
  const desk = await startDesk();
  const page = await openPage(browser, desk.url);
  await takeExample(page);
  const file = join(desk.folder, decodeURIComponent(page.url().split("#/brief/")[1]));
  // Each answer to a save comes later than the next save begins.
  await page.route("**/api/file", async (route) => {
    const answer = await route.fetch();
    await new Promise((resolve) => setTimeout(resolve, 1500));
    await route.fulfill({ response: answer });
  });
  for (const title of ["One", "Two", "Three"]) {
    await field(page, "title").fill(title);
    await field(page, "title").blur();
    await page.waitForTimeout(700);
  }
  await saved(page);
  assert.match(readFileSync(file, "utf8"), /^title = "Three"$/m);
  assert.equal(await page.getByText("changed by something else").count(), 0);
  assert.deepEqual(page.errors, []);
  await desk.stop();
});

test("what was saved survives a killed server, and two tabs do not fight", async () => {
  const desk = await startDesk();
  const one = await openPage(browser, desk.url);
  await takeExample(one);
  const file = join(desk.folder, decodeURIComponent(one.url().split("#/brief/")[1]));
  const two = await openPage(browser, one.url());
  await two.waitForSelector(".field");
  await field(one, "title").fill("From the first tab");
  await field(one, "title").blur();
  await saved(one);
  await two.waitForFunction(() => /From the first tab/.test(document.querySelector(".editor textarea").value));
  await field(two, "title").fill("From the second");
  await field(two, "title").blur();
  await one.waitForFunction(() => /From the second/.test(document.querySelector(".editor textarea").value));
  const ended = new Promise((resolve) => desk.child.on("exit", resolve));
  desk.child.kill("SIGKILL");
  await ended;
  assert.match(readFileSync(file, "utf8"), /From the second/);
  await one.getByText("The server does not answer").waitFor();
});
