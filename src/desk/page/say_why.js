// Say why: a rate of the consultant's own, for the zone at a place or for a place that is drawn, with its reason. The caps hold, and the
// slip says so.

import { get, post } from "/ask.js";
import { addCorner, drawing, drawnArea, startDrawing, stopDrawing, takeCornerBack } from "/drawing.js";
import { choices, field, make } from "/make.js";
import { choose, middleOfMap } from "/map.js";
import { attempt, refused, state } from "/state.js";

/** What stands among the zones for a place that is drawn. */
const DRAWN = "drawn";
/** Number of the next rate that is said. */
let count = 1;
/** What is typed, while the sheet is drawn anew. */
const typed = { product: null, rate: "", why: "" };

export function sayWhy(panel) {
  const { sheet } = state.answer;
  const product = choices(sheet.products.map((own) => [own.name, `${own.label} (${own.unit})`]), typed.product ?? sheet.products[0]?.name, {
    id: "say-product",
    onchange: (event) => (typed.product = event.target.value),
  });
  const rate = make("input", { type: "number", min: "0", step: "any", required: true, id: "say-rate", value: typed.rate, oninput: () => (typed.rate = rate.value) });
  const why = make("input", { type: "text", required: true, maxlength: "300", id: "say-why", value: typed.why, oninput: () => (typed.why = why.value) });
  const isOpen = drawing.isOn && drawing.corners.length < 3;
  const submit = (event) => {
    event.preventDefault();
    say(sheet.products.find((known) => known.name === product.value), rate.value, why.value);
  };
  const form = make(
    "form",
    { class: "fields", onsubmit: submit },
    field("Where", where(sheet)),
    ...(drawing.isOn ? [make("span", {}), drawnSoFar(sheet)] : []),
    field("Product", product),
    field("Rate", rate),
    field("Why", why),
    make("span", {}),
    make("button", { type: "submit", id: "say-try", disabled: isOpen }, "Try it"),
  );
  panel.replaceChildren(
    make("h2", {}, "Say why"),
    make("p", {}, "Your word on a rate, printed with its reason. It holds for the zone that this place lies in, whatever its number is next time, or for a place that you draw. The safety caps still hold."),
    form,
    ...saidSoFar(),
  );
}

function where(sheet) {
  const zones = sheet.zones.map((zone) => [String(zone.zone), `zone ${zone.zone}, ${zone.area} ${sheet.area_unit}`]);
  const options = [["", "tap the map, or choose"], ...zones, [DRAWN, "a place that I draw on the map"]];
  return choices(options, drawing.isOn ? DRAWN : String(state.zone ?? ""), {
    id: "say-where",
    required: true,
    onchange: (event) => {
      const { value } = event.target;
      if (value === DRAWN) {
        startDrawing();
        // On a small screen the map lies above the sheet.
        document.getElementById("map").scrollIntoView({ block: "nearest" });
        return;
      }
      stopDrawing();
      choose({ zone: value ? Number(value) : null });
    },
  });
}

/** How the place is drawn, and how far it is. */
function drawnSoFar(sheet) {
  const { length } = drawing.corners;
  const squareMetres = sheet.area_unit === "ac" ? 4046.8564224 : 10000;
  const so = length < 3 ? `${length} of at least 3 corners` : `${length} corners, about ${(drawnArea() / squareMetres).toFixed(2)} ${sheet.area_unit}`;
  return make(
    "div",
    { class: "draw-tools" },
    make("p", {}, "Tap its corners on the map, one after the other. By keys: bring the corner under the cross with the arrow keys on the map, and press Enter; Backspace takes the last one back."),
    make("p", { role: "status", id: "drawn-so-far" }, so),
    make("p", {}, [
      make("button", { type: "button", id: "corner-here", onclick: () => addCorner(middleOfMap()) }, "Corner at the cross"),
      " ",
      make("button", { type: "button", id: "corner-back", disabled: !length, onclick: takeCornerBack }, "Take the last corner back"),
    ]),
    make("p", { class: "small" }, "It becomes a zone of its own in every file, with its own rates of the other products, and has to be at least the smallest patch that the plan allows. Its line follows yours to half a cell of the map."),
  );
}

async function say(product, rate, why) {
  const answer = `/api/answers/${state.answer.id}`;
  const text = `${rate} ${product.unit}`;
  const change = { what: "override", product: product.name, rate: text, why };
  try {
    if (drawing.isOn) {
      if (drawing.corners.length < 3) return;
      change.inside = await post(`${answer}/places`, drawing.corners);
    } else {
      if (!state.spot) return;
      change.at = await get(`${answer}/place?x=${state.spot.x}&y=${state.spot.y}`);
    }
  } catch (refusal) {
    return refused(refusal);
  }
  const place = drawing.isOn ? "a drawn place" : `zone ${state.zone}`;
  await attempt(`override ${count}`, change, `${product.label} ${text} in ${place}`);
  // What was refused stays on the map, so that it can be drawn otherwise; the next try takes its place.
  if (state.isRefused) return;
  count += 1;
  Object.assign(typed, { rate: "", why: "" });
  stopDrawing();
}

function saidSoFar() {
  const said = state.answer.overrides.map((own, at) =>
    make(
      "li",
      {},
      `${own.product} ${own.place}: ${own.why} `,
      make("button", { type: "button", onclick: () => attempt(`no override ${own.place} ${own.product}`, { what: "no_override", at }, `without your rate of ${own.product}`) }, "Take it away"),
    ),
  );
  return said.length ? [make("h2", {}, "Said so far"), make("ul", {}, said)] : [];
}
