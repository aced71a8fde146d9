// See: the first sheet; the zone that was tapped with its barrel, reasons and rates; the sample that was tapped with all its values.

import { get } from "/ask.js";
import { choices, field, make, markup, titled } from "/make.js";
import { choose, sampleList } from "/map.js";
import { attempt, refused, state } from "/state.js";

export function see(panel) {
  if (state.sample) return sampleSheet(panel);
  if (state.zone !== null) return zoneSheet(panel);
  panel.replaceChildren(...firstSheet());
}

function firstSheet() {
  const { sheet } = state.answer;
  return [
    make("h2", {}, "What is done"),
    zoneTable(sheet),
    make("p", { class: "money" }, sheet.money),
    ...titled("Test first", sheet.tests),
    ...titled("Worth", sheet.worth),
    ...titled("Check", sheet.checks),
    ...titled("Buy", sheet.buy),
    ...remarks(sheet),
    sampleChoice(),
    ...(sheet.has_cones ? [make("h2", {}, "Cone by depth"), coneCharts()] : []),
  ];
}

/** Charts are asked for where they are shown; they come into their place. */
function coneCharts() {
  const box = make("div", {});
  get(`/api/answers/${state.answer.id}/cones`)
    .then((own) => box.replaceChildren(markup(own.markup)))
    .catch(gone);
  return box;
}

/** An answer that a newer one has replaced has nothing to say any more. */
const gone = (refusal) => refusal.code === "not-found" || refused(refusal);

/** The zones with their rates; a zone's number opens it. */
export function zoneTable(sheet) {
  const heads = [
    make("th", { scope: "col" }, "Zone"),
    make("th", { scope: "col", class: "num" }, sheet.area_unit),
    ...sheet.columns.map((product) => make("th", { scope: "col", class: "num" }, `${product.label}, ${product.unit}`)),
    make("th", { scope: "col", class: "num" }, sheet.cost_unit),
  ];
  const rows = sheet.zones.map((zone) => {
    const own = sheet.treatments[zone.treatment];
    const letter = make("span", { class: "letter" }, own.letter);
    letter.style.background = own.colour;
    letter.style.color = own.ink;
    const open = make("button", { type: "button", "aria-label": `Open zone ${zone.zone}`, onclick: () => choose({ zone: zone.zone }) }, zone.zone);
    return make(
      "tr",
      { class: zone.zone === state.zone ? "picked" : undefined },
      make("th", { scope: "row" }, letter, open),
      make("td", { class: "num" }, zone.area),
      zone.rates.map((rate, at) => make("td", { class: zone.is_applied[at] ? "num" : "num zero" }, rate)),
      make("td", { class: "num" }, zone.cost),
    );
  });
  const total = make(
    "tr",
    { class: "total" },
    make("th", { scope: "row" }, "all"),
    make("td", { class: "num" }, sheet.total_area),
    sheet.columns.map((product) => make("td", { class: "num" }, product.total)),
    make("td", {}, ""),
  );
  const table = make("table", { class: "rows" }, make("thead", {}, make("tr", {}, heads)), make("tbody", {}, rows, total));
  return make("div", { class: "wide", tabindex: "0", role: "group", "aria-label": "Rates of each zone" }, table);
}

function remarks(sheet) {
  const looks = sheet.remarks.filter((remark) => remark.level === "check");
  const others = sheet.remarks.filter((remark) => remark.level !== "check");
  const line = (remark) => make("li", {}, remark.lines.join("; "), remark.help ? make("b", {}, ` ${remark.help}`) : null);
  const fold = others.length ? make("details", {}, make("summary", {}, others.length === 1 ? "1 guess or note" : `${others.length} guesses and notes`), make("ul", {}, others.map(line))) : null;
  return [looks.length ? [make("h2", {}, "Before you drive"), make("ul", {}, looks.map(line))] : [], fold].flat().filter(Boolean);
}

const sampleOptions = () => [["", "choose a sample"], ...sampleList().map(({ file, place, name }) => [`${file} ${place}`, name])];

/** The samples came after the sheet was drawn: their list is filled, and what is chosen in it stays. */
export function fillSamples() {
  const select = document.getElementById("sample-choice");
  if (!select) return;
  const chosen = select.value;
  select.replaceChildren(...sampleOptions().map(([value, text]) => make("option", { value, selected: value === chosen }, text)));
}

function sampleChoice() {
  const select = choices(sampleOptions(), "", { id: "sample-choice" });
  const open = () => {
    const [file, place] = select.value.split(" ").map(Number);
    if (select.value) choose({ sample: { file, place } });
  };
  return make("div", { class: "fields" }, field("Samples", select), make("span", {}), make("button", { type: "button", onclick: open }, "Open the sample"));
}

const back = () => make("p", {}, make("button", { type: "button", onclick: () => choose({}) }, "Back to the first sheet"));

function zoneSheet(panel) {
  const zone = state.answer.sheet.zones[state.zone - 1];
  if (!zone) {
    state.zone = null;
    return see(panel);
  }
  const box = make("div", {});
  panel.replaceChildren(make("h2", {}, `Zone ${zone.zone}, ${zone.area} ${state.answer.sheet.area_unit}`), back(), box);
  get(`/api/answers/${state.answer.id}/zones/${zone.zone}`)
    .then((own) => {
      const chapter = markup(own.markup);
      chapter.querySelectorAll("details").forEach((fold) => (fold.open = true));
      box.replaceChildren(chapter);
    })
    .catch(gone);
}

async function sampleSheet(panel) {
  const { file, place } = state.sample;
  let facts;
  try {
    facts = await get(`/api/answers/${state.answer.id}/samples/${file}/${place}`);
  } catch (refusal) {
    return refused(refusal);
  }
  const name = facts.core ?? `row ${facts.row}`;
  const rows = facts.values.map((own, at) =>
    make(
      "tr",
      { class: own.depth !== facts.values[at - 1]?.depth ? "depth-begins" : undefined },
      make("td", {}, own.depth),
      make("th", { scope: "row" }, own.layer),
      make("td", {}, own.value),
      make("td", {}, own.column),
      make("td", { class: "num" }, own.row),
    ),
  );
  panel.replaceChildren(
    make("h2", {}, `Sample ${name}`),
    back(),
    make("p", {}, `${facts.file}, ${rowsOf(facts)}`),
    ...titled("Odd", facts.odd),
    rows.length
      ? make(
          "div",
          { class: "wide", tabindex: "0", role: "group", "aria-label": "Values" },
          make("table", {}, make("thead", {}, make("tr", {}, ["Depth", "Layer", "Value", "Column", "Row"].map((head) => make("th", { scope: "col" }, head)))), make("tbody", {}, rows)),
        )
      : make("p", {}, "It has no values: it is left out, or its cells are empty."),
    leaveOut(facts),
  );
  if (document.activeElement === document.body) panel.focus({ preventScroll: true });
}

/** The rows of the file that a sample stands in. */
function rowsOf(facts) {
  const rows = [...new Set([facts.row, ...facts.values.map((own) => own.row)])].sort((a, b) => a - b);
  return rows.length === 1 ? `row ${rows[0]}` : `rows ${rows.join(", ")}`;
}

function leaveOut(facts) {
  const sample = facts.core ? { core: facts.core } : { row: facts.row };
  const path = state.answer.left_out.find((left) => left.file.endsWith(facts.file) && (facts.core ? left.core === facts.core : left.row === facts.row));
  const id = `sample ${facts.file} ${facts.core ?? facts.row}`;
  if (path) {
    const takeBack = () => attempt(id, { what: "take_back", file: path.file, sample }, `use ${facts.core ?? `row ${facts.row}`} again`);
    return make("p", {}, `Left out: ${path.why} `, make("button", { type: "button", onclick: takeBack }, "Use it again"));
  }
  const why = make("input", { type: "text", required: true, maxlength: "300" });
  const submit = (event) => {
    event.preventDefault();
    attempt(id, { what: "leave_out", file: facts.path, sample, why: why.value }, `without ${facts.core ?? `row ${facts.row}`}`);
  };
  return make("form", { class: "fields", onsubmit: submit }, field("Leave it out, because", why), make("span", {}), make("button", { type: "submit" }, "Leave out"));
}
