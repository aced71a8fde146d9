// Elements. Texts of the user's go in as texts, never as markup.

const SVG = "http://www.w3.org/2000/svg";

function put(element, attributes, children) {
  for (const [name, value] of Object.entries(attributes ?? {})) {
    if (value === undefined || value === null || value === false) continue;
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else if (value === true) element.setAttribute(name, "");
    else element.setAttribute(name, String(value));
  }
  element.append(...children.flat(3).filter((child) => child !== null && child !== undefined && child !== false));
  return element;
}

export const make = (name, attributes, ...children) => put(document.createElement(name), attributes, children);
export const draw = (name, attributes, ...children) => put(document.createElementNS(SVG, name), attributes, children);
export const list = (texts) => make("ul", { class: "lines" }, texts.map((text) => make("li", {}, text)));
export const titled = (title, texts) => (texts.length ? [make("h2", {}, title), list(texts)] : []);

/** Markup that the desk made and escaped itself: a zone's chapter, the cone charts. */
export function markup(text) {
  const holder = document.createElement("template");
  holder.innerHTML = text;
  return holder.content;
}

/** A labelled row of a form. */
let fields = 0;
export function field(label, input) {
  input.id ||= `field-${(fields += 1)}`;
  return [make("label", { for: input.id }, label), input];
}

export function choices(options, chosen, attributes) {
  return make("select", attributes, options.map(([value, text]) => make("option", { value, selected: value === chosen }, text ?? value)));
}
