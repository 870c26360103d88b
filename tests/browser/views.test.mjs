// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Every view, light and dark, at 1280 by 720 and as wide as a phone: nothing serious that axe finds, nothing
// wider than the screen, and a picture of it, in PB_BUILD_DIR/pictures. With PB_README set the README's
// own pictures are taken anew as well.
import assert from "node:assert/strict";
import { mkdirSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { allParts, fewParts, kProof_ms, openPage, root, search, startBrowser, startDesk, stepCapture, stopAll, takeExample } from "./desk.mjs";

const axe = readFileSync(new URL("./node_modules/axe-core/axe.min.js", import.meta.url), "utf8");
const pictures = join(process.env.PB_BUILD_DIR || root, "pictures");
const inReadme = process.env.PB_README ? ["brief", "circuits", "circuit", "waves"] : [];
const sizes = { wide: { width: 1280, height: 720 }, phone: { width: 390, height: 844 } };

let browser, desk, page, brief, designed, bought;
before(async () => {
  mkdirSync(pictures, { recursive: true });
  browser = await startBrowser();
  const data = fewParts();
  desk = await startDesk(undefined, data);
  writeFileSync(join(desk.folder, "step.csv"), stepCapture());
  page = await openPage(browser, desk.url, { bypassCSP: true });
  await takeExample(page);
  brief = page.url();
  await search(page);
  allParts(data);
  designed = await page.locator(".ranked a").first().getAttribute("href");
  bought = await page.locator(".ranked tbody tr", { has: page.locator(".tag") }).locator("a").first().getAttribute("href");
  await page.goto(desk.url + designed);
  await page.getByRole("tab", { name: "Proof" }).click();
  await page.waitForSelector(".margins", { timeout: kProof_ms });
});
after(async () => {
  stopAll();
  await browser.close();
});

const tab = (name, ready) => async (page) => {
  await page.getByRole("tab", { name }).click();
  await page.waitForSelector(ready, { timeout: kProof_ms });
};
const views = {
  start: { at: () => "#/" },
  brief: { at: () => brief.split("/").slice(3).join("/"), ready: ".field" },
  "brief-wrong": {
    at: () => brief.split("/").slice(3).join("/"),
    ready: ".field",
    act: async (page) => {
      const text = page.getByLabel("The brief as TOML");
      await text.fill((await text.inputValue()).replace(/^voltage = .*$/m, 'voltage = "9 parsecs"'));
      await page.waitForSelector(".messages");
    },
    undo: async (page) => {
      await page.getByRole("button", { name: "Undo" }).click();
      await page.getByText("· saved").waitFor();
    },
  },
  circuits: { at: () => brief.split("/").slice(3).join("/").replace("#/brief/", "#/circuits/"), ready: "table" },
  beside: {
    at: () => brief.split("/").slice(3).join("/").replace("#/brief/", "#/circuits/"),
    ready: "table",
    act: async (page) => {
      const boxes = page.getByRole("checkbox", { name: /^Compare / });
      for (const k of [0, 1]) await boxes.nth(k).check();
      await page.waitForSelector(".beside tbody tr");
    },
  },
  heat: {
    at: () => designed,
    ready: ".schematic",
    act: async (page) => {
      await page.getByRole("button", { name: "temperatures" }).click();
      await page.getByText("The warmer of moving").waitFor();
    },
  },
  circuit: {
    at: () => designed,
    ready: ".schematic",
    act: async (page) => {
      await page.getByRole("button", { name: "Next state" }).click();
      await page.waitForSelector(".flows .wire", { state: "attached", timeout: kProof_ms });
    },
  },
  swap: {
    at: () => designed,
    ready: ".schematic",
    act: async (page) => {
      await page.locator(".parts tbody button").last().click();
      await page.waitForSelector("#swap");
      await page.getByRole("region", { name: "Other parts", exact: true }).waitFor();
    },
  },
  waves: { at: () => designed, ready: ".strip", act: tab("Waveforms", ".wave canvas") },
  proof: {
    at: () => designed,
    ready: ".strip",
    act: async (page) => {
      await tab("Proof", ".margins")(page);
      await page.waitForSelector(".flow", { timeout: kProof_ms });
      await page.locator(".margins tbody button").first().click();
    },
  },
  corner: {
    at: () => designed,
    ready: ".strip",
    act: async (page) => {
      await tab("Proof", ".margins")(page);
      await page.getByRole("button", { name: "switch voltage" }).first().click();
      await page.getByRole("button", { name: "Show its waveforms" }).click();
      await page.getByText("Thin lines: at the worst corner").waitFor();
      await page.waitForSelector(".wave canvas");
    },
  },
  faults: {
    at: () => designed,
    ready: ".strip",
    act: async (page) => {
      await page.getByRole("tab", { name: "Proof" }).click();
      await page.getByRole("button", { name: "Try every fault" }).click();
      await page.waitForSelector(".byclass", { timeout: kProof_ms });
      await page.waitForSelector("svg.heat");
    },
  },
  bench: {
    at: () => designed,
    ready: ".strip",
    act: async (page) => {
      await page.getByRole("tab", { name: "Bench" }).click();
      await page.getByRole("option", { name: "step.csv" }).waitFor({ state: "attached" });
      await page.locator("select", { has: page.getByRole("option", { name: "step.csv" }) }).selectOption("step.csv");
      await page.waitForFunction(() => document.querySelectorAll(".columns li").length === 2);
      await page.locator(".columns select").nth(0).selectOption("voltage_V");
      await page.locator(".columns select").nth(1).selectOption("current_A");
      await page.getByRole("button", { name: "Identify" }).click();
      await page.getByRole("region", { name: "Figures of the motor" }).waitFor({ timeout: kProof_ms });
    },
  },
  parts: { at: () => "#/parts", ready: ".list tbody tr" },
  // Of a chip: its units and its torque look the same, and take a third of the time.
  units: {
    at: () => bought,
    ready: ".strip",
    act: async (page) => {
      await tab("Proof", ".margins")(page);
      await page.getByRole("button", { name: "Draw" }).click();
      await page.waitForSelector(".torquecurve", { timeout: kProof_ms });
      await page.getByLabel("Build", { exact: true }).selectOption("100");
      await page.getByRole("button", { name: "Run", exact: true }).click();
      await page.waitForSelector(".spreads", { timeout: kProof_ms });
      await page.locator(".spreads button").first().click();
      await page.waitForSelector(".unit", { timeout: kProof_ms });
    },
  },
};

/** Lines are drawn anew in the frames after a change of the screen: its notice, its effect, its drawing. */
const drawn = (page) =>
  page.evaluate(async () => {
    for (let k = 0; k < 4; ++k) await new Promise(requestAnimationFrame);
  });

/** Violations axe calls serious or critical, as lines. */
async function serious(page) {
  const found = await page.evaluate(async (source) => {
    if (!window.axe) new Function(source)(); // not as a script element: the page's policy forbids it
    return (await window.axe.run(document, { resultTypes: ["violations"] })).violations;
  }, axe);
  return found
    .filter((v) => v.impact === "serious" || v.impact === "critical")
    .map((v) => `${v.id}: ${v.help}: ${v.nodes.map((n) => n.target.join(" ") + " " + n.failureSummary).join("; ")}`);
}

test("axe finds what is planted", async () => {
  const page = await openPage(browser, desk.url, { bypassCSP: true });
  await page.evaluate(() => document.querySelector("main").append(document.createElement("button")));
  assert.match((await serious(page)).join(), /button-name/);
  await page.context().close();
});

// One page for all, since axe's first run in a page takes as long as several. From the start view
// each view is built anew, whatever was done in the one before.
for (const [name, view] of Object.entries(views))
  test(name, async (t) => {
    page.errors.length = 0;
    await page.emulateMedia({ colorScheme: "light" });
    await page.setViewportSize(sizes.wide);
    await page.goto(desk.url + "#/");
    await page.waitForSelector(".start");
    await page.goto(desk.url + view.at());
    if (view.ready) await page.waitForSelector(view.ready, { timeout: kProof_ms });
    if (view.act) await view.act(page);
    await page.waitForFunction(() => !document.querySelector(".jobs"), undefined, { timeout: kProof_ms });
    // A page follows the screen it is on: opened once, it is turned round in front of its reader.
    for (const colorScheme of ["light", "dark"])
      for (const [size, viewport] of Object.entries(sizes))
        await t.test(`${name}, ${colorScheme}, ${size}`, async () => {
          await page.emulateMedia({ colorScheme });
          await page.setViewportSize(viewport);
          await drawn(page);
          await page.screenshot({ path: join(pictures, `${name}-${colorScheme}-${size}.png`), fullPage: true });
          if (inReadme.includes(name) && colorScheme === "light" && size === "wide")
            await page.screenshot({ path: join(root, "docs", "pictures", `${name}.png`) });
          assert.deepEqual(await serious(page), []);
          const wide = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
          assert.ok(wide <= 0, `the page is ${wide} pixels wider than the screen`);
        });
    if (view.undo) await view.undo(page);
    assert.deepEqual(page.errors, []);
  });

test("designs and chips are ranked, compared, and what differs is marked", async () => {
  const page = await openPage(browser, desk.url + views.beside.at());
  await page.waitForSelector(".ranked");
  assert.match(await page.locator(".ranked tbody tr td:nth-child(4)").first().innerText(), /^[\d.]+ mm²$/, "ranked with their area");
  const boxes = page.getByRole("checkbox", { name: /^Compare / });
  assert.ok((await boxes.count()) >= 2, "designs and chips can be compared");
  for (const k of [0, 1]) await boxes.nth(k).check();
  await page.locator(".beside tbody tr").first().waitFor();
  const rows = await page.locator(".beside tbody tr").evaluateAll((list) =>
    list.map((tr) => ({ marked: tr.matches(".differs"), name: tr.querySelector("th").textContent, cells: [...tr.querySelectorAll("td")].map((td) => td.textContent) })),
  );
  assert.ok(rows.length > 10);
  for (const { marked, name, cells } of rows) {
    assert.equal(cells.length, 2);
    assert.equal(marked, cells[0] !== cells[1], name);
    assert.equal(name.startsWith("≠"), marked, name);
  }
  const cost = rows.find((r) => r.name.endsWith("landed cost"));
  const ranked = await page.locator(".ranked tbody tr").evaluateAll((list) => list.filter((tr) => tr.querySelector("input:checked")).map((tr) => tr.querySelector("td.strong").textContent));
  assert.deepEqual(cost.cells, ranked, "the same money as in the ranking");
  await page.getByRole("region", { name: "Landed cost over quantity, as lines" }).waitFor();
  assert.ok((await page.locator(".trade .point").count()) >= 2, "the plot has a point a design");
  // What failed nearest, and what it would have cost.
  assert.match(await page.locator(".misses tbody tr").first().innerText(), /[\d.]+ USD/);
  assert.deepEqual(page.errors, []);
  await page.context().close();
});

test("a proof prints well", async () => {
  const page = await openPage(browser, desk.url + designed, { viewport: { width: 718, height: 1016 }, colorScheme: "dark" }); // A4 within its margins
  await page.waitForSelector(".strip");
  await views.proof.act(page);
  await page.emulateMedia({ media: "print" });
  await page.evaluate(() => window.dispatchEvent(new Event("beforeprint")));
  for (const name of [".top nav", ".try", ".tabs"]) assert.ok(!(await page.locator(name).first().isVisible()), `${name} is not on paper`);
  const ground = await page.evaluate(() => getComputedStyle(document.body).color);
  assert.match(ground, /rgb\((\d\d?), (\d\d?), (\d\d?)\)/, "dark ink on white, whatever the screen has");
  const wide = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
  assert.ok(wide <= 0, `${wide} pixels wider than the paper`);
  await page.screenshot({ path: join(pictures, "proof-paper.png"), fullPage: true });
  const pdf = await page.pdf({ format: "A4" });
  assert.equal(pdf.subarray(0, 5).toString(), "%PDF-");
  await page.context().close();
});
