// The page of a farm: its fields, its money, and what a changed budget changes.

import { Refusal, get, post } from "/ask.js";
import { drawList, mark } from "/farm_list.js";
import { drawFields } from "/farm_map.js";
import { list, make } from "/make.js";

const at = (id) => document.getElementById(id);
const dollars = (number) => `${number.toLocaleString("en-US")} USD`;
/** How long the slider rests before it is asked, milliseconds. */
const REST = 120;

const state = { farm: null, steps: 0, answer: null, tried: null, asked: 0, isRefused: false };

function notice(...children) {
  at("notice").hidden = !children.length;
  at("notice").replaceChildren(...children);
}

function changedUnderneath(text) {
  const again = () => {
    notice();
    state.tried = null;
    start();
  };
  notice(make("b", {}, text), make("br"), make("button", { type: "button", onclick: again }, "Read it again"));
}

function refused(refusal) {
  if (!(refusal instanceof Refusal)) throw refusal;
  if (refusal.code === "newer") return;
  if (refusal.code === "changed") return changedUnderneath(refusal.problems[0]);
  notice(...refusal.problems.flatMap((problem) => [make("span", {}, problem), make("br")]));
}

const budgetOf = (tried) => (tried === null ? "as-saved" : tried === "none" ? "none" : { dollars: tried });

async function watchProgress(own) {
  while (own === state.asked && !at("going").hidden) {
    const told = await get("/api/farm/progress").catch(() => null);
    if (told?.is_running && told.fields) {
      at("busy").textContent = `${told.done} of ${told.fields} fields are done${told.last ? `, ${told.last} last` : ""}`;
      at("bar").max = told.fields;
      at("bar").value = told.done;
    }
    await new Promise((done) => setTimeout(done, 250));
  }
}

async function ask() {
  const own = (state.asked += 1);
  const start = performance.now();
  at("busy").textContent = "Working ...";
  at("going").hidden = false;
  watchProgress(own);
  try {
    const answer = await post("/api/farm/answer", { farm: state.farm, budget: budgetOf(state.tried) });
    if (own !== state.asked) return;
    state.answer = answer;
    state.isRefused = false;
    notice();
    show();
    const took = performance.now() - start;
    at("busy").textContent = `answered in ${took.toFixed(0)} ms`;
    document.documentElement.dataset.answered = String(own);
    document.documentElement.dataset.milliseconds = took.toFixed(1);
  } catch (refusal) {
    if (own !== state.asked) return;
    state.isRefused = true;
    at("busy").textContent = refusal.code === "newer" ? "stopped" : "";
    slip();
    refused(refusal);
  } finally {
    if (own === state.asked) at("going").hidden = true;
  }
}

function show() {
  const { answer } = state;
  at("title").textContent = answer.name;
  document.title = `${answer.name}: the desk of a farm`;
  const all = answer.fields.length + new Set(answer.problems.map((problem) => problem.id)).size;
  at("about").textContent = `${all} fields, ${dollars(answer.budget.spent)} in all`;
  for (const id of ["money", "fields", "take"]) at(id).hidden = false;
  money();
  drawFields(at("farm-map"), answer.fields, (id) => mark(at("list"), id));
  drawList(at("list"), answer.fields);
  at("problems").hidden = !answer.problems.length;
  at("problem-list").replaceChildren(
    ...answer.problems.map((problem) => make("p", {}, make("b", {}, problem.id), ": ", make("span", { class: "problem" }, problem.what), problem.help ? `; ${problem.help}` : "")),
  );
  at("own-files").replaceChildren(
    ...answer.files.map((path) => make("li", {}, make("a", { href: `/api/farm/file?path=${encodeURIComponent(path)}`, download: path.split("/").pop() }, path))),
  );
  slip();
}

function money() {
  const { limit, wanted, says } = state.answer.budget;
  const most = Math.max(Math.ceil((wanted * 1.1) / 500) * 500, limit ?? 0, 500);
  at("budget").max = String(most);
  if (document.activeElement !== at("budget")) at("budget").value = String(limit ?? most);
  if (document.activeElement !== at("budget-number")) at("budget-number").value = limit === null ? "" : String(limit);
  at("no-budget").disabled = limit === null;
  const sum = limit === null ? `Without a budget the fields spend ${dollars(wanted)} in all.` : `Of ${dollars(wanted)} that the fields would spend alone, ${dollars(limit)} may be spent.`;
  at("money-says").replaceChildren(make("p", {}, sum), ...says.map((text) => make("p", { class: "says" }, text)));
}

const label = (tried) => (tried === "none" ? "no budget" : `budget ${dollars(tried)}`);

function slip() {
  const isTried = state.tried !== null;
  at("slip").hidden = !isTried && !state.steps;
  for (const part of [at("keep"), at("why"), document.querySelector("label[for=why]")]) part.hidden = !isTried;
  at("keep").disabled = state.isRefused;
  const says = [];
  if (isTried) {
    says.push(make("b", {}, `${state.isRefused ? "Refused" : "Tried"}, not kept: ${label(state.tried)}`));
    const lines = state.answer && !state.answer.is_saved ? state.answer.difference : [];
    if (!state.isRefused) says.push(lines.length ? list(lines) : make("p", {}, "Nothing on the ground changes."));
  } else {
    says.push(make("span", {}, "Undo takes back what was kept last."));
  }
  at("slip-says").replaceChildren(...says);
  document.body.style.paddingBottom = `${at("slip").offsetHeight + 24}px`;
}

let resting = 0;
function attempt(tried) {
  state.tried = tried;
  slip();
  clearTimeout(resting);
  resting = setTimeout(ask, REST);
}

async function readFarm() {
  const now = await get("/api/farm/state");
  state.farm = now.farm;
  state.steps = now.steps;
  at("folder").textContent = `${now.folder}/${now.file}`;
  at("out").value ||= `${now.folder.split("/").pop().toLowerCase().replace(/[^a-z0-9]+/g, "-") || "farm"}-out`;
}

async function start() {
  try {
    await readFarm();
    await ask();
  } catch (refusal) {
    refused(refusal);
  }
}

at("budget").addEventListener("input", () => {
  at("budget-number").value = at("budget").value;
  attempt(Number(at("budget").value));
});
at("budget-number").addEventListener("input", () => {
  if (at("budget-number").value === "") return;
  at("budget").value = at("budget-number").value;
  attempt(Number(at("budget-number").value));
});
at("no-budget").addEventListener("click", () => attempt("none"));
at("stop").addEventListener("click", () => post("/api/farm/stop", {}).catch(refused));
at("slip-form").addEventListener("submit", async (event) => {
  event.preventDefault();
  try {
    await post("/api/farm/keep", { farm: state.farm, budget: budgetOf(state.tried), why: at("why").value });
    at("why").value = "";
    state.tried = null;
    await start();
  } catch (refusal) {
    refused(refusal);
  }
});
at("undo").addEventListener("click", async () => {
  try {
    if (state.tried === null) await post("/api/farm/back", { farm: state.farm });
    state.tried = null;
    await start();
  } catch (refusal) {
    refused(refusal);
  }
});
at("take-form").addEventListener("submit", async (event) => {
  event.preventDefault();
  notice();
  at("taken").textContent = "Working ...";
  try {
    if (state.tried !== null) throw new Refusal(400, "malformed", ["The budget is only tried; keep it first, or take it back."]);
    const taken = await post("/api/farm/take", { farm: state.farm, out: at("out").value, files: at("which").value });
    at("taken").textContent = `${taken.fields} fields; ${taken.files.length} files of the farm's own lie in ${taken.folder}`;
  } catch (refusal) {
    at("taken").textContent = "";
    refused(refusal);
  }
});
window.addEventListener("focus", async () => {
  const now = await get("/api/farm/state").catch(() => null);
  if (now && state.farm && now.farm !== state.farm) changedUnderneath("The farm file was changed by an editor or another window since this page read it.");
});

start();
