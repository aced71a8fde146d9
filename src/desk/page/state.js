// What this window knows: the saved plan, the changes that are tried on it, and the answers. The plan on the disk is the only place where
// anything is kept.

import { Refusal, get, post } from "/ask.js";

export const state = {
  desk: null,
  /** Changes that are tried: { id, change, label }. */
  changes: [],
  past: [],
  /** Answers to the saved plan and to the plan with the changes. */
  saved: null,
  answer: null,
  view: null,
  zone: null,
  sample: null,
  spot: null,
  milliseconds: null,
  /** Whether the answer that is shown is not that of the changes: they are being calculated, or were refused. */
  isPending: false,
  isRefused: false,
  /** Why the last question was refused. */
  problems: [],
  isOfStrips: false,
};

const listeners = [];
export const listen = (listener) => listeners.push(listener);
export const tell = (what) => listeners.forEach((listener) => listener(what));

let asked = 0;

/** Reads the plan on the disk anew. */
export async function readDesk() {
  state.desk = await get("/api/state");
  state.saved = state.answer = null;
  state.isRefused = false;
  if (state.desk.plan) await ask();
  tell("desk");
}

/** Asks for the plan with the changes. An answer that a newer question made old is dropped. */
export async function ask() {
  const own = (asked += 1);
  const start = performance.now();
  state.isPending = true;
  tell("busy");
  try {
    const changes = state.changes.map((tried) => tried.change);
    const answer = await post("/api/answer", { plan: state.desk.plan, changes });
    if (own !== asked) return;
    state.answer = answer;
    state.isPending = state.isRefused = false;
    if (answer.is_saved) state.saved = answer;
    tell("answer");
    state.milliseconds = performance.now() - start;
    document.documentElement.dataset.answered = String(own);
    document.documentElement.dataset.milliseconds = state.milliseconds.toFixed(1);
    tell("idle");
  } catch (refusal) {
    if (own !== asked) return;
    state.isPending = false;
    state.isRefused = true;
    if (refusal.code === "newer") return tell("idle");
    tell("idle");
    refused(refusal);
  }
}

export function refused(refusal) {
  if (!(refusal instanceof Refusal)) throw refusal;
  tell({ refusal });
}

/** Tries a change; one with the same id is replaced, and taken away where the change is nothing. */
export function attempt(id, change, label) {
  state.past.push(state.changes);
  const others = state.changes.filter((tried) => tried.id !== id);
  state.changes = change ? [...others, { id, change, label }] : others;
  tell("changes");
  return ask();
}

export const tried = (id) => state.changes.find((known) => known.id === id);

/** Takes the last change back; where none is tried, the last one that was kept. */
export async function undo() {
  try {
    if (state.past.length) {
      state.changes = state.past.pop();
      tell("changes");
      await ask();
      tell("undone");
      return;
    }
    await post("/api/back", { plan: state.desk.plan });
    await readDesk();
  } catch (refusal) {
    refused(refusal);
  }
}

/** Writes the changes into the plan. */
export async function keep(why) {
  try {
    const changes = state.changes.map((tried) => tried.change);
    await post("/api/keep", { plan: state.desk.plan, changes, why });
    drop();
    await readDesk();
    tell("kept");
    return true;
  } catch (refusal) {
    refused(refusal);
    return false;
  }
}

export function drop() {
  state.changes = [];
  state.past = [];
  tell("changes");
}
