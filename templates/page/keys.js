// The keys of a document: what each means and takes, from the engine; and the order in which a shop meets them.

import { state } from "./state.js";

/** Whether a key holds tables of its own. */
export const isTable = (node) => node.kind === "table" || node.kind === "tables";

/** The unit of a bare number of a key; none where it has none. */
export const unitOf = (node) => (node.unit === "length" ? (state.view?.unit ?? "mm") : node.unit);

const LABELS = {
  cured_group: "Glued before, group", from: "From", resin_least: "Resin: coldest cure", resin_most: "Resin: warmest cure",
  cure_above_room: "Cure above the room", modulus_cv: "Modulus scatter", below: "Below the skin",
};

/** A key as a label. */
export function labelOf(key) {
  if (LABELS[key]) return LABELS[key];
  const words = key.replace(/_/g, " ");
  return words[0].toUpperCase() + words.slice(1);
}

const length = (mm) => (state.view?.unit === "in" ? (mm / 25.4).toFixed(2) : String(mm));

/** Height of the wanted tip and tail, mm. */
function ends() {
  const wanted = (state.view?.wanted ?? state.good?.wanted) || [[0, 0, 45], [0, 0, 45]];
  return { tail: Math.max(wanted[0][2], 1), tip: Math.max(wanted[wanted.length - 1][2], 1), wanted };
}

function boardLength() {
  const { wanted } = ends();
  return wanted[wanted.length - 1][0] - wanted[0][0] || 1400;
}

/** Heights of the wanted board at some stations, as readings. */
function readings() {
  const { wanted } = ends();
  const every = Math.max(Math.floor(wanted.length / 14), 1);
  const some = wanted.filter((_, i) => i % every === 0 || i === wanted.length - 1);
  return some.map(([s, , z]) => `[${length(Math.round(s - wanted[0][0]))}, ${length(+z.toFixed(1))}]`).join(", ");
}

const bearing = () => `thickness = ${length(18)}\nlowest_height = ${length(60)}\n`;

/** How a curve of one bend is shown. */
const BEND = { by: { height: "Height", radius: "Radius", angle: "Angle", rise: "Rise over a chord" }, first: ["length"] };

/**
 * How the tables of a document are shown: `choice` are tables of which one is there, `by` are keys of which one is there,
 * `first` are the keys that matter first, `seeds` are what a new table begins with.
 */
const LAYOUT = {
  board: { first: ["length", "width", "overhang"] },
  rocker: {
    choice: { arc: "One curve", segments: "Parts", curve: "Curvature", measured: "Measured", drawing: "Drawing" },
    seeds: {
      arc: () => `height = ${length(+((ends().tip + ends().tail) / 2).toFixed(1))}\n`,
      segments: () => {
        const part = (z) => `{ arc = { length = ${length(Math.round(boardLength() * 0.25))}, height = ${length(+z.toFixed(1))} } }`;
        return `parts = [\n  ${part(ends().tail)},\n  { flat = {} },\n  ${part(ends().tip)},\n]\n`;
      },
      curve: () => {
        const radius = length(Math.round(boardLength() ** 2 / (8 * Math.max(ends().tip, 1))));
        return `points = [\n  { station = 0, radius = ${radius} },\n  { station = ${length(Math.round(boardLength()))}, radius = ${radius} },\n]\n`;
      },
      measured: () => `readings = [${readings()}]\n`,
      drawing: () => `file = "profile.dxf"\n`,
    },
  },
  arc: BEND,
  camber: BEND,
  segments: { first: ["parts", "mirrored", "tip_height", "tail_height"] },
  parts: { choice: { arc: "Arc", flat: "Flat", camber: "Camber", easing: "Easing" }, seeds: {
    arc: () => `length = ${length(200)}\nheight = ${length(30)}\n`, flat: () => `length = ${length(100)}\n`,
    camber: () => `length = ${length(200)}\nheight = ${length(3)}\n`, easing: () => `length = ${length(100)}\n`,
  } },
  flat: { first: ["length"] },
  easing: { first: ["length"] },
  curve: { first: ["points", "from"] },
  points: { by: { radius: "Radius", curvature: "Curvature" }, first: ["station"] },
  measured: { first: ["readings", "datum", "from", "error"] },
  layers: { first: ["name", "material", "thickness", "plies"] },
  pressing: {
    choice: { vacuum: "Vacuum bag", press: "Press", clamps: "Clamps", weights: "Weights" },
    seeds: {
      vacuum: () => `pressure = "85 kPa"\n`, press: () => `pressure = "3 bar"\n`,
      clamps: () => `count = 12\nforce = "1.5 kN"\n`, weights: () => `mass = "150 kg"\n`,
    },
  },
  vacuum: { first: ["pressure", "below", "altitude"] },
  press: { first: ["pressure"] },
  clamps: { first: ["count", "force"] },
  weights: { first: ["mass"] },
  table: {
    choice: { ribs: "Ribs along the board", bearers: "Bearers across" },
    seeds: { ribs: () => `pitch = ${length(110)}\n${bearing()}`, bearers: () => `pitch = ${length(100)}\n${bearing()}` },
    first: ["skin", "film", "side_margin", "end_margin", "station_pitch"],
  },
  ribs: { first: ["pitch", "thickness", "lowest_height"] },
  bearers: { first: ["pitch", "thickness", "lowest_height"] },
  rods: { first: ["diameter", "count"] },
  stock: { first: ["name", "length", "width", "thickness"] },
  "bars.spacers": { first: ["stock", "kerf"] },
  "bars.rods": { first: ["stock", "kerf"] },
  "bars.stock": { first: ["length", "quantity"] },
  forecast: { first: ["draws", "springback", "springback_error"] },
  files: { first: ["paper", "dxf", "roll"] },
  existing_table: { first: ["length", "surface"] },
};

/** How the table at a path is shown, by the last key of the path. */
export function layoutOf(path) {
  const key = path.replace(/\[\d+\]/g, "").split(".").pop();
  return LAYOUT[path.startsWith("bars.") ? `bars.${key}` : key === "surface" ? "rocker" : key] ?? {};
}

/** What a new table or a new entry of a list begins with. */
const SEEDS = {
  layers: () => `material = "paulownia"\nthickness = ${length(4)}\n`,
  parts: () => `flat = { length = ${length(100)} }\n`,
  points: () => `station = ${length(Math.round(boardLength()))}\nradius = ${length(5000)}\n`,
  rods: () => `diameter = "10 mm"\ncount = 4\n`,
  stock: (path) => (path.startsWith("bars") ? `length = ${length(2400)}\n` : `length = ${length(2440)}\nwidth = ${length(1220)}\n`),
  spacers: () => `stock = [{ length = ${length(2400)} }]\nkerf = ${length(2.5)}\n`,
  materials: () => `name = "our wood"\nlike = "ash, white"\n`,
  alternatives: () => `name = "other stack"\n[[layers]]\nmaterial = "ash, white"\nthickness = ${length(4)}\nplies = 2\n`,
  existing_table: () => `length = ${length(Math.round(boardLength() + 250))}\n[surface.arc]\nheight = ${length(+ends().tip.toFixed(1))}\n`,
  sag_test: () => `span = ${length(600)}\nload = "1 kg"\nsag = ${length(6)}\nwidth = ${length(40)}\nthickness = ${length(8)}\n`,
  caul: () => `thickness = ${length(18)}\nmodulus = "9 GPa"\n`,
  cross_members: () => `count = 3\nthickness = ${length(18)}\n`,
  concave: () => `radius = ${length(800)}\n`,
};
SEEDS.rods_bars = SEEDS.spacers;

export function seedOf(path, key) {
  const seed = key === "rods" && path.startsWith("bars") ? SEEDS.rods_bars : SEEDS[key];
  return seed ? seed(path) : "";
}

/** The steps of the shop's day: a name, what it holds at once, and what is one step away. */
export const DAY = [
  { id: "board", name: "Board", keys: ["title", "board", "rocker"], more: ["units", "inch_fraction"] },
  { id: "layers", name: "Layers", keys: ["layers"], more: ["materials", "forecast", "alternatives"] },
  { id: "pressing", name: "Pressing", keys: ["pressing"], more: [] },
  { id: "table", name: "Table", keys: ["table"], more: ["existing_table"] },
  { id: "stock", name: "Stock", keys: ["stock", "bars"], more: ["nesting", "files"] },
];
