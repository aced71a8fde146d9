// Questions to the desk. Every one says which window asks, so that a newer change of this window stops an older one.

const windowName = crypto.randomUUID();

/** Where the desk of this page answers: a field of a farm has one of its own below the farm's. */
export const base = location.pathname.startsWith("/fields/") ? location.pathname.replace(/\/$/, "") : "";

/** Why something was not done. */
export class Refusal extends Error {
  constructor(status, code, problems) {
    super(problems.join("\n"));
    this.status = status;
    this.code = code;
    this.problems = problems;
  }
}

/** Where the engine names an option of the command line or a place in the plan's text, the page has a control of its own. */
const inPageWords = (problem) => problem.replace(/choose another folder with --out/g, "choose another folder name").replace(/^plan\.toml, row \d+, key /, "");

async function reply(method, address, body) {
  const options = { method, headers: { "x-desk-window": windowName }, body };
  let answer;
  try {
    answer = await fetch(base + address, options);
  } catch {
    throw new Refusal(0, "gone", ["The desk does not answer: it was stopped. Start it again; the plan on the disk is as it was kept."]);
  }
  if (answer.ok) return answer;
  const told = await answer.json().catch(() => ({ code: "refused", problems: [`The desk refused this (${answer.status}).`] }));
  throw new Refusal(answer.status, told.code, told.problems.map(inPageWords));
}

export const get = async (address) => (await reply("GET", address)).json();
export const post = async (address, value) => (await reply("POST", address, JSON.stringify(value))).json();
export const put = async (address, body) => (await reply("PUT", address, body)).json();
export const numbers = async (address) => new Float32Array(await (await reply("GET", address)).arrayBuffer());
