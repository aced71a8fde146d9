// What the page shows of the invented sample: lists at the first draw, a layer without a map, a core by depth, names in lists, and the
// verdict of a harvest that is dropped. What was seen is told as one line of JSON; ../browser.rs judges it.

import { createRequire } from "node:module";

const [tools, address, harvest] = process.argv.slice(2);
const { chromium } = createRequire(`${tools}/`)("playwright-core");
const browser = await chromium.launch({ executablePath: "/usr/bin/chromium", args: ["--no-sandbox", "--disable-gpu"] });
const page = await browser.newPage({ viewport: { width: 1280, height: 900 } });
page.setDefaultTimeout(Number(process.env.WAY_TIMEOUT ?? 90000));
const told = { console: [] };
page.on("console", (message) => told.console.push(`${message.type()}: ${message.text()}`));
page.on("pageerror", (error) => told.console.push(`error: ${error.message}`));
const button = (name) => page.getByRole("button", { name, exact: true });

try {
  await page.goto(address);
  await page.waitForFunction(() => document.querySelectorAll("#sample-choice option").length > 1);
  told.samples = await page.locator("#sample-choice option").count();
  await page.locator(".small-charts svg").first().waitFor();
  const layers = page.getByLabel("Show", { exact: true });
  const isDrawn = await page.evaluate(async () => {
    const plan = (await (await fetch("/api/state")).json()).plan;
    const answer = await (await fetch("/api/answer", { method: "POST", body: JSON.stringify({ plan, changes: [] }) })).json();
    return answer.sheet.layers.map((layer) => [layer.name, layer.is_drawn, layer.verdict]);
  });
  const flat = isDrawn.find(([, drawn]) => !drawn);
  told.flat = flat;
  await layers.selectOption({ label: flat[0] });
  await page.locator("#not-drawn").waitFor();
  told.why = await page.locator("#not-drawn").innerText();
  await page.waitForFunction(() => document.querySelectorAll(".core-value").length > 0);
  told.values = await page.locator(".core-value").count();
  await layers.selectOption({ index: 0 });
  await page.locator("#sample-choice").selectOption({ index: 1 });
  await button("Open the sample").click();
  await page.getByRole("heading", { name: /^Sample / }).waitFor();
  told.rows = await page.locator("#panel tbody tr").evaluateAll((rows) => rows.map((row) => [...row.children].map((cell) => cell.textContent)));
  await button("What if").click();
  await page.locator(".several").first().waitFor();
  told.names = await page.locator(".several label").allInnerTexts();
  await button("After").click();
  await page.locator('#panel input[type="file"]').setInputFiles(harvest);
  const box = page.getByRole("group", { name: "After harvest: yields" }).getByLabel("harvest.csv");
  await box.check();
  await page.getByLabel("Result folder that was taken", { exact: true }).fill("out");
  await button("Compare them with the plan").click();
  await page.locator("#panel pre").waitFor();
  told.verdict = await page.locator("#panel pre").textContent();
  told.done = true;
} catch (error) {
  told.failed = String(error.stack ?? error);
  told.notice = await page.locator("#notice").innerText().catch(() => "");
}
await browser.close();
console.log(JSON.stringify(told));
