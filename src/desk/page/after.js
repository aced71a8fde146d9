// After: stands, emergence and Brix in season, yields after harvest, compared with the result folder that was taken.

import { post } from "/ask.js";
import { drop } from "/begin.js";
import { field, list, make } from "/make.js";
import { refused, state, tell } from "/state.js";
import { folderName } from "/take.js";

const chosen = { season: [], harvest: [] };

export function after(panel) {
  const names = state.desk.files.map((file) => file.name).filter((name) => /\.(csv|txt|tsv|xlsx|xls|ods|geojson)$/i.test(name) && !isOfThePlan(name));
  const boxes = (part) => {
    const inputs = names.map((name) => {
      const input = make("input", { type: "checkbox", value: name, checked: chosen[part].includes(name) });
      input.addEventListener("change", () => (chosen[part] = inputs.filter((box) => box.checked).map((box) => box.value)));
      return input;
    });
    return make("div", { class: "several" }, inputs.map((input) => make("label", { class: "check" }, input, ` ${input.value}`)));
  };
  const out = make("input", { type: "text", value: folderName(), required: true });
  const planted = make("input", { type: "date" });
  const population = make("input", { type: "number", min: "0", step: "100" });
  const told = make("div", { role: "status" });
  const submit = async (event) => {
    event.preventDefault();
    tell("act");
    told.replaceChildren(make("p", {}, "Working ..."));
    const question = { out: out.value, season: chosen.season, harvest: chosen.harvest, planted: planted.value || null, population: population.value ? Number(population.value) : null };
    try {
      show(told, await post("/api/after", question));
    } catch (refusal) {
      told.replaceChildren();
      refused(refusal);
    }
  };
  panel.replaceChildren(
    make("h2", {}, "After"),
    drop(panel, () => after(panel)),
    make(
      "form",
      { onsubmit: submit },
      make("fieldset", {}, make("legend", {}, "In season: stands, emergence, Brix, leaves"), boxes("season")),
      make("fieldset", {}, make("legend", {}, "After harvest: yields"), boxes("harvest")),
      make("div", { class: "fields" }, field("Result folder that was taken", out), field("Planted on", planted), field("Plants wanted", population), make("span", {}), make("button", { type: "submit" }, "Compare them with the plan")),
    ),
    told,
  );
}

/** Whether the plan takes a file for something else than results: its boundary, cores, water. */
function isOfThePlan(name) {
  const parts = (state.desk.text ?? "").split(/^(?=\[)/m);
  return parts.some((part) => !part.startsWith("[[results]]") && !part.startsWith("[results.") && part.includes(`"${name}"`));
}

function show(box, told) {
  const part = (title, lines) => (lines.length ? [make("h3", {}, title), list(lines)] : []);
  const remarks = told.remarks.length ? make("details", {}, make("summary", {}, `${told.remarks.length} remarks`), list(told.remarks)) : "";
  const texts = told.texts.map(([name, text]) => make("details", { open: true }, make("summary", {}, name), make("pre", { tabindex: "0" }, text)));
  box.replaceChildren(...part("The season", told.season), ...part("The verdict", told.verdict), remarks, ...texts);
}
