// The fields of a farm as they lie; those that lie far apart stand side by side.

import { draw, make } from "/make.js";

const GAP = 40;
/** Share of the sheet that fields cover at least where they are drawn as they lie. */
const LEAST_COVER = 0.04;

export const addressOf = (field) => `/fields/${encodeURIComponent(field.id)}/`;

/** Where each field's corner stands, in metres from the upper left. */
function laidOut(fields) {
  const width = Math.max(...fields.map(({ outline: o }) => o.east + o.width));
  const height = Math.max(...fields.map(({ outline: o }) => o.north + o.height));
  const covered = fields.reduce((sum, { outline: o }) => sum + o.width * o.height, 0);
  if (covered >= LEAST_COVER * width * height) {
    return { width, height, places: fields.map(({ outline: o }) => ({ x: o.east, y: height - o.north - o.height })), isApart: false };
  }
  const columns = Math.ceil(Math.sqrt(fields.length));
  const wide = Math.max(...fields.map(({ outline: o }) => o.width)) + GAP;
  const tall = Math.max(...fields.map(({ outline: o }) => o.height)) + GAP;
  const places = fields.map(({ outline: o }, at) => ({ x: (at % columns) * wide, y: Math.floor(at / columns) * tall + tall - GAP - o.height }));
  return { width: columns * wide - GAP, height: Math.ceil(fields.length / columns) * tall - GAP, places, isApart: true };
}

const path = (outline) => outline.rings.map((ring) => `M${ring.map(([x, y]) => `${x} ${outline.height - y}`).join("L")}Z`).join("");

const kindOf = (field) => (field.granted !== null ? "short" : field.cost === 0 ? "free" : "");

/** Draws the fields; `point` is told which one the pointer or the keyboard is on. */
export function drawFields(box, all, point) {
  const fields = all.filter((field) => field.outline);
  if (!fields.length) return box.replaceChildren(make("p", { class: "small" }, "No field has an outline to draw."));
  const { width, height, places, isApart } = laidOut(fields);
  const letters = Math.max(width, height) / 32;
  const shapes = fields.map((field, at) => {
    const { x, y } = places[at];
    const shape = draw("g", { transform: `translate(${x} ${y})` }, draw("path", { class: `ground ${kindOf(field)}`, d: path(field.outline) }));
    const on = () => point(field.id);
    const name = `${field.field}: ${field.first ?? "nothing to do first"}`;
    if (!field.has_desk) return draw("g", { onpointerenter: on, role: "img", "aria-label": name }, shape);
    return draw("a", { href: addressOf(field), "data-field": field.id, "aria-label": name, onpointerenter: on, onfocus: on }, shape);
  });
  const names = fields.map((field, at) =>
    draw("text", { class: "ground-name", x: places[at].x + field.outline.width / 2, y: places[at].y + field.outline.height / 2, "font-size": letters, "aria-hidden": "true" }, field.field),
  );
  const rim = letters * 1.5;
  box.replaceChildren(
    draw("svg", { viewBox: `${-rim} ${-rim} ${width + 2 * rim} ${height + 2 * rim}`, role: "group", "aria-label": `Map of ${fields.length} fields` }, shapes, names),
    make(
      "p",
      { class: "ground-key" },
      make("span", {}, "gets what it would spend alone"),
      make("span", { class: "short" }, "gets less"),
      make("span", { class: "free" }, "costs nothing now"),
    ),
    isApart ? make("p", { class: "small" }, "The fields lie far apart: they stand side by side in the order of the list, all at one scale, north up.") : "",
  );
}
