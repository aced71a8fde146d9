// Drawings of the ground: outlines as paths, a map as a picture. East is right, north is up: y is minus north.

import { draw } from "/make.js";

export const path = (rings) => rings.map((ring) => `M${ring.map(([x, y]) => `${x} ${-y}`).join("L")}Z`).join("");

/** The ink that is read on a colour. */
export function inkOn(hex) {
  const [r, g, b] = [1, 3, 5].map((at) => Number.parseInt(hex.slice(at, at + 2), 16) / 255);
  const linear = (share) => (share <= 0.04045 ? share / 12.92 : ((share + 0.055) / 1.055) ** 2.4);
  return 0.2126 * linear(r) + 0.7152 * linear(g) + 0.0722 * linear(b) > 0.179 ? "#101418" : "#ffffff";
}

const parts = (hex) => [1, 3, 5].map((at) => Number.parseInt(hex.slice(at, at + 2), 16));

/** The colour of a value between two ends. */
export function colourOf(ramp, [low, high], value) {
  const share = high > low ? (value - low) / (high - low) : 0.5;
  return ramp[Math.round(Math.min(1, Math.max(0, share)) * (ramp.length - 1))];
}

/** A map as a picture of the grid. */
export function picture(grid, numbers, range, ramp) {
  const [west, north, cell, columns, rows] = grid;
  const canvas = document.createElement("canvas");
  canvas.width = columns;
  canvas.height = rows;
  const context = canvas.getContext("2d");
  const pixels = context.createImageData(columns, rows);
  const colours = ramp.map(parts);
  for (let at = 0; at < numbers.length; at += 1) {
    if (Number.isNaN(numbers[at])) continue;
    const share = range[1] > range[0] ? (numbers[at] - range[0]) / (range[1] - range[0]) : 0.5;
    const [r, g, b] = colours[Math.round(Math.min(1, Math.max(0, share)) * (colours.length - 1))];
    pixels.data.set([r, g, b, 255], at * 4);
  }
  context.putImageData(pixels, 0, 0);
  return draw("image", {
    href: canvas.toDataURL(),
    x: west,
    y: -north,
    width: columns * cell,
    height: rows * cell,
    preserveAspectRatio: "none",
  });
}

/** A bar of the ramp's colours. */
export function rampBar(ramp) {
  const canvas = document.createElement("canvas");
  canvas.width = ramp.length;
  canvas.height = 1;
  const context = canvas.getContext("2d");
  ramp.forEach((colour, at) => {
    context.fillStyle = colour;
    context.fillRect(at, 0, 1, 1);
  });
  return canvas;
}
