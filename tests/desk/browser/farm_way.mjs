// The farm's page: fields as a list and a map, the budget, a field's own desk and the way back. What was seen is told as one line of JSON;
// ../farm_browser.rs judges it.

import { readFileSync } from "node:fs";
import { createRequire } from "node:module";

const [tools, axePath, address, width, height, picture] = process.argv.slice(2);
const require = createRequire(`${tools}/`);
const { chromium } = require("playwright-core");
const axe = readFileSync(axePath, "utf8");
const told = { console: [], outside: [], violations: [], passes: 0, overflow: [] };

const browser = await chromium.launch({ executablePath: "/usr/bin/chromium", args: ["--no-sandbox", "--disable-gpu"] });
const context = await browser.newContext({ viewport: { width: Number(width), height: Number(height) }, hasTouch: Number(width) < 500 });
const page = await context.newPage();
page.setDefaultTimeout(Number(process.env.WAY_TIMEOUT ?? 90000));
page.on("console", (message) => told.console.push(`${message.type()}: ${message.text()}`));
page.on("pageerror", (error) => told.console.push(`error: ${error.message}`));
const home = new URL(address).host;
page.on("request", (request) => {
  const url = new URL(request.url());
  if (["http:", "https:", "ws:", "wss:"].includes(url.protocol) && url.host !== home) told.outside.push(request.url());
});

async function look(step) {
  for (const scheme of ["light", "dark"]) {
    await page.emulateMedia({ colorScheme: scheme });
    const found = await page.evaluate(`${axe}; axe.run(document, { resultTypes: ["violations"] })`);
    told.passes += found.passes.length;
    for (const violation of found.violations) told.violations.push(`${step}, ${scheme}: ${violation.id}: ${violation.nodes.map((node) => node.target.join(" ")).slice(0, 3)}`);
    if (picture) await page.screenshot({ path: `${picture}-${step}-${scheme}-${width}.png`, fullPage: true });
  }
  await page.emulateMedia({ colorScheme: "light" });
  const over = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
  if (over > 0) told.overflow.push(`${step}: ${over}`);
}

const answered = () => page.evaluate(() => Number(document.documentElement.dataset.answered ?? 0));
async function next(before) {
  await page.waitForFunction((known) => Number(document.documentElement.dataset.answered ?? 0) > known, before);
}

try {
  await page.goto(address);
  await page.locator("#list tbody tr").first().waitFor();
  told.address = page.url();
  told.rows = await page.locator("#list tbody tr").count();
  told.grounds = await page.locator("#farm-map a").count();
  await look("farm");

  // Sorted by the keyboard.
  const sort = page.getByRole("button", { name: "Costs, USD" });
  await sort.focus();
  await page.keyboard.press("Enter");
  await page.keyboard.press("Enter");
  told.sorted = await page.locator("#list td[data-head='Costs, USD']").allInnerTexts();
  told.focus = await page.evaluate(() => document.activeElement.id);

  // The budget by the keyboard.
  let before = await answered();
  await page.locator("#budget").focus();
  await page.keyboard.press("Home");
  await next(before);
  told.milliseconds = await page.evaluate(() => Number(document.documentElement.dataset.milliseconds));
  told.none = await page.locator("#slip").innerText();
  await look("tried");
  before = await answered();
  await page.locator("#budget-number").fill("1500");
  await next(before);
  await page.locator("#why").fill("a lean year");
  before = await answered();
  await page.locator("#keep").click();
  await next(before);
  told.kept = await page.locator("#money-says").innerText();
  before = await answered();
  await page.locator("#undo").click();
  await next(before);

  // A field and back.
  await page.locator("#farm-map a").first().focus();
  told.chosen = await page.locator("#list tr.chosen").count();
  await page.keyboard.press("Enter");
  await page.locator("#farm a").waitFor();
  await page.locator("#panel table").first().waitFor();
  told.field = page.url();
  told.says = await page.locator("#farm").innerText();
  await look("field");
  await page.getByRole("button", { name: "What if" }).click();
  await page.locator(".control").first().waitFor();
  await page.locator("#farm a").click();
  await page.locator("#list tbody tr").first().waitFor();
  told.done = true;
} catch (error) {
  told.failed = String(error.stack ?? error);
  told.notice = await page.locator("#notice").innerText().catch(() => "");
}
await browser.close();
console.log(JSON.stringify(told));
