// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// One design: sliders, cursors, swapping a part, keeping a changed design, stopping a proof, all of
// it by keyboard.
import assert from "node:assert/strict";
import { existsSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { kProof_ms, openPage, startBrowser, startDesk, stopAll, stopper, takeExample } from "./desk.mjs";

let browser, desk, page;
before(async () => {
  browser = await startBrowser();
  desk = await startDesk();
  page = await openPage(browser, desk.url);
  await takeExample(page, "design");
  await page.getByRole("tab", { name: "Waveforms" }).click();
  await page.waitForSelector("[data-picture]", { timeout: kProof_ms });
});
after(async () => {
  stopAll();
  await browser.close();
});

const picture = () => page.locator("[data-picture]").getAttribute("data-picture");
const newPicture = (old) =>
  page.waitForFunction((h) => document.querySelector("[data-picture]")?.getAttribute("data-picture") !== h, old);

test("the trap is shown as failing, with the check that says why", async () => {
  await page.getByRole("tab", { name: "Proof" }).click();
  await page.waitForSelector(".margins", { timeout: kProof_ms });
  assert.equal(await page.locator(".strip .mark.fails").count(), 1);
  const row = page.locator("tr.failing", { hasText: "gate drive on" }).first();
  await row.getByRole("button").click();
  await page.getByText("winding loss typ").waitFor();
  await page.getByRole("tab", { name: "Waveforms" }).click();
  assert.deepEqual(page.errors, []);
});

test("a slider moved by keyboard gives a new picture and a new proof", async () => {
  const old = await picture();
  const slide = page.getByLabel("step rate", { exact: true });
  await slide.focus();
  for (let k = 0; k < 5; ++k) await page.keyboard.press("ArrowRight");
  await newPicture(old);
  await page.getByText("Proof of these values").waitFor();
  await page.getByRole("button", { name: /^step rate back to/ }).click();
  await page.waitForFunction((h) => document.querySelector("[data-picture]")?.getAttribute("data-picture") === h, old);
  assert.deepEqual(page.errors, []);
});

/** "-12.3 mA" as a number. */
function read(text) {
  const [, number, unit = ""] = text.match(/^(-?[\d.e-]+)\s*(.*)$/);
  const prefix = { k: 1e3, m: 1e-3, µ: 1e-6, n: 1e-9, p: 1e-12 };
  return Number(number) * (unit.length > 1 ? (prefix[unit[0]] ?? 1) : 1);
}

test("cursors read what the server has at that time, zoomed in or not", async () => {
  const rows = await page.evaluate(
    (h) => fetch(`/api/waves?picture=${h}&points=4000`).then((r) => r.json()),
    await picture(),
  );
  assert.equal(rows.t.length, rows.rows, "every step of the run is there");
  const at = (name, t) => {
    const y = rows.series.find((s) => s.name === name).y;
    const k = Math.max(1, rows.t.findIndex((x) => x >= t));
    return y[k - 1] + ((y[k] - y[k - 1]) * (t - rows.t[k - 1])) / (rows.t[k] - rows.t[k - 1]);
  };
  const window = await page.locator(".tools .soft").innerText();
  for (const zoomed of [false, true]) {
    if (zoomed) await page.getByRole("button", { name: "Zoom in" }).click();
    await page.waitForTimeout(500); // the detail has come from the server
    await page.getByLabel("Cursor A").fill("250");
    await page.getByLabel("Cursor B").fill("750");
    const heads = await page.locator(".readings thead th").allInnerTexts();
    const [a, b] = [heads[1], heads[2]].map((h) => read(h.slice(2)));
    assert.ok(b > a);
    const cells = await page.locator(".readings tbody tr", { hasText: "winding a" }).locator("td").allInnerTexts();
    const most = Math.max(...rows.series[0].y.map(Math.abs));
    assert.ok(Math.abs(read(cells[0]) - at("winding a", a)) < 0.01 * most, `${cells[0]} against ${at("winding a", a)}`);
    assert.ok(Math.abs(read(cells[2]) - (read(cells[1]) - read(cells[0]))) < 0.01 * most, "the difference is B less A");
  }
  assert.notEqual(await page.locator(".tools .soft").innerText(), window);
  await page.getByRole("button", { name: "All" }).click();
  assert.equal(await page.locator(".tools .soft").innerText(), window);
  assert.deepEqual(page.errors, []);
});

test("a part is swapped, and the changed design kept as a file of its own", async () => {
  await page.getByRole("tab", { name: "Circuit and parts" }).click();
  await page.locator(".parts tbody tr", { hasText: "FET" }).first().getByRole("button").click();
  const others = page.getByRole("region", { name: "Other parts", exact: true });
  const use = others.getByRole("button", { name: "Use" }).first();
  await use.waitFor();
  const number = await others.locator("tr", { has: page.getByRole("button", { name: "Use" }) }).first().locator("th").innerText();
  await use.click();
  await page.locator(".swap", { hasText: number }).waitFor();
  await page.locator(".parts", { hasText: number }).waitFor();
  await page.getByRole("button", { name: "Keep as a new design" }).click();
  await page.getByLabel("File", { exact: true }).fill("kept.toml");
  // By key, as one does after typing: the proof of the swap ends about now, and moves what is below it.
  await page.keyboard.press("Enter");
  await page.waitForURL(/design\/kept\.toml/);
  await page.waitForSelector(".strip");
  assert.ok(existsSync(join(desk.folder, "kept.toml")));
  assert.ok(readFileSync(join(desk.folder, "kept.toml"), "utf8").includes(number));
  assert.deepEqual(page.errors, []);
});

test("what is shown is downloaded, with what is tried in it", async () => {
  const own = await openPage(browser, desk.url + "#/design/kept.toml");
  await own.getByRole("heading", { name: "Files" }).waitFor({ timeout: kProof_ms });
  const old = await own.getByRole("link", { name: "Bill of materials" }).getAttribute("href");
  await own.getByLabel("step rate", { exact: true }).focus();
  await own.keyboard.press("ArrowRight");
  await own.waitForFunction((h) => !document.querySelector(`.files a[href="${h}"]`), old);
  const files = {};
  for (const name of ["Bill of materials", "Design file", "Waveforms", "Schematic"]) {
    const [download] = await Promise.all([own.waitForEvent("download"), own.locator(".files").getByRole("link", { name }).click()]);
    files[download.suggestedFilename()] = readFileSync(await download.path(), "utf8");
  }
  assert.match(files["bom.csv"], /^refs,quantity,number,description,package,unit_price,line_cost,currency/);
  assert.match(files["schematic.svg"], /^<svg [\s\S]*data-ref="Q1"/);
  const rate = (text) => text.match(/^rate = "(.*)"$/m)[1];
  assert.notEqual(rate(files["design.toml"]), rate(readFileSync(join(desk.folder, "kept.toml"), "utf8")), "the rate that is tried");
  // The waveforms are those of the picture, every row of them; columns as the command line writes them.
  const hash = (await own.getByRole("link", { name: "Bill of materials" }).getAttribute("href")).match(/picture=([0-9a-f]+)/)[1];
  const { rows } = await own.evaluate((h) => fetch(`/api/waves?picture=${h}&points=50`).then((r) => r.json()), hash);
  const lines = files["waveforms.csv"].trimEnd().split("\n");
  assert.match(lines[0], /^t_s,winding_a_A,winding_b_A,rail_V,supply_A,theta_rad,speed_rad_s,torque_Nm,/);
  assert.equal(lines.length, rows + 1);
  await own.getByRole("tab", { name: "Waveforms" }).click();
  const [csv] = await Promise.all([own.waitForEvent("download"), own.getByRole("link", { name: "As CSV" }).click()]);
  assert.equal(readFileSync(await csv.path(), "utf8"), files["waveforms.csv"]);
  assert.deepEqual(own.errors, []);
  await own.context().close();
});

test("a proof that waits its turn is stopped, and what it waits for", async () => {
  await page.getByRole("tab", { name: "Proof" }).click();
  await page.getByLabel("Build", { exact: true }).selectOption("3000");
  await page.getByRole("button", { name: "Run", exact: true }).click();
  await stopper(page, "Building units").waitFor();
  await page.getByLabel("supply", { exact: true }).focus();
  await page.keyboard.press("ArrowLeft");
  await stopper(page, "Proving").first().click();
  await stopper(page, "Building units").click();
  await page.waitForFunction(() => !document.querySelector(".jobs"), undefined, { timeout: kProof_ms });
  assert.deepEqual(page.errors, []);
});

test("units are built, stopped, built again, and a failing one opened", async () => {
  const own = await openPage(browser, desk.url);
  await takeExample(own, "design"); // the trap: every unit of it fails
  await own.getByRole("tab", { name: "Proof" }).click();
  await own.waitForSelector(".margins", { timeout: kProof_ms });
  const build = own.getByLabel("Build", { exact: true });
  await build.selectOption("3000");
  await own.getByRole("button", { name: "Run", exact: true }).click();
  await stopper(own, "Building units").click();
  await own.getByText("Stopped.").waitFor({ timeout: kProof_ms });
  await build.selectOption("100");
  await own.getByRole("button", { name: "Run", exact: true }).click();
  await own.getByText("100 of 100 fail").waitFor({ timeout: kProof_ms });
  await own.getByText("Open a failing unit").getByRole("button").first().click();
  await own.locator(".unit tr.failing", { hasText: "gate drive on" }).first().waitFor({ timeout: kProof_ms });
  assert.deepEqual(own.errors, []);
  // What was found is kept when the page is closed: another page of the same design has it at once.
  const url = own.url();
  await own.context().close();
  const again = await openPage(browser, url);
  await again.getByRole("tab", { name: "Proof" }).click();
  await again.getByText("100 of 100 fail").waitFor({ timeout: kProof_ms });
  assert.equal(await again.getByLabel("Build", { exact: true }).inputValue(), "100");
  await again.getByText("Open a failing unit").getByRole("button").first().click();
  await again.locator(".unit").waitFor({ timeout: kProof_ms });
  const figures = again.locator(".unit details");
  await figures.locator("summary").click();
  const drawn = await figures.innerText();
  await again.getByRole("button", { name: "Show its waveforms" }).click();
  await again.getByText(/Thin lines: at virtual unit \d+/).waitFor({ timeout: kProof_ms });
  await again.waitForSelector(".wave canvas");
  // Both are read at a cursor, and the unit's rail is what the unit was drawn with, not the typical one.
  await again.getByLabel("Cursor A").fill("990");
  const rail = async (text) => {
    const row = again.locator(".readings tbody tr").filter({ has: again.getByRole("rowheader", { name: text, exact: true }) });
    return read(await row.locator("td").first().innerText());
  };
  const supply = Number(drawn.match(/supply[_ ]voltage\s+([\d.]+)/)[1]);
  const [typical, thin] = [await rail("rail"), await rail("rail, thin line")];
  assert.ok(Math.abs(thin - supply) < Math.abs(typical - supply) || Math.abs(typical - supply) < 1e-3 * supply, `${thin} of ${supply}, ${typical}`);
  assert.deepEqual(again.errors, []);
  await again.context().close();
});

test("by keyboard alone from the first view to a design", async () => {
  const own = await openPage(browser, desk.url);
  const press = async (name, role) => {
    for (let k = 0; k < 80; ++k) {
      await own.keyboard.press("Tab");
      const at = await own.evaluate(() => {
        const e = document.activeElement;
        return { text: e?.textContent ?? "", tag: e?.tagName ?? "", outline: e ? getComputedStyle(e).outlineStyle : "" };
      });
      if (at.text.includes(name) && at.tag === role) {
        assert.notEqual(at.outline, "none", `${name} shows that it has the focus`);
        return own.keyboard.press("Enter");
      }
    }
    throw new Error(`${name} cannot be reached by Tab`);
  };
  await press("design", "BUTTON");
  await own.waitForSelector(".tabs");
  await press("Circuit and parts", "BUTTON");
  await own.keyboard.press("ArrowRight");
  await own.waitForSelector("[data-picture]", { timeout: kProof_ms });
  await own.keyboard.press("ArrowRight");
  assert.equal(await own.getByRole("tab", { name: "Proof" }).getAttribute("aria-selected"), "true");
  // Back to the parts, one of them picked, and another taken instead.
  for (let k = 0; k < 2; ++k) await own.keyboard.press("ArrowLeft");
  await own.waitForSelector(".parts");
  await press("Q1", "BUTTON");
  await own.getByRole("region", { name: "Other parts", exact: true }).getByRole("button", { name: "Use" }).first().waitFor();
  await own.keyboard.press("Shift+Tab");
  await press("Use", "BUTTON");
  await own.locator(".swap").waitFor();
  assert.deepEqual(own.errors, []);
});
