// The map: zones by what is done first, or a layer with its samples. Moved by hand, by wheel, by two fingers and by keys.

import { get, numbers } from "/ask.js";
import { colourOf, inkOn, path, picture, rampBar } from "/draw.js";
import { addCorner, drawing, drawnPlace, stopDrawing, takeCornerBack } from "/drawing.js";
import { draw, make } from "/make.js";
import { refused, state, tell } from "/state.js";

const at = (id) => document.getElementById(id);
const shown = { answer: null, layer: null, key: null, view: null, svg: null, samples: [], values: new Map(), raster: null, drawn: null, radius: null };
const NUMBER_PX = 18;
const DRAG_PX = 6;

export function startMap() {
  at("layer").addEventListener("change", () => showMap(true));
  at("uncertain").addEventListener("change", () => showMap(true));
  at("cores").addEventListener("change", () => showMap(true));
  at("closer").addEventListener("click", () => zoom(0.7));
  at("farther").addEventListener("click", () => zoom(1 / 0.7));
  at("whole").addEventListener("click", () => {
    shown.view = null;
    look();
  });
  window.addEventListener("resize", () => shown.svg && look());
  // On paper the map has another size: its numbers are drawn for that one.
  const onPaper = (is) => () => {
    at("map").classList.toggle("on-paper", is);
    look();
  };
  window.addEventListener("beforeprint", onPaper(true));
  window.addEventListener("afterprint", onPaper(false));
}

/** Draws what the answer shows; what did not change is not drawn again. */
export async function showMap(isAnew = false) {
  const { answer } = state;
  if (!answer) return;
  layerChoices(answer.sheet);
  if (shown.answer === answer && !isAnew) {
    mark();
    look();
    return;
  }
  shown.answer = answer;
  const layer = at("layer").value;
  const index = layer === "" ? null : Number(layer);
  paint(answer, index);
  try {
    await fetchLayer(answer, index);
  } catch (refusal) {
    if (refusal.code !== "not-found") refused(refusal);
    return;
  }
  if (shown.answer === answer) paint(answer, index);
}

function layerChoices(sheet) {
  const names = ["what is done first", ...sheet.layers.map((layer) => layer.name)];
  const old = [...at("layer").options].map((option) => option.textContent);
  if (old.join() === names.join()) return;
  const chosen = at("layer").value;
  at("layer").replaceChildren(...names.map((name, place) => make("option", { value: place ? place - 1 : "" }, name)));
  at("layer").value = chosen;
}

/** The samples and, of a layer, its map and values: asked for once for each saved plan, and anew where the changes make other maps. */
async function fetchLayer(answer, index) {
  const key = answer.has_own_maps ? `tried ${answer.id}` : `saved ${answer.plan}`;
  if (shown.key !== key) {
    shown.samples = await get(`/api/answers/${answer.id}/samples`);
    shown.key = key;
    shown.values.clear();
    shown.raster = null;
    tell("samples");
  }
  if (index === null) return;
  if (!shown.values.has(index)) shown.values.set(index, await get(`/api/answers/${answer.id}/values/${index}`));
  const part = at("uncertain").checked ? "uncertainty" : "values";
  const name = `${key} ${index} ${part}`;
  if (shown.raster?.name !== name) {
    const layer = answer.sheet.layers[index];
    shown.raster = { name, numbers: layer.is_drawn ? await numbers(`/api/answers/${answer.id}/maps/${index}/${part}`) : null };
  }
}

/** Draws an answer. The drawing itself and its samples stay where they are the same: of thousands of readings that is most of the work. */
function paint(answer, index) {
  const { ground } = answer.sheet;
  const layer = index === null ? null : answer.sheet.layers[index];
  const svg = (shown.svg ??= newDrawing());
  svg.setAttribute("aria-label", `Map: ${layer ? layer.name : "zones by what is done first"}. Arrow keys move it, plus and minus bring it closer and farther.`);
  const hadFocus = svg.contains(document.activeElement) ? (document.activeElement.dataset.zone ?? "") : null;
  svg.querySelector(".ground").replaceChildren(
    ...(layer && shown.raster?.numbers ? [picture(ground.grid, shown.raster.numbers, rangeOf(layer), answer.sheet.ramp)] : []),
    ...areas(answer.sheet, layer),
    ...ground.kept_out.map(([why, rings]) => draw("path", { class: "out", d: path(rings), "fill-rule": "evenodd" }, draw("title", {}, why))),
    draw("path", { class: "field-edge", d: path(ground.boundary) }),
    ...ground.strips.map(([name, ring]) => draw("path", { class: "check-strip", d: path([ring]) }, draw("title", {}, name))),
  );
  paintSamples(answer, layer, index);
  at("not-drawn").hidden = !layer || layer.is_drawn;
  at("not-drawn").textContent = layer && !layer.is_drawn ? `No map is drawn: ${layer.verdict}.` : "";
  look();
  mark();
  legend(answer.sheet, layer);
  if (hadFocus !== null) (svg.querySelector(`[data-zone="${hadFocus}"]`) ?? svg).focus({ preventScroll: true });
}

function newDrawing() {
  const parts = ["ground", "cores", "numbers", "drawing"].map((name) => draw("g", { class: name, "aria-hidden": name === "ground" ? undefined : "true" }));
  const svg = draw("svg", { tabindex: "0", role: "group" }, hatching(), parts);
  listenTo(svg);
  at("map").replaceChildren(svg, make("div", { id: "north", "aria-hidden": "true" }, "N ↑"), make("div", { id: "scale" }));
  return svg;
}

/** The samples, drawn again only where they, their values or those left out are others. */
function paintSamples(answer, layer, index) {
  const values = index === null ? null : shown.values.get(index);
  const wanted = at("cores").checked ? [shown.samples, values, JSON.stringify(layer?.values), JSON.stringify(answer.left_out), answer.sheet.layers.length] : [];
  const known = shown.drawn;
  if (known && known.length === wanted.length && wanted.every((part, place) => part === known[place])) return;
  shown.drawn = wanted;
  shown.radius = null;
  shown.svg.querySelector(".cores").replaceChildren(...(at("cores").checked ? samplesOf(answer, layer, index) : []));
}

function hatching() {
  return draw(
    "defs",
    {},
    draw("pattern", { id: "hatching", width: "10", height: "10", patternUnits: "userSpaceOnUse", patternTransform: "rotate(45)" }, draw("path", { class: "hatching", d: "M0 0V10" })),
  );
}

function rangeOf(layer) {
  const range = at("uncertain").checked ? layer.errors : layer.values;
  return range ?? [0, 0, "", ""];
}

function areas(sheet, layer) {
  return sheet.ground.zones.map((rings, place) => {
    const zone = sheet.zones[place];
    const pick = () => choose({ zone: zone.zone });
    return draw("path", {
      class: layer ? "area bare" : "area",
      d: path(rings),
      fill: layer ? undefined : sheet.treatments[zone.treatment]?.colour,
      "fill-rule": "evenodd",
      role: "button",
      tabindex: "0",
      "data-zone": zone.zone,
      "aria-label": `Zone ${zone.zone}, ${zone.area} ${sheet.area_unit}: ${zone.do_first}`,
      onclick: (event) => {
        if (!event.defaultPrevented) choose({ zone: zone.zone, spot: placeOf(event) });
      },
      onkeydown: (event) => {
        if (event.key !== "Enter" && event.key !== " ") return;
        event.preventDefault();
        pick();
      },
    });
  });
}

function samplesOf(answer, layer, index) {
  const values = new Map((index === null ? [] : (shown.values.get(index) ?? [])).map(([file, place, value, text]) => [`${file} ${place}`, [value, text]]));
  const range = layer?.values ?? rangeOfSamples(values);
  const circles = shown.samples.flatMap((samples, file) =>
    samples.samples.map(([place, x, y, name]) => {
      const found = values.get(`${file} ${place}`);
      if (index !== null && !found) return null;
      const isLeft = answer.left_out.some((left) => left.file === samples.file && (left.core === name || `row ${left.row}` === name));
      return draw(
        "circle",
        {
          class: isLeft ? "core left" : "core",
          cx: x,
          cy: -y,
          fill: found && range ? colourOf(answer.sheet.ramp, range, found[0]) : "#ffffff",
          "data-sample": `${file} ${place}`,
          onclick: (event) => {
            event.stopPropagation();
            choose({ sample: { file, place } });
          },
        },
        draw("title", {}, found ? `${name}: ${found[1]}` : name),
      );
    }),
  );
  const texts = shown.samples.flatMap((samples, file) =>
    samples.samples.flatMap(([place, x, y]) => {
      const found = values.get(`${file} ${place}`);
      return found ? [draw("text", { class: "core-value", x, y: -y, "data-x": x }, String(found[1]).split(" ")[0])] : [];
    }),
  );
  return [...circles, ...(texts.length <= MOST_VALUES ? texts : [])].filter(Boolean);
}

/** Least and most value at the samples, where no map is drawn between them. */
function rangeOfSamples(values) {
  const numbers = [...values.values()].map(([value]) => value);
  const least = numbers.reduce((low, value) => Math.min(low, value), Infinity);
  const most = numbers.reduce((high, value) => Math.max(high, value), -Infinity);
  return numbers.length ? [least, most] : null;
}

/** The samples by name, for a list. */
export const sampleList = () =>
  shown.samples.flatMap((samples, file) => samples.samples.slice(0, 1000).filter(isFirst).map(([place, , , name]) => ({ file, place, name: `${samples.file}: ${name}` })));

/** A core stands in the list once, with all its depths: they have one name and one place. */
const isFirst = ([, x, y, name], at, all) => all.findIndex((other) => other[3] === name && other[1] === x && other[2] === y) === at;

/** Most samples whose values are written on the map. */
const MOST_VALUES = 200;

export function choose({ zone = null, sample = null, spot = null }) {
  state.zone = zone;
  state.sample = sample;
  state.spot = zone === null ? null : (spot ?? middleOf(zone));
  mark();
  tell("picked");
}

/** The widest place of a zone. */
export function middleOf(zone) {
  const labels = state.answer?.sheet.ground.labels ?? [];
  const widest = labels.filter(([own]) => own === zone).sort((a, b) => b[3] - a[3])[0];
  return widest ? { x: widest[1], y: widest[2] } : null;
}

function mark() {
  const { svg } = shown;
  if (!svg) return;
  svg.querySelectorAll(".chosen").forEach((element) => element.classList.remove("chosen"));
  svg.querySelectorAll(".spot").forEach((element) => element.remove());
  if (state.zone !== null) svg.querySelector(`[data-zone="${state.zone}"]`)?.classList.add("chosen");
  if (state.sample) svg.querySelector(`[data-sample="${state.sample.file} ${state.sample.place}"]`)?.classList.add("chosen");
  if (state.spot && state.view === "say-why") {
    svg.append(draw("circle", { class: "spot", cx: state.spot.x, cy: -state.spot.y, r: 9 * metresOfPixel() }));
  }
}

function legend(sheet, layer) {
  if (!layer) {
    const items = sheet.treatments.map((own) => {
      const letter = make("span", { class: "letter" }, own.letter);
      letter.style.background = own.colour;
      letter.style.color = own.ink;
      return make("li", {}, letter, make("span", {}, `${own.order} (${own.place})`));
    });
    at("legend").replaceChildren(make("ul", { class: "orders-list" }, items));
    at("map-says").textContent = sheet.why_zones;
    return;
  }
  const [, , low, high] = rangeOf(layer);
  const bar = layer.is_drawn ? [rampBar(sheet.ramp), make("div", { class: "ends" }, make("span", {}, low), make("span", {}, high))] : [];
  at("legend").replaceChildren(...bar);
  at("map-says").textContent = `${layer.name}: ${layer.verdict}. ${layer.method}`;
}

// ------------------------------------------------------------------------------------------------ looking

function whole() {
  const [west, south, east, north] = state.answer.sheet.ground.bounds;
  const rim = 0.04 * Math.max(east - west, north - south);
  return { x: west - rim, y: -north - rim, w: east - west + 2 * rim, h: north - south + 2 * rim };
}

function size() {
  const box = at("map").getBoundingClientRect();
  return { width: Math.max(1, box.width), height: Math.max(1, box.height) };
}

function metresOfPixel() {
  const { width, height } = size();
  const view = shown.view ?? whole();
  return Math.max(view.w / width, view.h / height);
}

function look() {
  const { svg } = shown;
  if (!svg) return;
  const view = (shown.view ??= whole());
  svg.setAttribute("viewBox", `${view.x} ${view.y} ${view.w} ${view.h}`);
  const metres = metresOfPixel();
  if (shown.radius !== metres) sizeSamples(metres);
  svg.querySelectorAll(".spot").forEach((circle) => circle.setAttribute("r", 9 * metres));
  svg.querySelector("#hatching")?.setAttribute("patternTransform", `rotate(45) scale(${metres})`);
  svg.querySelector(".numbers").replaceChildren(...numbersOf(metres));
  svg.querySelector(".drawing").replaceChildren(...drawnPlace(view, metres));
  svg.classList.toggle("drawn-on", drawing.isOn);
  scaleBar(metres);
}

function sizeSamples(metres) {
  const { svg } = shown;
  shown.radius = metres;
  svg.querySelectorAll(".core").forEach((circle) => circle.setAttribute("r", 4.5 * metres));
  svg.querySelectorAll(".core-value").forEach((text) => {
    text.setAttribute("font-size", 11 * metres);
    text.setAttribute("stroke-width", 3 * metres);
    text.setAttribute("x", Number(text.dataset.x) + 7 * metres);
  });
}

function numbersOf(metres) {
  const { sheet } = state.answer;
  const isByLayer = at("layer").value !== "";
  return sheet.ground.labels.flatMap(([number, x, y]) => {
    const zone = sheet.zones[number - 1];
    if (!zone) return [];
    const colour = isByLayer ? "#ffffff" : (sheet.treatments[zone.treatment]?.colour ?? "#ffffff");
    const lines = [String(number)];
    if (!isByLayer) lines.push(...sheet.columns.map((product, at) => (zone.is_applied[at] ? `${product.word} ${zone.rates[at]}` : "")).filter(Boolean).slice(0, 3));
    const room = sheet.ground.labels.find((label) => label[0] === number && label[1] === x)[3] / metres;
    return lines.slice(0, room > 55 ? 4 : 1).map((text, line) =>
      draw(
        "text",
        {
          class: "number",
          x,
          y: -y + metres * (line === 0 ? 0 : 8 + 16 * line),
          "font-size": metres * (line === 0 ? NUMBER_PX : 13),
          fill: inkOn(colour),
          stroke: colour,
          "stroke-width": metres * 4,
        },
        text,
      ),
    );
  });
}

function scaleBar(metres) {
  const [unit, length] = state.answer.sheet.ground.scale;
  const most = (size().width / 4) * (metres / length);
  const power = 10 ** Math.floor(Math.log10(most));
  const round = [5, 2, 1].map((step) => step * power).find((step) => step <= most) ?? power;
  const bar = make("span", {});
  bar.style.width = `${(round * length) / metres}px`;
  at("scale").replaceChildren(`${round} ${unit}`, bar);
}

// ------------------------------------------------------------------------------------------------ moving

/** A place of the screen on the field's plane. */
function placeOf(event) {
  const matrix = shown.svg.getScreenCTM();
  const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(matrix.inverse());
  return { x: point.x, y: -point.y };
}

function zoom(factor, around) {
  const view = shown.view ?? whole();
  const limits = whole();
  const w = Math.min(limits.w * 1.5, Math.max(limits.w / 60, view.w * factor));
  const share = w / view.w;
  const { x, y } = around ?? { x: view.x + view.w / 2, y: -(view.y + view.h / 2) };
  shown.view = { x: x - (x - view.x) * share, y: -y - (-y - view.y) * share, w, h: view.h * share };
  look();
}

function shift(dx, dy) {
  const view = shown.view ?? whole();
  shown.view = { ...view, x: view.x + dx, y: view.y + dy };
  look();
}

function listenTo(svg) {
  const fingers = new Map();
  let moved = 0;
  svg.addEventListener("pointerdown", (event) => {
    fingers.set(event.pointerId, event);
    if (fingers.size === 1) moved = 0;
  });
  svg.addEventListener("pointermove", (event) => {
    const before = fingers.get(event.pointerId);
    if (!before) return;
    const [dx, dy] = [event.clientX - before.clientX, event.clientY - before.clientY];
    moved += Math.abs(dx) + Math.abs(dy);
    if (moved <= DRAG_PX) return;
    if (!svg.hasPointerCapture(event.pointerId)) svg.setPointerCapture(event.pointerId);
    svg.classList.add("dragged");
    if (fingers.size === 2) pinch(fingers, event);
    else shift(-dx * metresOfPixel(), -dy * metresOfPixel());
    fingers.set(event.pointerId, event);
  });
  const lifted = (event) => {
    fingers.delete(event.pointerId);
    svg.classList.remove("dragged");
  };
  svg.addEventListener("pointerup", lifted);
  svg.addEventListener("pointercancel", lifted);
  const tapped = (event) => {
    if (moved <= DRAG_PX && !drawing.isOn) return;
    event.stopPropagation();
    if (moved <= DRAG_PX) addCorner(placeOf(event));
  };
  svg.addEventListener("click", tapped, { capture: true });
  svg.addEventListener(
    "wheel",
    (event) => {
      event.preventDefault();
      zoom(event.deltaY > 0 ? 1.15 : 1 / 1.15, placeOf(event));
    },
    { passive: false },
  );
  svg.addEventListener("keydown", keys);
  svg.addEventListener("keydown", (event) => drawing.isOn && drawByKeys(event), { capture: true });
}

/** The middle of what is shown, where the cross stands. */
export function middleOfMap() {
  const view = shown.view ?? whole();
  return { x: view.x + view.w / 2, y: -(view.y + view.h / 2) };
}

function drawByKeys(event) {
  const acts = { Enter: () => addCorner(middleOfMap()), " ": () => addCorner(middleOfMap()), Backspace: takeCornerBack, Escape: stopDrawing };
  if (!acts[event.key]) return;
  event.preventDefault();
  event.stopPropagation();
  acts[event.key]();
}

function pinch(fingers, event) {
  const other = [...fingers.values()].find((finger) => finger.pointerId !== event.pointerId);
  const before = fingers.get(event.pointerId);
  const apart = (finger) => Math.hypot(finger.clientX - other.clientX, finger.clientY - other.clientY);
  const middle = { clientX: (event.clientX + other.clientX) / 2, clientY: (event.clientY + other.clientY) / 2 };
  if (apart(event) > 0) zoom(apart(before) / apart(event), placeOf(middle));
}

function keys(event) {
  const step = (shown.view ?? whole()).w / 10;
  const moves = { ArrowLeft: [-step, 0], ArrowRight: [step, 0], ArrowUp: [0, -step], ArrowDown: [0, step] };
  if (moves[event.key]) shift(...moves[event.key]);
  else if (event.key === "+" || event.key === "=") zoom(0.7);
  else if (event.key === "-") zoom(1 / 0.7);
  else if (event.key === "0") {
    shown.view = null;
    look();
  } else return;
  event.preventDefault();
}
