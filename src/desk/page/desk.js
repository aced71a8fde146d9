// The page: which view is shown, what is tried, and what has to be said.

import { get } from "/ask.js";
import { after } from "/after.js";
import { begin } from "/begin.js";
import { drawing, stopDrawing } from "/drawing.js";
import { list, make } from "/make.js";
import { showMap, startMap } from "/map.js";
import { sayWhy } from "/say_why.js";
import { fillSamples, see } from "/see.js";
import { attempt, drop, keep, listen, readDesk, refused, state, tell, undo } from "/state.js";
import { take } from "/take.js";
import { whatIf } from "/what_if.js";

const VIEWS = [
  ["begin", "Begin", begin, false],
  ["see", "See", see, true],
  ["what-if", "What if", whatIf, true],
  ["say-why", "Say why", sayWhy, true],
  ["take", "Take", take, false],
  ["after", "After", after, false],
];
const at = (id) => document.getElementById(id);

function viewOf(name) {
  return VIEWS.find(([own]) => own === name) ?? VIEWS[0];
}

function open(name, moves = true) {
  const [own, title, show, hasMap] = viewOf(state.desk?.plan ? name : "begin");
  state.view = own;
  if (own !== "say-why" && drawing.isOn) stopDrawing();
  if (location.hash !== `#${own}`) history.replaceState(null, "", `#${own}`);
  at("views").replaceChildren(
    ...VIEWS.map(([view, text]) =>
      make(
        "button",
        {
          type: "button",
          "aria-current": view === own ? "page" : undefined,
          disabled: !state.desk?.plan && view !== "begin",
          onclick: () => open(view),
        },
        text,
      ),
    ),
  );
  const withMap = hasMap && Boolean(state.answer);
  const isMissing = hasMap && !state.answer;
  at("map-side").hidden = !withMap;
  at("main").classList.toggle("two", withMap);
  if (withMap) showMap();
  at("panel").setAttribute("aria-label", title);
  const held = document.activeElement;
  if (isMissing) at("panel").replaceChildren(make("h2", {}, title), make("p", {}, "The plan has to be put right first; what is wrong stands above. The sheet Begin shows its files."));
  else show(at("panel"));
  if (moves) at("panel").focus({ preventScroll: true });
  else if (held && !held.isConnected) goOn(held.id);
}

/** The keyboard goes on where it was, though the sheet was drawn anew. */
function goOn(id) {
  (at(id) ?? at("panel")).focus({ preventScroll: true });
}

function head() {
  const sheet = state.answer?.sheet;
  at("title").textContent = sheet?.field ?? "The desk";
  at("about").textContent = sheet?.about.join(" · ") ?? "";
  at("folder").textContent = state.desk ? `${state.desk.folder}/${state.desk.plan_file}` : "";
  const farm = state.desk?.farm;
  at("farm").hidden = !farm;
  if (farm) at("farm").replaceChildren(make("a", { href: "/" }, `Back to ${farm.name}`), ` ${farm.says.join(" ")}`);
  document.title = sheet ? `${sheet.field}: the desk` : "The desk";
}

/** Remarks that the saved plan does not have: a cap that holds, a rate that was cut. */
function newRemarks() {
  const known = new Set((state.saved?.sheet.remarks ?? []).flatMap((remark) => remark.lines));
  const all = state.answer.sheet.remarks.filter((remark) => remark.level !== "note");
  return all.flatMap((remark) => remark.lines).filter((line) => !known.has(line));
}

function slip() {
  const count = state.changes.length;
  const canGoBack = (state.desk?.steps ?? 0) > 0 || state.past.length > 0;
  at("slip").hidden = !count && !canGoBack;
  for (const part of [at("keep"), at("why"), document.querySelector("label[for=why]")]) part.hidden = !count;
  at("undo").disabled = !canGoBack;
  const says = [];
  const isOld = state.isPending || state.isRefused;
  at("keep").disabled = isOld;
  document.body.classList.toggle("refused", Boolean(count) && state.isRefused);
  if (count && isOld) {
    says.push(make("b", {}, `${state.isRefused ? "Refused" : "Tried"}, not kept: ${state.changes.map((tried) => tried.label).join("; ")}`));
    if (state.isRefused) {
      says.push(...state.problems.map((problem) => make("p", { class: "says" }, problem)), ...wayOut("strips-anywhere-here"));
      says.push(make("p", {}, "Nothing of this change is calculated: the map and the table are those of the answer before it."));
    } else {
      says.push(make("p", {}, "Being calculated ..."));
    }
  } else if (count) {
    says.push(make("b", {}, `Tried, not kept: ${state.changes.map((tried) => tried.label).join("; ")}`));
    const lines = state.answer && !state.answer.is_saved ? state.answer.difference : [];
    says.push(lines.length ? list(lines) : make("p", {}, "Nothing on the ground changes."));
    if (state.answer && !state.answer.is_saved) says.push(...newRemarks().slice(0, 6).map((line) => make("p", { class: "says" }, line)));
  } else if (canGoBack) {
    says.push(make("span", {}, "Undo takes back what was kept last."));
  }
  at("slip-says").replaceChildren(...says);
  // What the slip covers can be scrolled to.
  document.body.style.paddingBottom = `${at("slip").offsetHeight + 24}px`;
}

function notice(...children) {
  const box = at("notice");
  box.hidden = !children.length;
  box.replaceChildren(...children);
}

function changedUnderneath(text) {
  const again = (keepsChanges) => async () => {
    notice();
    if (!keepsChanges) drop();
    await readDesk().catch(refused);
  };
  notice(
    make("b", {}, text),
    make("br"),
    make("button", { type: "button", onclick: again(true) }, "Read it again, and try my changes on it"),
    make("button", { type: "button", onclick: again(false) }, "Read it again, and drop my changes"),
  );
}

function sayRefusal(refusal) {
  state.problems = refusal.problems;
  state.isOfStrips = refusal.code === "strip-zone";
  slip();
  if (refusal.code === "changed") return changedUnderneath(refusal.problems[0]);
  notice(...refusal.problems.map((problem) => make("span", {}, problem, make("br"))), ...wayOut("strips-anywhere"));
}

/** What puts right a check strip whose zone is gone. */
function wayOut(id) {
  if (!state.isOfStrips) return [];
  const freely = () => attempt("strips anywhere", { what: "strips_anywhere" }, "check strips in whatever zones they change");
  return [make("button", { type: "button", id, onclick: freely }, "Let the strips lie in any zone")];
}

listen((what) => {
  if (what.refusal) return sayRefusal(what.refusal);
  if (what === "act") notice();
  if (what === "busy") at("busy").textContent = "Working ...";
  if (what === "idle") at("busy").textContent = state.milliseconds ? `answered in ${state.milliseconds.toFixed(0)} ms` : "";
  if (what === "view") open(state.next);
  if (what === "samples") return fillSamples();
  if (what === "drawing" && state.view !== "say-why") return showMap();
  if (what === "drawing") return open(state.view, false);
  if (what === "picked") {
    open(state.view, false);
    if (window.innerWidth < 992) at("panel").scrollIntoView({ block: "nearest" });
  }
  if (what === "desk" || what === "answer") {
    head();
    if (what === "answer") notice();
    open(state.view ?? (location.hash.slice(1) || "see"), false);
  }
  slip();
});

at("slip-form").addEventListener("submit", async (event) => {
  event.preventDefault();
  if (await keep(at("why").value)) at("why").value = "";
});
at("undo").addEventListener("click", undo);
window.addEventListener("hashchange", () => open(location.hash.slice(1)));
window.addEventListener("focus", async () => {
  if (!state.desk?.plan) return;
  const now = await get("/api/state").catch(() => null);
  if (now && now.plan !== state.desk.plan) changedUnderneath("The plan was changed by an editor or another window since this page read it.");
});

startMap();
readDesk()
  .then(() => {
    const wanted = location.hash.slice(1);
    open(state.desk.plan ? wanted || "see" : "begin", false);
  })
  .catch(refused)
  .finally(() => tell("ready"));
