// Take: the result folder, single files, all as one archive, the first sheet on paper.

import { base, get, post } from "/ask.js";
import { field, make } from "/make.js";
import { refused, state, tell } from "/state.js";

export async function take(panel) {
  if (!state.saved && !state.answer) {
    panel.replaceChildren(make("h2", {}, "Take"), make("p", {}, "The plan has to be put right first; what is wrong stands above."));
    return;
  }
  if (state.changes.length) {
    panel.replaceChildren(make("h2", {}, "Take"), make("p", {}, "What is tried has to be kept first, or taken back: the files are always those of the plan on the disk."));
    return;
  }
  const { id } = state.answer;
  const files = make("div", {}, make("p", {}, "Making the files ..."));
  panel.replaceChildren(make("h2", {}, "Take"), folderForm(id), ways(id), files);
  try {
    const listed = await get(`/api/answers/${id}/files`);
    files.replaceChildren(make("h3", {}, "Single files"), ...groups(id, listed));
  } catch (refusal) {
    files.replaceChildren();
    refused(refusal);
  }
}

/** The files of the top folder, and those below folded by folder. */
function groups(id, listed) {
  const items = (files) => make("ul", { class: "files" }, files.map(([path, bytes]) => make("li", {}, link(id, path), ` ${size(bytes)}`)));
  const folders = new Map();
  listed.forEach((file) => {
    const folder = file[0].includes("/") ? file[0].slice(0, file[0].lastIndexOf("/")) : "";
    folders.set(folder, [...(folders.get(folder) ?? []), file]);
  });
  return [...folders].sort(([a], [b]) => a.localeCompare(b)).map(([folder, files]) => (folder ? make("details", {}, make("summary", {}, `${folder}: ${files.length} files`), items(files)) : items(files)));
}

const link = (id, path) => make("a", { href: `${base}/api/answers/${id}/file?path=${encodeURIComponent(path)}`, download: path.split("/").pop() }, path);
const size = (bytes) => (bytes < 1e4 ? `${bytes} bytes` : bytes < 1e6 ? `${Math.round(bytes / 1e3)} kB` : `${(bytes / 1e6).toFixed(1)} MB`);

function folderForm(id) {
  const out = make("input", { type: "text", value: folderName(), required: true, id: "out" });
  const says = make("p", { role: "status" });
  const submit = async (event) => {
    event.preventDefault();
    tell("act");
    try {
      const taken = await post("/api/take", { answer: id, out: out.value });
      says.textContent = `${taken.files.length} files lie in ${taken.folder}`;
    } catch (refusal) {
      refused(refusal);
    }
  };
  return make("form", { class: "fields", onsubmit: submit }, field("Result folder beside the plan", out), make("span", {}), make("button", { type: "submit" }, "Write the folder"), make("span", {}), says);
}

/** The folder that results of this plan go to. */
export const folderName = () => `${(state.answer?.sheet.field ?? "result").toLowerCase().replace(/[^a-z0-9]+/g, "-")}-out`;

function ways(id) {
  const print = () => {
    document.querySelectorAll(".print-frame").forEach((old) => old.remove());
    const frame = make("iframe", { class: "print-frame", title: "The report, to be printed", src: `${base}/api/answers/${id}/report`, tabindex: "-1", "aria-hidden": "true" });
    frame.addEventListener("load", () => frame.contentWindow.print());
    document.body.append(frame);
  };
  return make(
    "p",
    {},
    make("a", { href: `${base}/api/answers/${id}/zip`, download: "result.zip", id: "zip" }, "All files as one archive"),
    " ",
    make("button", { type: "button", onclick: print }, "Print the first sheet"),
  );
}
