// A place that is drawn on the map corner by corner: by mouse and finger where the map is tapped, by keys where the cross stands.

import { draw } from "/make.js";
import { tell } from "/state.js";

export const drawing = { isOn: false, corners: [] };

/** Most corners that a drawn place may have. */
const MOST_CORNERS = 1000;

export function startDrawing() {
  drawing.isOn = true;
  drawing.corners = [];
  tell("drawing");
}

export function stopDrawing() {
  if (!drawing.isOn) return;
  drawing.isOn = false;
  drawing.corners = [];
  tell("drawing");
}

export function addCorner({ x, y }) {
  if (drawing.corners.length < MOST_CORNERS) drawing.corners = [...drawing.corners, [x, y]];
  tell("drawing");
}

export function takeCornerBack() {
  drawing.corners = drawing.corners.slice(0, -1);
  tell("drawing");
}

/** Square metres inside the line so far. */
export function drawnArea() {
  const { corners } = drawing;
  const turn = corners.reduce((sum, [x, y], at) => {
    const [nextX, nextY] = corners[(at + 1) % corners.length];
    return sum + x * nextY - nextX * y;
  }, 0);
  return Math.abs(turn) / 2;
}

/** The line so far, its corners, and the cross in the middle of what is shown. */
export function drawnPlace(view, metres) {
  if (!drawing.isOn) return [];
  const { corners } = drawing;
  const line = corners.map(([x, y]) => `${x} ${-y}`).join("L");
  const cross = { x: view.x + view.w / 2, y: view.y + view.h / 2 };
  const arm = 14 * metres;
  const crossed = `M${cross.x - arm} ${cross.y}H${cross.x + arm}M${cross.x} ${cross.y - arm}V${cross.y + arm}`;
  return [
    corners.length > 1 ? draw("path", { class: "drawn-under", d: `M${line}Z` }) : null,
    corners.length > 1 ? draw("path", { class: "drawn-place", d: `M${line}Z` }) : null,
    ...corners.map(([x, y]) => draw("circle", { class: "drawn-corner", cx: x, cy: -y, r: 5 * metres })),
    draw("path", { class: "cross-under", d: crossed }),
    draw("path", { class: "cross", d: crossed }),
  ].filter(Boolean);
}
