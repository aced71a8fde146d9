// Pictures of every view at two sizes, light and dark, and each view on paper, to be looked at. With "docs" those of docs/pictures.
//
//     node tests/desk/browser/pictures.mjs target/tools/browser ADDRESS FOLDER [docs]

import { mkdirSync } from "node:fs";
import { createRequire } from "node:module";

const [tools, address, folder, docs] = process.argv.slice(2);
mkdirSync(folder, { recursive: true });
const { chromium } = createRequire(`${tools}/`)("playwright-core");
const browser = await chromium.launch({ executablePath: "/usr/bin/chromium", args: ["--no-sandbox", "--disable-gpu"] });
const button = (page, name) => page.getByRole("button", { name, exact: true });
const settled = (page) => page.waitForTimeout(900);

const VIEWS = {
  begin: (page) => button(page, "Begin").click(),
  see: (page) => button(page, "See").click(),
  zone: async (page) => {
    await button(page, "See").click();
    await button(page, "Open zone 1").click();
  },
  layer: async (page) => {
    await button(page, "Back to the first sheet").click();
    await page.getByLabel("Show", { exact: true }).selectOption({ index: 1 });
  },
  flat: async (page) => {
    const layers = page.getByLabel("Show", { exact: true });
    const count = await layers.locator("option").count();
    for (let at = 1; at < count; at += 1) {
      await layers.selectOption({ index: at });
      await page.waitForTimeout(400);
      if (await page.locator("#not-drawn").isVisible()) return;
    }
  },
  "what-if": async (page) => {
    await page.getByLabel("Show", { exact: true }).selectOption({ index: 0 });
    await button(page, "What if").click();
    const budget = page.locator('[data-key="budget.limit"]');
    await budget.fill("30");
    await budget.press("Tab");
    await page.waitForTimeout(1500);
  },
  "say-why": async (page) => {
    await button(page, "Undo").click();
    await page.waitForTimeout(1500);
    await button(page, "Say why").click();
    await page.getByLabel("Where", { exact: true }).selectOption({ label: "a place that I draw on the map" });
    const svg = page.locator("#map svg");
    await svg.scrollIntoViewIfNeeded();
    const box = await svg.boundingBox();
    const [x, y, side] = [box.x + box.width / 2, box.y + box.height * 0.6, Math.min(box.width, box.height) / 8];
    for (const [dx, dy] of [[-1, -1], [1, -0.7], [0.8, 1], [-0.9, 0.8]]) await page.mouse.click(x + dx * side, y + dy * side);
  },
  take: (page) => button(page, "Take").click(),
  after: (page) => button(page, "After").click(),
};

/** The pictures of the README and the docs: the views that are named, each under its name there. */
async function ofDocs([width, height], names) {
  const page = await browser.newPage({ viewport: { width, height }, colorScheme: "light" });
  await page.goto(address);
  await page.waitForFunction(() => Number(document.documentElement.dataset.answered ?? 0) > 0);
  for (const [view, name] of Object.entries(names)) {
    await VIEWS[view](page);
    await settled(page);
    await page.screenshot({ path: `${folder}/${name}.png` });
  }
  await page.close();
}

if (docs) {
  await ofDocs([1440, 900], { see: "desk", "what-if": "desk-what-if", "say-why": "desk-say-why" });
  await ofDocs([390, 844], { see: "desk-phone" });
}
for (const scheme of docs ? [] : ["light", "dark"]) {
  for (const [width, height] of [[1920, 1080], [390, 844]]) {
    const context = await browser.newContext({ viewport: { width, height }, colorScheme: scheme });
    const page = await context.newPage();
    await page.goto(address);
    await page.waitForFunction(() => Number(document.documentElement.dataset.answered ?? 0) > 0);
    for (const [name, go] of Object.entries(VIEWS)) {
      await go(page);
      await settled(page);
      await page.screenshot({ path: `${folder}/${name}-${width}-${scheme}.png` });
      await page.screenshot({ path: `${folder}/${name}-${width}-${scheme}-full.png`, fullPage: true });
      if (scheme === "light" && width === 1920) await page.pdf({ path: `${folder}/${name}.pdf`, format: "A4", printBackground: true });
    }
    if (scheme === "light" && width === 1920) {
      const plan = await page.evaluate(async () => (await (await fetch("/api/state")).json()).plan);
      const id = await page.evaluate(async (own) => (await (await fetch("/api/answer", { method: "POST", body: JSON.stringify({ plan: own }) })).json()).id, plan);
      await page.goto(new URL(`/api/answers/${id}/report`, address).href);
      await page.pdf({ path: `${folder}/report.pdf`, format: "A4", printBackground: true });
    }
    await context.close();
  }
}
await browser.close();
