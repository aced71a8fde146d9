// The whole way from dropping files to the archive, in a browser. What was seen is told as one line of JSON; ../browser.rs judges it.

import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { basename } from "node:path";

const [tools, axePath, address, files, zip, width, height, by] = process.argv.slice(2);
const require = createRequire(`${tools}/`);
const { chromium } = require("playwright-core");
const axe = readFileSync(axePath, "utf8");
const inKeys = by === "keys";
const told = { console: [], outside: [], violations: [], passes: 0, overflow: [], steps: [], milliseconds: [] };

const browser = await chromium.launch({ executablePath: "/usr/bin/chromium", args: ["--no-sandbox", "--disable-gpu"] });
const context = await browser.newContext({ viewport: { width: Number(width), height: Number(height) }, acceptDownloads: true, hasTouch: Number(width) < 500 });
const page = await context.newPage();
page.setDefaultTimeout(Number(process.env.WAY_TIMEOUT ?? 90000));
page.on("console", (message) => told.console.push(`${message.type()}: ${message.text()}`));
page.on("pageerror", (error) => told.console.push(`error: ${error.message}`));
const home = new URL(address).host;
page.on("request", (request) => {
  const url = new URL(request.url());
  if (["http:", "https:", "ws:", "wss:"].includes(url.protocol) && url.host !== home) told.outside.push(request.url());
});

/** Brings the keyboard to an element, by the tabulator alone. */
async function reach(element) {
  await element.waitFor();
  for (let presses = 0; presses < 400; presses += 1) {
    if (await element.evaluate((own) => own === document.activeElement)) return;
    await page.keyboard.press("Tab");
  }
  throw new Error(`the tabulator does not reach ${element}`);
}

async function press(element) {
  if (!inKeys) return element.click();
  await reach(element);
  await page.keyboard.press((await element.evaluate((own) => own.type === "checkbox")) ? "Space" : "Enter");
}

async function write(element, text) {
  if (!inKeys) return element.fill(text);
  await reach(element);
  await page.keyboard.press("ControlOrMeta+A");
  await page.keyboard.type(text);
}

async function pick(element, label) {
  if (!inKeys) return element.selectOption({ label });
  for (;;) {
    await reach(element);
    const [now, wanted] = await element.evaluate((own, text) => [own.selectedIndex, [...own.options].findIndex((option) => option.textContent.trim() === text)], label);
    if (now === wanted) return;
    await page.keyboard.press(now < wanted ? "ArrowDown" : "ArrowUp");
    await page.waitForTimeout(250);
  }
}

const button = (name) => page.getByRole("button", { name, exact: true });
const shows = (text) => page.getByText(text).first().waitFor();

/** Waits until the last question is answered. */
async function answered(act) {
  const before = await page.evaluate(() => document.documentElement.dataset.answered ?? "0");
  await act();
  await page.waitForFunction((old) => Number(document.documentElement.dataset.answered ?? 0) > Number(old), before);
  told.milliseconds.push(Number(await page.evaluate(() => document.documentElement.dataset.milliseconds)));
}

async function look(step) {
  await page.waitForTimeout(300);
  const found = await page.evaluate(`${axe}; axe.run(document, { resultTypes: ["violations"] })`);
  told.violations.push(...found.violations.map((own) => `${step}: ${own.id}: ${own.nodes.map((node) => node.html).slice(0, 3).join(" | ")}`));
  told.passes += found.passes.length;
  const over = await page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
  if (over > 0) told.overflow.push(`${step}: ${over}`);
  told.steps.push(step);
}

async function begin() {
  await page.goto(address);
  await page.getByLabel("Files", { exact: true }).waitFor();
  told.address = page.url();
  if (inKeys) {
    const chosen = page.waitForEvent("filechooser");
    await reach(page.getByLabel("Files", { exact: true }));
    await page.keyboard.press("Enter");
    await (await chosen).setFiles(files.split(","));
  } else {
    const dropped = files.split(",").map((path) => [basename(path), readFileSync(path, "utf8")]);
    const transfer = await page.evaluateHandle((list) => {
      const data = new DataTransfer();
      list.forEach(([name, text]) => data.items.add(new File([text], name)));
      return data;
    }, dropped);
    await page.dispatchEvent(".drop", "drop", { dataTransfer: transfer });
  }
  await page.getByLabel("cores.csv").waitFor();
  await look("begin");
  await press(button("Read them"));
  await page.getByLabel("Meaning of P ppm").waitFor();
  await method("pH", "water");
  await method("BpH", "smp");
  await method("P ppm", "mehlich-3");
  await look("columns");
  await answered(() => press(page.locator("#write-plan")));
}

/** Says a column's method, and waits until the plan says it too. */
async function method(column, name) {
  await pick(page.getByLabel(`Method of ${column}`, { exact: true }), name);
  await page.waitForFunction(([own, word]) => new RegExp(`"${own}" *= .*"${word}"`).test(document.querySelector("pre").textContent), [column, name]);
}

async function see() {
  await page.locator("[data-zone]").first().waitFor();
  await look("see");
  if (inKeys) {
    await reach(page.locator('[data-zone="1"]').first());
    await page.keyboard.press("Enter");
  } else {
    await button("Open zone 1").click();
  }
  await page.locator("svg.barrel").waitFor();
  await look("zone");
  await press(button("Back to the first sheet"));
  await page.getByLabel("Samples", { exact: true }).waitFor();
  await pick(page.getByLabel("Samples", { exact: true }), "cores.csv: C3");
  await press(button("Open the sample"));
  await page.getByRole("heading", { name: "Sample C3" }).waitFor();
  await look("sample");
  await write(page.getByLabel("Leave it out, because", { exact: true }), "a spoil heap");
  await answered(() => press(button("Leave out")));
  await shows("Left out: a spoil heap");
  await answered(() => press(button("Undo")));
  const layer = page.getByLabel("Show", { exact: true });
  await pick(layer, await layer.locator("option").nth(1).innerText());
  await page.locator("#legend canvas").waitFor();
  await page.waitForTimeout(500);
  await look("layer");
  await pick(page.getByLabel("Show", { exact: true }), "what is done first");
}

async function whatIf() {
  await press(button("What if"));
  const budget = page.locator('[data-key="budget.limit"]');
  await budget.waitFor();
  await look("what if");
  await answered(async () => {
    await write(budget, "3");
    await page.keyboard.press("Tab");
  });
  const slider = page.locator('[data-slider="machine.tank"]');
  await answered(async () => {
    await (inKeys ? reach(slider) : slider.focus());
    await page.keyboard.press("ArrowRight");
  });
  await look("tried");
  told.slip = await page.locator("#slip-says").innerText();
  await write(page.getByLabel("Why", { exact: true }), "a test of the page");
  await answered(() => press(button("Keep")));
  await answered(() => press(button("Undo")));
  await answered(async () => {
    await write(budget, "80");
    await page.keyboard.press("Tab");
  });
  await write(page.getByLabel("Why", { exact: true }), "the grower's word");
  await answered(() => press(button("Keep")));
}

async function sayWhy() {
  await press(button("Say why"));
  await page.getByLabel("Where", { exact: true }).waitFor();
  await look("say why");
  await pick(page.getByLabel("Where", { exact: true }), (await page.locator("#panel select").first().locator("option").nth(1).innerText()).trim());
  if (inKeys) await page.keyboard.press("Tab");
  await page.locator(".spot").waitFor({ state: "attached" });
  const product = page.getByLabel("Product", { exact: true });
  await pick(product, (await product.locator("option").nth(0).innerText()).trim());
  await write(page.getByLabel("Rate", { exact: true }), "2");
  await write(page.locator("#panel").getByLabel("Why", { exact: true }), "seen on foot");
  await answered(() => press(button("Try it")));
  await shows("seen on foot");
  await look("said");
  await answered(() => press(button("Keep")));
  await drawPlace();
}

/** Four corners of a place, by mouse, by finger or by keys. */
async function drawCorners() {
  const svg = page.locator("#map svg");
  if (inKeys) {
    await reach(svg);
    for (const way of [[], ["ArrowRight", "ArrowRight"], ["ArrowDown", "ArrowDown"], ["ArrowLeft", "ArrowLeft"]]) {
      for (const key of way) await page.keyboard.press(key);
      await page.keyboard.press("Enter");
    }
    return;
  }
  await svg.scrollIntoViewIfNeeded();
  const box = await svg.boundingBox();
  const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
  const side = Math.min(box.width, box.height) / 8;
  const tap = (at) => (Number(width) < 500 ? page.touchscreen.tap(...at) : page.mouse.click(...at));
  for (const at of [[x - side, y - side], [x + side, y - side], [x + side, y + side], [x - side, y + side]]) await tap(at);
}

/** A place that is drawn gets a rate; what cannot be is refused in the slip, where the person is. */
async function drawPlace() {
  await pick(page.getByLabel("Where", { exact: true }), "a place that I draw on the map");
  await page.locator("#drawn-so-far").waitFor();
  await drawCorners();
  await shows(/^4 corners, about [0-9.]+ ac$/);
  await press(button("Take the last corner back"));
  await shows(/^3 corners, about [0-9.]+ ac$/);
  await look("drawn");
  await write(page.getByLabel("Rate", { exact: true }), "90000");
  await write(page.locator("#panel").getByLabel("Why", { exact: true }), "a wet hollow");
  await press(button("Try it"));
  await page.locator("#slip-says").getByText("Refused, not kept").waitFor();
  told.refusal = await page.locator("#slip-says").innerText();
  await look("refused");
  await write(page.getByLabel("Rate", { exact: true }), "3");
  await answered(() => press(button("Try it")));
  await shows(/drawn place, zone [0-9]+: a wet hollow/);
  told.drawn = await page.locator("#slip-says").innerText();
  await look("drawn and tried");
  await answered(() => press(button("Keep")));
}

async function take() {
  await press(button("Take"));
  await page.getByText("run.json").waitFor();
  await look("take");
  const download = page.waitForEvent("download");
  await press(page.locator("#zip"));
  await (await download).saveAs(zip);
  await press(button("Write the folder"));
  await shows("files lie in");
  await press(button("After"));
  await page.getByRole("heading", { name: "After" }).waitFor();
  await look("after");
}

try {
  await begin();
  await see();
  await whatIf();
  await sayWhy();
  await take();
  told.done = true;
} catch (error) {
  told.failed = String(error.stack ?? error);
  await page.screenshot({ path: `${zip}.png` }).catch(() => {});
  told.notice = await page.locator("#notice").innerText().catch(() => "");
}
await browser.close();
console.log(JSON.stringify(told));
