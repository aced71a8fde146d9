// Measures in the browser what a change takes, from the change to the drawn answer; prints medians as lines of text. Nothing is asserted.
//
//     cargo run -- desk --no-open PLAN                       # prints the address
//     node tests/desk/browser/timing.mjs target/tools/browser ADDRESS [TIMES]
//
// The keys are those of the invented sample. With a million readings: see million.mjs beside this file.

import { createRequire } from "node:module";

const [tools, address, times = "15"] = process.argv.slice(2);
const { chromium } = createRequire(`${tools}/`)("playwright-core");
const browser = await chromium.launch({ executablePath: "/usr/bin/chromium", args: ["--no-sandbox", "--disable-gpu"] });
const page = await browser.newPage({ viewport: { width: 1280, height: 900 } });
page.setDefaultTimeout(300000);

const start = performance.now();
await page.goto(address);
await page.waitForFunction(() => Number(document.documentElement.dataset.answered ?? 0) > 0);
console.log(`first answer drawn after ${(performance.now() - start).toFixed(0)} ms, Chromium ${browser.version()}`);
await page.getByRole("button", { name: "What if", exact: true }).click();
await page.locator('[data-key="budget.limit"]').waitFor();

/** One change: from the change to the second frame after the answer was drawn, and where that time went. */
const once = (selector, value) =>
  page.evaluate(
    async ([own, text]) => {
      const input = document.querySelector(own);
      if (!input) return null;
      const root = document.documentElement;
      const before = root.dataset.answered;
      performance.clearResourceTimings();
      const begun = performance.now();
      input.value = text;
      input.dispatchEvent(new Event("change", { bubbles: true }));
      await new Promise((done) => {
        const watch = new MutationObserver(() => root.dataset.answered !== before && (watch.disconnect(), done()));
        watch.observe(root, { attributes: true });
      });
      await new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)));
      const all = performance.now() - begun;
      const asked = performance.getEntriesByType("resource").filter((entry) => entry.name.endsWith("/api/answer")).at(-1);
      const spent = Object.fromEntries((asked?.serverTiming ?? []).map(({ name, duration }) => [name, duration]));
      return { all, http: asked ? asked.responseEnd - asked.startTime : NaN, bytes: asked?.encodedBodySize ?? 0, ...spent };
    },
    [selector, value],
  );

const median = (numbers) => [...numbers].sort((a, b) => a - b)[Math.floor(numbers.length / 2)];
const threshold = await page.evaluate(() => [...document.querySelectorAll("[data-key]")].map((own) => own.dataset.key).find((key) => !key.includes(".")));
const now = Number(await page.locator(`[data-key="${threshold}"]`).first().inputValue());
const kinds = [
  ["a price", "prices.lime", (at) => String(20 + at)],
  ["the budget", "budget.limit", (at) => String(30 + at)],
  ["the count of zones", "zones.count", (at) => String([8, 9, 10, 11, 12][at % 5])],
  [`a threshold (${threshold})`, threshold, (at) => String(now * (1 + 0.01 * (at + 1)))],
  ["the tank", "machine.tank", (at) => String(200 + 10 * at)],
];
for (const [what, key, value] of kinds) {
  const found = [];
  for (let at = 0; at < Number(times); at += 1) {
    const one = await once(`[data-key="${key}"]`, value(at));
    if (one) found.push(one);
  }
  if (!found.length) {
    console.log(`${what}: no control of this field`);
    continue;
  }
  const of = (name) => median(found.map((own) => own[name] ?? NaN)).toFixed(0);
  const drawing = median(found.map((own) => own.all - own.http)).toFixed(0);
  console.log(`${what}: ${of("all")} ms in all; engine ${of("engine")}, desk ${of("desk")}, JSON ${of("json")}, page ${drawing}; ${of("bytes")} bytes (${found.length} times)`);
  await takeBack();
}

/** Takes back what was tried, so that each kind is measured alone. */
async function takeBack() {
  for (let at = 0; at < Number(times) + 2; at += 1) {
    const slip = page.locator("#slip-says");
    if (!(await slip.isVisible()) || !(await slip.innerText()).includes("not kept")) return;
    const before = await page.evaluate(() => document.documentElement.dataset.answered);
    await page.getByRole("button", { name: "Undo", exact: true }).click();
    await page.waitForFunction((old) => document.documentElement.dataset.answered !== old, before);
  }
}
await browser.close();
