// The board and its table from the side: wanted, table, released with its band; handles to drag.

import { h, s } from "./dom.js";
import { state, on, take, endStep, tell, opened } from "./state.js";

const ENLARGED = [1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20];
const EDGE = { left: 14, right: 14, top: 18, bottom: 30 };
const STEPS_MM = [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000];
const STEPS_IN = [0.25, 0.5, 1, 2, 4, 6, 12, 24, 48, 96, 192];

let trueScale = false;
let parts = null;
let scale = null;
let reading = null;

/** Builds the picture once; it follows the document by itself. */
export function showPicture(place) {
  parts = {
    grid: s("g", { class: "grid" }),
    body: s("path", { class: "body" }),
    names: s("g"),
    wanted: s("path", { class: "wanted" }),
    table: s("path", { class: "tabled" }),
    released: s("path", { class: "released" }),
    bands: s("g", { class: "bands" }),
    probe: s("g", { class: "probe" }),
    read: s("g", { class: "read" }),
    handles: s("g", { class: "handles" }),
  };
  parts.svg = s("svg", { role: "group", "aria-label": "Side view", onpointermove: probe, onpointerleave: noProbe }, Object.values(parts));
  parts.readout = h("span", { class: "readout" });
  parts.words = h("p", { class: "away", id: "picture-words" });
  parts.svg.setAttribute("aria-describedby", "picture-words");
  const choice = (name, value) =>
    h("label", {}, h("input", { type: "radio", name: "scale", checked: value === trueScale, onchange: () => { trueScale = value; draw(); } }), h("span", {}, name));
  parts.enlarged = h("span");
  place.append(
    h("div", { class: "legend" },
      ["wanted", "tabled", "released"].map((kind, i) => h("span", { class: `key ${kind}` }, ["Wanted", "Table", "Released"][i])),
      parts.readout,
      h("fieldset", { class: "segments small" }, h("legend", { class: "away" }, "Scale of heights"), choice(parts.enlarged, false), choice("True scale", true))),
    parts.svg, parts.words);
  new ResizeObserver(draw).observe(place);
  on("view", draw);
  on("full", draw);
}

function extent(view) {
  let [x0, x1, z1] = [Infinity, -Infinity, 0];
  let z0 = 0;
  for (const curve of [view.wanted, view.table]) {
    for (const [, x, z] of curve ?? []) {
      x0 = Math.min(x0, x);
      x1 = Math.max(x1, x);
      z0 = Math.min(z0, z);
      z1 = Math.max(z1, z);
    }
  }
  return { x0, x1, z0, z1 };
}

/** The scale is kept while a hand holds a handle, so that the board stays under it. */
function measure(view) {
  const box = parts.svg.getBoundingClientRect();
  const { x0, x1, z0, z1 } = extent(view);
  const width = Math.max(box.width, 200);
  const height = Math.max(box.height, 100);
  const perMm = (width - EDGE.left - EDGE.right) / (x1 - x0);
  const room = height - EDGE.top - EDGE.bottom;
  const most = room / Math.max(perMm * (z1 - z0), 1);
  const times = trueScale ? Math.min(1, most) : (ENLARGED.filter((n) => n <= most).pop() ?? most);
  // The view from the side leans on the floor, with what is left of the height above it.
  const floor = height - EDGE.bottom + z0 * perMm * times;
  return {
    width, height, perMm, times, floor, x0, x1, bottom: height - EDGE.bottom,
    x: (mm) => EDGE.left + (mm - x0) * perMm,
    y: (mm) => floor - mm * perMm * times,
    mm: (px) => x0 + (px - EDGE.left) / perMm,
    up: (py) => (floor - py) / (perMm * times),
  };
}

function line(points) {
  return "M" + points.map(([, x, z]) => `${scale.x(x).toFixed(1)} ${scale.y(z).toFixed(1)}`).join("L");
}

function draw() {
  const view = state.view?.wanted ? { ...state.good, ...state.view } : state.good;
  if (!parts || !view?.wanted) return;
  if (!state.held || !scale) scale = measure(view);
  const stale = !state.view?.table;
  parts.svg.setAttribute("viewBox", `0 0 ${scale.width} ${scale.height}`);
  parts.svg.classList.toggle("stale", stale);
  parts.enlarged.textContent = trueScale ? "Enlarged" : `Heights × ${+scale.times.toFixed(1)}`;
  parts.wanted.setAttribute("d", line(view.wanted));
  for (const [part, points] of [[parts.table, view.table], [parts.released, view.released]]) {
    part.setAttribute("d", points ? line(points) : "");
  }
  if (view.table) {
    const ends = [view.table[0], view.table[view.table.length - 1]].map(([, x]) => scale.x(x).toFixed(1));
    parts.body.setAttribute("d", `${line(view.table)}L${ends[1]} ${scale.bottom}L${ends[0]} ${scale.bottom}Z`);
  }
  drawGrid(view);
  drawBands(view);
  drawRead(view);
  drawHandles(view);
  if (reading !== null) showReading(view);
  parts.words.textContent = inWords(view);
}

function drawGrid(view) {
  const unit = view.unit === "in" ? 25.4 : 1;
  const steps = view.unit === "in" ? STEPS_IN : STEPS_MM;
  const step = steps.find((n) => n * unit * scale.perMm >= 56) ?? steps[steps.length - 1];
  const rise = steps.find((n) => n * unit * scale.perMm * scale.times >= 34) ?? steps[steps.length - 1];
  const marks = [];
  for (let n = Math.ceil(scale.x0 / unit / step); n * step * unit <= scale.x1; n++) {
    const x = scale.x(n * step * unit);
    marks.push(s("line", { x1: x, x2: x, y1: EDGE.top, y2: scale.bottom + 4 }));
    const inside = x > 20 && x < scale.width - 24;
    if (inside) marks.push(s("text", { x, y: scale.bottom + 18, "text-anchor": "middle" }, `${+(n * step).toFixed(2)}`));
  }
  for (let n = 0; scale.y(n * rise * unit) > EDGE.top; n++) {
    const y = scale.y(n * rise * unit);
    marks.push(s("line", { x1: EDGE.left, x2: scale.width - EDGE.right, y1: y, y2: y, class: n === 0 ? "floor" : "" }));
    if (n > 0) marks.push(s("text", { x: scale.x(0) + 4, y: y - 3 }, `${+(n * rise).toFixed(2)} ${view.unit}`));
  }
  const names = [];
  for (const [name, end] of [["tail", view.wanted[0]], ["tip", view.wanted[view.wanted.length - 1]]]) {
    names.push(s("text", { x: scale.x(end[1]), y: scale.bottom - 7, class: "names" }, name));
  }
  parts.names.replaceChildren(...names);
  parts.grid.replaceChildren(...marks);
}

/** Where nine boards in ten have their ends. */
function drawBands(view) {
  const band = state.goodFull?.band;
  const marks = [];
  if (band && view.released) {
    const fresh = state.full?.files && state.fullText === state.text;
    for (const [end, at] of [["tail", 0], ["tip", view.released.length - 1]]) {
      if (!band[end]) continue;
      // Outside of the end, where no handle hides it.
      const x = scale.x(view.released[at][1]) + (at ? 15 : -15);
      const [top, low] = [scale.y(band[end].to), scale.y(band[end].from)];
      marks.push(s("path", { d: `M${x - 4} ${top}h8m-4 0V${low}m-4 0h8`, class: fresh ? "" : "stale" },
        s("title", {}, `Nine boards in ten: ${end} ${band[end].text}`)));
    }
  }
  parts.bands.replaceChildren(...marks);
}

/** Readings of a measured board, set on the floor as the model says; those that disagree are marked. */
function drawRead(view) {
  const rows = state.learned?.board?.readings ?? [];
  const x = (sMm) => view.wanted.find((p) => p[0] >= sMm)?.[1] ?? sMm;
  parts.read.replaceChildren(...rows.map((r) => s("circle", { cx: scale.x(x(r.s_mm)), cy: scale.y(r.height_mm), r: 3.5, class: r.weight < 0.5 ? "wild" : "" },
    s("title", {}, `read ${shownLength(r.height_mm, view.unit)}, model ${shownLength(r.explained_mm, view.unit)}`))));
}

function drawHandles(view) {
  const handles = (view.handles ?? []).filter((one) => !one.chart);
  placeHandles(parts.handles, handles, (one) => [scale.x(one.x), scale.y(one.z)], scale.width, (one) => handleOf(one, (event) => hold(event, parts.svg, () => scale, () => { scale = null; draw(); })));
}

/** Puts handles where they belong; elements are made anew only where handles come or go, so that a held one stays. */
export function placeHandles(group, handles, at, width, make) {
  const shown = [...group.children];
  if (shown.length !== handles.length || shown.some((g, i) => g.dataset.name !== handles[i].name)) {
    group.replaceChildren(...handles.map(make));
  }
  handles.forEach((one, i) => {
    const g = group.children[i];
    const [x, y] = at(one);
    g.setAttribute("transform", `translate(${x.toFixed(1)} ${y.toFixed(1)})`);
    g.setAttribute("aria-valuetext", one.text);
    g.setAttribute("aria-valuenow", (one.along ? one.s : one.z).toFixed(one.chart ? 3 : 1));
    g.lastChild.textContent = one.text;
    g.lastChild.setAttribute("text-anchor", x < 60 ? "start" : x > width - 60 ? "end" : "middle");
    g.lastChild.setAttribute("y", y < 34 ? 30 : -20);
  });
}

/** The element of a handle. */
export function handleOf(one, grab) {
  const arrows = { along: "M-11 -4l-5 4 5 4M11 -4l5 4-5 4", up: "M-4 -11l4 -5 4 5M-4 11l4 5 4-5" };
  const kind = one.chart ? "both" : one.along ? "along" : "up";
  return s("g", {
    class: `handle ${kind}`, "data-name": one.name, tabindex: 0, role: "slider",
    "aria-label": one.label, "aria-orientation": one.along ? "horizontal" : "vertical",
    "aria-valuemin": one.along || one.chart ? -20000 : 0, "aria-valuemax": 20000,
    onpointerdown: grab, ontouchstart: (e) => e.preventDefault(), onkeydown: nudge, onblur: endStep,
  },
  s("circle", { r: 22, class: "reach" }), s("circle", { r: 7.5, class: "knob" }),
  s("path", { d: arrows[kind] ?? arrows.along + arrows.up, class: "arrows" }),
  s("text", { y: -20 }));
}

function found(name) {
  return state.view?.handles?.find((one) => one.name === name);
}

let dropped = null;

/** Follows the pointer that grabbed a handle of `svg`, whose scale is `scaleNow()`; `release` draws it again at the end. */
export function hold(event, svg, scaleNow, release) {
  const g = event.currentTarget;
  const one = found(g.dataset.name);
  if (!one || event.button > 0) return;
  event.preventDefault();
  g.focus({ preventScroll: true });
  g.setPointerCapture(event.pointerId);
  const box = svg.getBoundingClientRect();
  const place = (e) => ({ s: scaleNow().mm(e.clientX - box.left), z: scaleNow().up(e.clientY - box.top) });
  const start = { s: one.s - place(event).s, z: one.z - place(event).z };
  state.held = true;
  g.classList.add("held");
  endStep();
  const move = (e) => pull(one.name, start.s + place(e).s, start.z + place(e).z, "hand");
  const ends = ["pointerup", "pointercancel", "lostpointercapture"];
  const drop = () => {
    state.held = false;
    g.classList.remove("held");
    g.removeEventListener("pointermove", move);
    for (const name of ends) g.removeEventListener(name, drop);
    dropped = release;
    settle();
  };
  g.addEventListener("pointermove", move);
  for (const name of ends) g.addEventListener(name, drop);
}

function settle() {
  if (pulling) return;
  endStep();
  dropped?.();
  dropped = null;
  tell("text");
}

const KEYS = { ArrowUp: 1, ArrowRight: 1, ArrowDown: -1, ArrowLeft: -1, PageUp: 10, PageDown: -10 };

function nudge(event) {
  const by = KEYS[event.key];
  const one = found(event.currentTarget.dataset.name);
  if (!by || !one) return;
  event.preventDefault();
  const unit = state.view.unit === "in" ? 25.4 / 16 : 1;
  const fine = event.shiftKey ? 0.1 : 1;
  const step = one.chart ? by * 0.01 * fine : by * unit * (one.along ? 5 : fine);
  // Keys that come faster than the engine answers add up.
  const from = pulling && aim?.name === one.name ? aim : { sMm: one.s, zMm: one.z };
  pull(one.name, from.sMm + (one.chart ? 0 : step), from.zMm + step, `key ${one.name}`);
}

let pulling = false;
let next = null;
/** Where the handle is on its way to. */
let aim = null;

/** Moves a handle; where the engine is still busy, the latest place is the next one. */
async function pull(name, sMm, zMm, mark) {
  aim = { name, sMm, zMm };
  next = { ...aim, mark };
  if (pulling) return;
  pulling = true;
  while (next) {
    const { name: handle, sMm: s_mm, zMm: z_mm, mark: step } = next;
    next = null;
    const begun = performance.now();
    const from = state.text;
    try {
      const answer = await state.engines.live.ask({ do: "drag", handle, s_mm, z_mm, ...opened() });
      if (state.text !== from) continue;
      state.view = answer.view;
      if (answer.view.table) state.good = answer.view;
      state.viewText = answer.text;
      take(answer.text, step);
      tell("view");
      measured(begun);
    } catch (error) {
      state.stopped(error);
    }
  }
  pulling = false;
  if (!state.held) settle();
}

const REDRAW = "redraw under a hand";

/** Notes for the browser's own performance tools how long a redraw took, from the request to the changed picture. */
function measured(begun) {
  if (performance.getEntriesByName(REDRAW).length >= 1000) performance.clearMeasures(REDRAW);
  performance.measure(REDRAW, { start: begun, end: performance.now() });
}

function probe(event) {
  if (!scale || state.held) return;
  const box = parts.svg.getBoundingClientRect();
  reading = scale.mm(event.clientX - box.left);
  const view = state.good ?? state.view;
  if (view) showReading(view);
}

function noProbe() {
  reading = null;
  parts.probe.replaceChildren();
  parts.readout.textContent = "";
}

/** Height of a curve at x, between its points. */
function heightAt(curve, x) {
  const i = curve.findIndex((p) => p[1] >= x);
  if (i < 0 || (i === 0 && curve[0][1] > x)) return null;
  const [a, b] = [curve[Math.max(i - 1, 0)], curve[i]];
  const share = b[1] > a[1] ? (x - a[1]) / (b[1] - a[1]) : 0;
  return { z: a[2] + share * (b[2] - a[2]), s: a[0] + share * (b[0] - a[0]) };
}

function curvatureAt(nodes, sMm) {
  const i = nodes.findIndex((n) => n[0] >= sMm);
  if (i <= 0) return null;
  const [a, b] = [nodes[i - 1], nodes[i]];
  return b[0] > a[0] ? a[1] + ((sMm - a[0]) / (b[0] - a[0])) * (b[1] - a[1]) : b[1];
}

export function shownLength(mm, unit, places = 1) {
  return unit === "in" ? `${(mm / 25.4).toFixed(places + 1)} in` : `${mm.toFixed(places)} mm`;
}

function showReading(view) {
  const x = Math.min(Math.max(reading, scale.x0), scale.x1);
  const at = { wanted: heightAt(view.wanted, x), table: view.table && heightAt(view.table, x), released: view.released && heightAt(view.released, x) };
  const marks = [s("line", { x1: scale.x(x), x2: scale.x(x), y1: EDGE.top, y2: scale.bottom })];
  const words = [`Station ${shownLength(at.wanted?.s ?? x, view.unit, 0)}`];
  for (const [name, label] of [["wanted", "wanted"], ["table", "table"], ["released", "released"]]) {
    if (!at[name]) continue;
    marks.push(s("circle", { cx: scale.x(x), cy: scale.y(at[name].z), r: 3, class: name === "table" ? "tabled" : name }));
    words.push(`${label} ${shownLength(at[name].z, view.unit)}`);
  }
  const k = at.wanted && curvatureAt(view.curvature.wanted, at.wanted.s);
  if (k) words.push(`radius ${shownLength(1000 / Math.abs(k), view.unit, 0)}${k < 0 ? " (camber)" : ""}`);
  parts.probe.replaceChildren(...marks);
  parts.readout.textContent = words.join(" · ");
}

function inWords(view) {
  const shown = view.values_shown;
  const table = shown ? ` The table's tip is ${shown.table_tip} high, its tail ${shown.table_tail}.` : "";
  return `Wanted: tip ${view.board.tip}, tail ${view.board.tail} above the floor.${table} Drag a handle or move it with the arrow keys.`;
}
