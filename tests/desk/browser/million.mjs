// Makes an INVENTED field with a million readings for timing.mjs: the sample with a table of electrical readings beside it.
//
//     node tests/desk/browser/million.mjs FOLDER [ROWS]

import { copyFileSync, createWriteStream, mkdirSync, readFileSync, readdirSync, writeFileSync } from "node:fs";
import { once } from "node:events";

const [folder, rows = "1000000"] = process.argv.slice(2);
const sample = new URL("../../../samples/alder-flat/", import.meta.url);
mkdirSync(folder, { recursive: true });
readdirSync(sample).filter((name) => /\.(csv|geojson|toml)$/.test(name)).forEach((name) => copyFileSync(new URL(name, sample), `${folder}/${name}`));
const outline = JSON.parse(readFileSync(new URL("boundary.geojson", sample), "utf8")).features[0].geometry.coordinates[0];
const [west, east] = [Math.min, Math.max].map((end) => end(...outline.map(([x]) => x)));
const [south, north] = [Math.min, Math.max].map((end) => end(...outline.map(([, y]) => y)));

// Passes from south to north, so many readings on each; the same bytes every time.
const count = Number(rows);
const passes = Math.round(Math.sqrt(count / 4));
const along = Math.ceil(count / passes);
const file = createWriteStream(`${folder}/ec.csv`);
file.write("lon,lat,eca\n");
let text = "";
for (let at = 0; at < count; at += 1) {
  const [pass, step] = [Math.floor(at / along), at % along];
  const [x, y] = [(pass + 0.5) / passes, (step + 0.5) / along];
  const noise = (((at * 2654435761) % 1000003) / 1000003 - 0.5) * 6;
  const value = 40 + 30 * x * (1 - y) + 20 * Math.abs(x - y) + noise;
  text += `${(west + x * (east - west)).toFixed(7)},${(south + y * (north - south)).toFixed(7)},${value.toFixed(2)}\n`;
  if (text.length > 1 << 20) {
    if (!file.write(text)) await once(file, "drain");
    text = "";
  }
}
file.end(text);
await once(file, "finish");
const plan = readFileSync(`${folder}/plan.toml`, "utf8");
const readings = `[[points]]                                       # INVENTED, for a measurement\nfile = "ec.csv"\nkind = "readings"\ncrs  = "EPSG:4326"\nx = "lon"\ny = "lat"\n\n  [points.columns]\n  "eca" = { is = "covariate:eca", unit = "mS/m" }\n\n`;
// The zones are others than the sample's: a strip that names one by its number lies where it will.
writeFileSync(`${folder}/plan.toml`, plan.replace(", zones = [7]", "").replace("[grid]", `${readings}[grid]`).replace('"cone_index"]', '"cone_index", "covariate:eca"]'));
console.log(`${folder}/plan.toml with ${count} readings`);
