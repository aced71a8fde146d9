// Begin: files are dropped or found in the folder, every column is shown with what it is taken for, and a plan is written.

import { get, post, put } from "/ask.js";
import { choices, field, make } from "/make.js";
import { attempt, readDesk, refused, state, tell } from "/state.js";

const begun = { boundary: "", points: [], changes: [], answer: null, words: null };
const isOfPoints = (name) => /\.(csv|txt|tsv|xlsx|xls|ods|geojson|json|shp|zip|kml|kmz|gpkg|parquet|xml)$/i.test(name);

export async function begin(panel) {
  const result = make("div", {});
  // A plan that cannot be run may be begun again; Undo brings the first one back.
  const isOpen = !state.desk?.plan || !state.answer;
  const chosen = make("div", {});
  panel.replaceChildren(make("h2", {}, state.desk?.plan ? "The files of this plan" : "Begin"), drop(panel), isOpen ? fileChoice(chosen) : "", chosen, result);
  try {
    begun.words ??= await get("/api/words");
    if (state.desk?.plan) await ofPlan(result);
    if (isOpen && begun.answer) show(chosen);
  } catch (refusal) {
    refused(refusal);
  }
}

/** A place to drop files on, and a button that does the same by keyboard. */
export function drop(panel, done = () => begin(panel)) {
  const input = make("input", { type: "file", multiple: true, "aria-label": "Files" });
  const take = async (files) => {
    tell("act");
    for (const file of files) await upload(file);
    await readFiles();
    done();
  };
  input.addEventListener("change", () => take([...input.files]));
  const box = make("div", { class: "drop" }, make("p", {}, "Drop files here, or choose them. They are copied into the folder of the plan and go nowhere else."), input);
  box.addEventListener("dragover", (event) => {
    event.preventDefault();
    box.classList.add("over");
  });
  box.addEventListener("dragleave", () => box.classList.remove("over"));
  box.addEventListener("drop", (event) => {
    event.preventDefault();
    box.classList.remove("over");
    take([...event.dataTransfer.files]);
  });
  return box;
}

async function upload(file) {
  const address = `/api/files/${encodeURIComponent(file.name)}`;
  try {
    await put(address, file);
    tick(file.name);
  } catch (refusal) {
    const isThere = refusal.problems?.some((problem) => problem.includes("is there already"));
    if (!isThere) return refused(refusal);
    if (window.confirm(`"${file.name}" is in the folder already. Replace it?`)) await put(`${address}?replace=1`, file).catch(refused);
  }
}

/** A table that was dropped is read, unless its tick is taken away. */
function tick(name) {
  if (/\.(csv|txt|tsv|xlsx|xls|ods)$/i.test(name) && !begun.points.includes(name)) begun.points.push(name);
}

async function readFiles() {
  try {
    state.desk.files = (await get("/api/state")).files;
  } catch (refusal) {
    refused(refusal);
  }
}

function fileChoice(result) {
  const names = state.desk.files.map((file) => file.name).filter(isOfPoints);
  if (!names.length) return make("p", {}, "The folder holds no files yet: a boundary (GeoJSON, shapefile, KML), cores, cone pushes.");
  const isBoundary = (name) => /bound|field|grenze|outline/i.test(name) && !/\.(csv|xlsx|txt)$/i.test(name);
  begun.boundary ||= names.find(isBoundary) ?? names.find((name) => /\.(geojson|shp|kml|gpkg)$/i.test(name)) ?? "";
  if (!begun.points.length) begun.points = names.filter((name) => name !== begun.boundary && /\.(csv|txt|tsv|xlsx|xls|ods)$/i.test(name));
  const boundary = choices([["", "choose"], ...names.map((name) => [name])], begun.boundary, { onchange: (event) => (begun.boundary = event.target.value) });
  const boxes = names.map((name) => {
    const input = make("input", { type: "checkbox", value: name, checked: begun.points.includes(name) });
    input.addEventListener("change", () => (begun.points = boxes.filter((box) => box.checked).map((box) => box.value)));
    return input;
  });
  const read = make("button", { type: "button", onclick: () => ask(result) }, "Read them");
  return make(
    "div",
    {},
    make("div", { class: "fields" }, field("The field's boundary", boundary)),
    make("fieldset", {}, make("legend", {}, "Cores, cone pushes, readings"), make("div", { class: "several" }, boxes.map((input) => make("label", { class: "check" }, input, ` ${input.value}`)))),
    make("p", {}, read),
  );
}

async function ask(result) {
  tell("act");
  begun.changes = [];
  await askAgain(result);
}

async function askAgain(result) {
  try {
    begun.answer = await post("/api/columns", { first: { boundary: begun.boundary, points: begun.points }, changes: begun.changes });
    begun.points = begun.points.filter((name) => !begun.answer.unread.some((own) => own.file === name));
    show(result);
  } catch (refusal) {
    if (refusal.code !== "newer") refused(refusal);
  }
}

async function ofPlan(result) {
  const changes = state.changes.map((tried) => tried.change);
  const answer = await post("/api/columns", { plan: state.desk.plan, changes });
  renew(result, ...tables(answer, (id, change, label) => attempt(id, change, label)), text(answer));
}

/** Puts new children in place; the keyboard goes on where it was. */
function renew(result, ...children) {
  const { id } = document.activeElement ?? {};
  result.replaceChildren(...children);
  if (id && document.activeElement === document.body) document.getElementById(id)?.focus({ preventScroll: true });
}

function show(result) {
  const { answer } = begun;
  const change = (id, own) => {
    begun.changes = [...begun.changes.filter((known) => known.id !== id), { ...own }];
    askAgain(result);
  };
  const isRunnable = !answer.problems.length && answer.files.every((file) => file.columns.every((column) => !column.problems.length));
  const verb = state.desk.plan ? "Write anew" : "Write";
  const write = make("button", { type: "button", id: "write-plan", onclick: writePlan }, `${verb} ${state.desk.plan_file}${isRunnable ? "" : ", though it cannot be run yet"}`);
  const unread = answer.unread.map((own) => make("p", { class: "problem" }, `${own.file} is left out: ${own.problems.join("; ")}`));
  renew(result, ...unread, ...(isRunnable ? [] : [make("p", { class: "problem" }, "This plan cannot be run as it is: put right what stands below, or leave a file out, before it is written.")]), ...tables(answer, change), heads(answer, change), make("p", {}, write), text(answer));
}

async function writePlan() {
  try {
    await post("/api/first", { first: { boundary: begun.boundary, points: begun.points }, changes: begun.changes, replaces: state.desk.plan });
    begun.answer = null;
    state.next = "see";
    await readDesk();
    tell("view");
  } catch (refusal) {
    refused(refusal);
  }
}

/** Name, season and crop of a first plan. */
function heads(answer, change) {
  const now = (key) => answer.text.match(new RegExp(`^${key}\\s*= "?([^"#\\n]*?)"?\\s*(#|$)`, "m"))?.[1].trim() ?? "";
  const input = (key, type) =>
    make("input", {
      id: `head-${key}`,
      type,
      value: now(key),
      onchange: (event) => change(key, { what: "set", key, value: type === "number" ? Number(event.target.value) : event.target.value }),
    });
  return make("div", { class: "fields" }, field("Name of the field", input("field", "text")), field("Season", input("season", "number")), field("Crop", input("crop", "text")));
}

const text = (answer) => make("details", {}, make("summary", {}, "The plan file as it will be written"), make("pre", { tabindex: "0" }, answer.text));

function tables(answer, change) {
  const said = [
    ...answer.problems.map((problem) => make("p", { class: "problem" }, problem)),
    answer.remarks.length ? make("details", {}, make("summary", {}, answer.remarks.length === 1 ? "1 guess or note" : `${answer.remarks.length} guesses and notes`), make("ul", {}, answer.remarks.map((remark) => make("li", {}, remark)))) : null,
  ];
  return [...said.filter(Boolean), ...answer.files.map((file) => fileTable(file, change))];
}

function fileTable(file, change) {
  const heads = ["Column", "Values", "Taken for", "Method", "Unit", "Depth"];
  const rows = file.columns.map((column) => columnRow(file, column, change));
  return make(
    "section",
    { "aria-label": file.file },
    make("h3", {}, `${file.file} (${file.kind})`),
    make("div", { class: "wide", tabindex: "0", role: "group", "aria-label": `Columns of ${file.file}` }, make("table", { class: "columns" }, make("thead", {}, make("tr", {}, heads.map((head) => make("th", { scope: "col" }, head)))), make("tbody", {}, rows))),
  );
}

function columnRow(file, column, change) {
  const now = { is: column.is, method: column.method, unit: column.unit, depth: column.depth };
  const known = (name) => begun.words.find((word) => word.name === name);
  const send = (part) => {
    const next = { ...now, ...part };
    if ("is" in part) Object.assign(next, { method: null, unit: known(part.is)?.units.includes(now.unit) ? now.unit : null });
    const own = { what: "column", file: file.file, column: column.name, is: next.is || null, method: next.method || null, unit: next.unit || null, depth: next.depth || null };
    change(`column ${file.file} ${column.name}`, { ...own }, `${column.name} is ${next.is ? (known(next.is)?.label ?? next.is) : "not read"}`);
  };
  const cell = (head, ...inner) => make("td", { "data-head": head }, inner);
  const label = (what) => `${what} of ${column.name}`;
  const head = make("th", { scope: "row" }, column.name, ...column.problems.map((problem) => make("p", { class: "problem" }, problem)), column.remarks.length ? make("details", {}, make("summary", {}, column.remarks.length === 1 ? "1 note" : `${column.remarks.length} notes`), column.remarks.map((remark) => make("p", { class: "small" }, remark))) : null);
  const values = cell("values", column.values.join(", ") || "empty");
  if (column.role && column.role !== "not read") return make("tr", {}, head, values, cell("taken for", column.role), cell("", ""), cell("", ""), cell("", ""));
  const names = [["", "not read"], ...begun.words.map((word) => [word.name, word.label])];
  if (column.is && !known(column.is)) names.push([column.is]);
  const word = known(column.is);
  const select = (what, options, chosen, part) => choices(options, chosen ?? "", { id: `${what} ${file.file} ${column.name}`.replace(/[^A-Za-z0-9]+/g, "-"), "aria-label": label(what), onchange: (event) => send({ [part]: event.target.value }) });
  const own = (options, chosen) => [["", "not said"], ...new Set([...options, chosen].filter(Boolean))].map((option) => (Array.isArray(option) ? option : [option]));
  return make(
    "tr",
    {},
    head,
    values,
    cell("taken for", select("Meaning", names, column.is, "is"), column.is && !column.is_said ? make("span", { class: "small" }, " guessed") : null),
    cell("method", word?.methods.length ? select("Method", own(word.methods, column.method), column.method, "method") : ""),
    cell("unit", word?.units.some(Boolean) ? select("Unit", own(word.units, column.unit), column.unit, "unit") : (column.unit ?? "")),
    cell("depth", column.depth ?? ""),
  );
}
