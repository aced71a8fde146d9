// The fields of a farm as a table that can be sorted.

import { make } from "/make.js";
import { addressOf } from "/farm_map.js";

const dollars = (number) => number.toLocaleString("en-US");

const COLUMNS = [
  ["Field", (field) => field.field, ""],
  ["Area", (field) => field.hectares, "num"],
  ["Do first", (field) => field.first ?? "", ""],
  ["Test first", (field) => field.test ?? "", ""],
  ["Costs, USD", (field) => field.cost, "num"],
  ["Share, USD", (field) => field.granted ?? -1, "num"],
  ["To look at", (field) => field.looks, "num"],
];

const sorting = { at: null, isFalling: false };

function sorted(fields) {
  if (sorting.at === null) return fields;
  const of = COLUMNS[sorting.at][1];
  const order = (a, b) => (typeof of(a) === "number" ? of(a) - of(b) : of(a).localeCompare(of(b)));
  const made = [...fields].sort(order);
  return sorting.isFalling ? made.reverse() : made;
}

function heading([text, , kind], at, again) {
  const turn = () => {
    sorting.isFalling = sorting.at === at && !sorting.isFalling;
    sorting.at = at;
    again();
    document.getElementById(`sort-${at}`)?.focus();
  };
  const order = sorting.at === at ? (sorting.isFalling ? "descending" : "ascending") : undefined;
  return make("th", { scope: "col", class: kind || undefined, "aria-sort": order }, make("button", { type: "button", id: `sort-${at}`, onclick: turn }, text));
}

function row(field) {
  const cell = (at, text) => make("td", { class: COLUMNS[at][2] || undefined, "data-head": COLUMNS[at][0] }, text);
  const name = field.has_desk ? make("a", { href: addressOf(field) }, field.field) : field.field;
  return make(
    "tr",
    { "data-row": field.id },
    make("th", { scope: "row" }, name, make("span", { class: "small" }, ` ${field.crop}, ${field.zones === 1 ? "1 zone" : `${field.zones} zones`}`)),
    cell(1, field.area),
    cell(2, field.first ?? "nothing"),
    cell(3, field.test ?? "nothing"),
    cell(4, dollars(field.cost)),
    cell(5, field.granted === null ? "all it asks for" : dollars(field.granted)),
    cell(6, String(field.looks)),
  );
}

/** Draws the table into a box. */
export function drawList(box, fields) {
  const again = () => drawList(box, fields);
  box.replaceChildren(
    make(
      "table",
      {},
      make("caption", { class: "small" }, "Share: what a field gets of the farm's money where it gets less than it would spend alone."),
      make("thead", {}, make("tr", {}, COLUMNS.map((column, at) => heading(column, at, again)))),
      make("tbody", {}, sorted(fields).map(row)),
    ),
  );
}

/** Marks the row of a field. */
export function mark(box, id) {
  for (const own of box.querySelectorAll("tr")) own.classList.toggle("chosen", own.dataset.row === id);
}
