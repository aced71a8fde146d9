// What if: each thing that can be changed, with what it is now. The engine answers while a slider moves; nothing is kept until Keep.

import { make } from "/make.js";
import { zoneTable } from "/see.js";
import { attempt, state, tried } from "/state.js";

let drawn = null;

export function whatIf(panel) {
  // The controls stay while answers come, so that a slider can be moved on; only what they lead to is drawn again.
  if (drawn?.plan !== state.desk.plan || drawn.undone !== state.past.length || !panel.contains(drawn.groups)) {
    const groups = make("div", { class: "groups" }, groupsOf((state.saved ?? state.answer).controls));
    drawn = { plan: state.desk.plan, groups, result: make("div", { class: "result" }), short: make("p", { class: "short-answer", "aria-hidden": "true" }) };
    panel.replaceChildren(make("h2", {}, "What if"), drawn.result, drawn.short, groups);
  }
  // On a small screen the answer in short stays in view beside the sliders.
  drawn.short.textContent = [state.answer.sheet.money, ...state.answer.difference.slice(0, 2)].join(" · ");
  drawn.undone = state.past.length;
  drawn.result.replaceChildren(zoneTable(state.answer.sheet), make("p", { class: "money" }, state.answer.sheet.money));
}

function groupsOf(controls) {
  const groups = new Map();
  controls.forEach((control) => groups.set(control.group, [...(groups.get(control.group) ?? []), control]));
  return [...groups].map(([name, own]) => make("fieldset", {}, make("legend", {}, name), own.map(controlOf)));
}

/** What is in force now: the tried value, or the saved one. */
function controlOf(control) {
  const box = make("div", { class: "control" });
  const parts = { quantity: slider, number: slider, threshold: slider, choice, several };
  box.append(...parts[control.kind](control, box));
  if (control.note) box.append(make("p", { class: "small" }, control.note));
  if (tried(control.key)) box.classList.add("moved");
  return box;
}

function send(control, box, value, text) {
  const change = value === null ? null : control.kind === "threshold" ? { what: "threshold", rule: control.key, value } : { what: "set", key: control.key, value };
  box.classList.toggle("moved", change !== null);
  attempt(control.key, change, `${control.label.toLowerCase()} ${text}`);
  if (drawn) drawn.undone = state.past.length;
}

function slider(control, box) {
  const known = tried(control.key)?.change.value;
  const now = known === undefined ? control.value : String(known).split(" ")[0];
  const name = `${control.label}${control.unit ? `, ${control.unit}` : ""}`;
  const number = make("input", { type: "number", step: "any", value: now, "aria-label": name, "data-key": control.key });
  const parts = [number];
  const submit = (text) => {
    if (text === "" || Number.isNaN(Number(text))) return;
    if (Number(text) === Number(control.value)) return send(control, box, null, "");
    const value = control.kind === "quantity" ? `${text} ${control.unit}`.trim() : Number(text);
    send(control, box, value, `${text} ${control.unit}`.trim());
  };
  number.addEventListener("change", () => submit(number.value));
  if (control.range) {
    const [min, max, step] = control.range;
    const range = make("input", { type: "range", min, max, step, value: now, "aria-label": `${name}, slider`, "data-slider": control.key });
    range.addEventListener("input", () => {
      number.value = range.value;
      submit(range.value);
    });
    number.addEventListener("input", () => (range.value = number.value));
    parts.unshift(range);
  }
  return [make("div", {}, control.label), make("div", { class: "line" }, parts, make("span", {}, control.unit))];
}

function choice(control, box) {
  const now = tried(control.key)?.change.value ?? control.value;
  const select = make(
    "select",
    { "aria-label": control.label, "data-key": control.key },
    control.options.map(({ name, label }) => make("option", { value: name, selected: String(now) === name }, label)),
  );
  select.addEventListener("change", () => {
    const value = select.value === "auto" ? "auto" : Number(select.value);
    send(control, box, select.value === control.value ? null : value, select.value);
  });
  return [make("div", { class: "line" }, make("span", {}, control.label), select)];
}

function several(control, box) {
  const labelOf = (name) => control.options.find((own) => own.name === name)?.label ?? name;
  const now = tried(control.key)?.change.value ?? control.options.filter((own) => own.is_chosen).map((own) => own.name);
  const boxes = control.options.map(({ name }) => {
    const input = make("input", { type: "checkbox", value: name, checked: now.includes(name), "data-key": `${control.key} ${name}` });
    input.addEventListener("change", () => {
      const chosen = boxes.filter((own) => own.checked).map((own) => own.value);
      const was = control.options.filter((own) => own.is_chosen).map((own) => own.name);
      if (chosen.length) send(control, box, chosen.join() === was.join() ? null : chosen, chosen.map(labelOf).join(", "));
    });
    return input;
  });
  const labels = boxes.map((input) => make("label", { class: "check" }, input, ` ${labelOf(input.value)}`));
  return [make("div", {}, control.label), make("div", { class: "several", role: "group", "aria-label": control.label }, labels)];
}
