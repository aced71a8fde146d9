// Say why: a rate of the consultant's own for the zone at a place, with its reason. The caps hold, and the slip says so.

import { get } from "/ask.js";
import { choices, field, make } from "/make.js";
import { choose } from "/map.js";
import { attempt, refused, state } from "/state.js";

let count = 0;
/** What is typed, while the sheet is drawn anew. */
const typed = { product: null, rate: "", why: "" };

export function sayWhy(panel) {
  const { sheet, overrides } = state.answer;
  const zones = sheet.zones.map((zone) => [String(zone.zone), `zone ${zone.zone}, ${zone.area} ${sheet.area_unit}`]);
  const zone = choices([["", "tap the map, or choose"], ...zones], String(state.zone ?? ""), {
    id: "say-where",
    required: true,
    onchange: (event) => choose({ zone: event.target.value ? Number(event.target.value) : null }),
  });
  const product = choices(sheet.products.map((own) => [own.name, `${own.label} (${own.unit})`]), typed.product ?? sheet.products[0]?.name, {
    id: "say-product",
    onchange: (event) => (typed.product = event.target.value),
  });
  const rate = make("input", { type: "number", min: "0", step: "any", required: true, id: "say-rate", value: typed.rate, oninput: () => (typed.rate = rate.value) });
  const why = make("input", { type: "text", required: true, maxlength: "300", id: "say-why", value: typed.why, oninput: () => (typed.why = why.value) });
  const submit = async (event) => {
    event.preventDefault();
    if (!state.spot) return;
    const own = sheet.products.find((known) => known.name === product.value);
    try {
      const at = await get(`/api/answers/${state.answer.id}/place?x=${state.spot.x}&y=${state.spot.y}`);
      const text = `${rate.value} ${own.unit}`;
      count += 1;
      Object.assign(typed, { rate: "", why: "" });
      await attempt(`override ${count}`, { what: "override", at, product: own.name, rate: text, why: why.value }, `${own.label} ${text} in zone ${state.zone}`);
    } catch (refusal) {
      refused(refusal);
    }
  };
  const form = make(
    "form",
    { class: "fields", onsubmit: submit },
    field("Where", zone),
    field("Product", product),
    field("Rate", rate),
    field("Why", why),
    make("span", {}),
    make("button", { type: "submit", id: "say-try" }, "Try it"),
  );
  const said = overrides.map((own, at) =>
    make(
      "li",
      {},
      `${own.product} ${own.place}: ${own.why} `,
      make("button", { type: "button", onclick: () => attempt(`no override ${own.place} ${own.product}`, { what: "no_override", at }, `without your rate of ${own.product}`) }, "Take it away"),
    ),
  );
  panel.replaceChildren(
    make("h2", {}, "Say why"),
    make("p", {}, "Your word on a rate, printed with its reason. It holds for the zone that this place lies in, whatever its number is next time. The safety caps still hold."),
    form,
    ...(said.length ? [make("h2", {}, "Said so far"), make("ul", {}, said)] : []),
  );
}
