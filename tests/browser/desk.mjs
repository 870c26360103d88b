// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// What the browser tests share: a desk of their own in an empty folder, and a browser before it.
import assert from "node:assert/strict";
import { spawn } from "node:child_process";
import { copyFileSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { chromium } from "playwright-core";

export const program = process.env.PENNYBRIDGE;
export const root = process.env.PB_SOURCE_DIR;

/** A search may take this long on a busy machine. */
export const kSearch_ms = 180000;
export const kProof_ms = 120000;

const desks = new Set();
// A test that failed leaves no server behind.
process.on("exit", () => desks.forEach((child) => child.kill("SIGKILL")));
/** Ends what a failed test did not. */
export const stopAll = () => desks.forEach((child) => child.kill("SIGKILL"));

/** Of these the vent flap's driver can be built one way of single parts and as two kinds of chip; another way fails narrowly. */
const kShelf = [
  "BC847",
  "BRIDGE-12V-520mR-DFN2x2-a",
  "CER-100nF-25V-0603-a",
  "DUALBRIDGE-24V-950mR-TSSOP16-a",
  "ECAP-100uF-50V-CAN10-a",
  "NFET-20V-400mR-SOT323-a",
  "PFET-20V-700mR-SOT323-a",
  "RES-63mW-1pc-0402-a",
];

/** A data folder with a shelf of few parts, for tests that need a search's result and not its work. */
export function fewParts() {
  const data = mkdtempSync(join(tmpdir(), "desk-data-"));
  mkdirSync(join(data, "parts"));
  const [head, ...rows] = readFileSync(join(root, "parts", "starter.csv"), "utf8").trimEnd().split("\n");
  const shelf = rows.filter((row) => kShelf.includes(row.split(",", 1)[0]));
  assert.equal(shelf.length, kShelf.length, "each part of the shelf is in the starter catalogue");
  writeFileSync(join(data, "parts", "starter.csv"), [head, ...shelf, ""].join("\n"));
  copyFileSync(join(root, "parts", "pricing.toml"), join(data, "parts", "pricing.toml"));
  return data;
}

/** Puts the whole starter catalogue into a data folder, for what comes after the search. */
export const allParts = (data) => copyFileSync(join(root, "parts", "starter.csv"), join(data, "parts", "starter.csv"));

/** A desk on a free port; `folder` is its own unless one is given; `data`: where it takes its parts from. */
export async function startDesk(folder = mkdtempSync(join(tmpdir(), "desk-")), data = root) {
  const store = mkdtempSync(join(tmpdir(), "desk-store-")); // not the user's own parts
  const env = { ...process.env, XDG_DATA_HOME: store, PENNYBRIDGE_DATA: data };
  const child = spawn(program, ["serve", folder, "--port", "0"], { stdio: ["ignore", "ignore", "pipe"], env });
  desks.add(child);
  child.on("exit", () => desks.delete(child));
  const url = await new Promise((resolve, reject) => {
    let said = "";
    child.stderr.on("data", (piece) => {
      said += piece;
      const found = said.match(/http:\/\/127\.0\.0\.1:\d+\//);
      if (found) resolve(found[0]);
    });
    child.on("exit", (code) => reject(new Error(`serve ended with ${code}: ${said}`)));
  });
  return {
    url,
    folder,
    store,
    child,
    async stop(keep = false) {
      const ended = new Promise((resolve) => child.on("exit", resolve));
      child.kill("SIGTERM");
      await ended;
      rmSync(store, { recursive: true, force: true });
      if (!keep) rmSync(folder, { recursive: true, force: true });
    },
  };
}

export async function startBrowser() {
  return chromium.launch({
    executablePath: process.env.PB_CHROMIUM || "/usr/bin/chromium",
    args: [
      "--no-sandbox",
      "--disable-gpu",
      "--disable-quic",
      "--no-first-run",
      "--disable-background-networking",
      "--disable-component-update",
      "--disable-sync",
    ],
  });
}

/** A page of the desk that fails the test on any error of its own. */
export async function openPage(browser, url, options = {}) {
  const context = await browser.newContext({ viewport: { width: 1280, height: 720 }, ...options });
  const page = await context.newPage();
  page.errors = [];
  page.on("pageerror", (error) => page.errors.push(error.message));
  page.on("console", (message) => {
    // Refusals that the desk answers with a message of its own are no fault of the page.
    if (message.type() === "error" && !/status of (404|409|422)/.test(message.text())) page.errors.push(message.text());
  });
  await page.goto(url);
  await page.waitForSelector("h1");
  return page;
}

/** Takes an example and waits for its brief. */
export async function takeExample(page, kind = "brief") {
  await page.locator(".card", { has: page.locator(`.tag:text-is("${kind}")`) }).last().click();
  await page.waitForSelector(kind === "brief" ? ".field" : ".strip");
}

/** From a brief to the ranked designs. */
export async function search(page) {
  await page.getByRole("button", { name: "Find the cheapest driver" }).click();
  await page.waitForURL(/#\/circuits\//, { timeout: kSearch_ms });
  await page.waitForSelector(".ranked");
}

/** The button that stops the work of that name, among all that goes on. */
export const stopper = (page, what) => page.locator(".jobs").getByRole("button", { name: `Stop: ${what}` });

/** What kMotor's winding answers a step of voltage with, as an instrument with a little noise writes it. */
export const kMotor = { volts: 5, ohm: 21.5, henry: 12e-3 };
export function stepCapture({ volts, ohm, henry } = kMotor) {
  let text = "Instrument;model 1\ntime (ms);CH1 (V);CH2 (mA)\n";
  let noise = 1;
  for (let k = 0; k < 1500; ++k) {
    noise = (noise * 48271) % 2147483647; // Park and Miller's generator, Comm. ACM 31 (1988)
    const t = (k - 100) * 1e-5;
    const amps = t > 0 ? (volts / ohm) * (1 - Math.exp((-t * ohm) / henry)) : 0;
    text += `${(t * 1e3).toFixed(4)};${t >= 0 ? volts : 0};${(amps * 1e3 + (noise / 2147483647 - 0.5) * 0.4).toFixed(4)}\n`;
  }
  return text;
}
