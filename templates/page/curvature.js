// Curvature along the board, wanted and of the table. The points of a listed curve are dragged here.

import { h, s } from "./dom.js";
import { state, on } from "./state.js";
import { handleOf, placeHandles, hold } from "./picture.js";

const HIGH = 110;
const EDGE = { left: 14, right: 14, top: 16, bottom: 14 };

let parts = null;
let scale = null;

export function showCurvature(place) {
  parts = { grid: s("g", { class: "grid" }), table: s("path", { class: "tabled" }), wanted: s("path", { class: "wanted" }), handles: s("g", { class: "handles" }) };
  parts.svg = s("svg", { role: "group", "aria-label": "Curvature along the board" }, Object.values(parts));
  const box = h("details", { ontoggle: draw }, h("summary", {}, "Curvature along the board"), parts.svg);
  parts.box = box;
  place.append(box);
  new ResizeObserver(draw).observe(box);
  on("view", draw);
}

function draw() {
  const view = state.view?.curvature ? state.view : state.good;
  if (!view?.curvature) return;
  const handles = (state.view?.handles ?? []).filter((one) => one.chart);
  if (handles.length) parts.box.open = true;
  if (!parts.box.open) return;
  const nodes = view.curvature.wanted;
  const table = (state.view?.curvature?.table ?? []).filter((n) => n[0] >= nodes[0][0] && n[0] <= nodes[nodes.length - 1][0]);
  if (!state.held || !scale) {
    const width = Math.max(parts.svg.getBoundingClientRect().width, 200);
    const [s0, s1] = [nodes[0][0], nodes[nodes.length - 1][0]];
    const all = [0, ...nodes.map((n) => n[1]), ...table.map((n) => n[1])];
    const [low, top] = [Math.min(...all), Math.max(...all) * 1.15 || 1];
    const perMm = (width - EDGE.left - EDGE.right) / (s1 - s0);
    const per = (HIGH - EDGE.top - EDGE.bottom) / (top - low);
    scale = { width, x: (mm) => EDGE.left + (mm - s0) * perMm, y: (k) => EDGE.top + (top - k) * per, mm: (px) => s0 + (px - EDGE.left) / perMm, up: (py) => top - (py - EDGE.top) / per };
  }
  const line = (points) => (points.length ? "M" + points.map((n) => `${scale.x(n[0]).toFixed(1)} ${scale.y(n[1]).toFixed(1)}`).join("L") : "");
  parts.svg.setAttribute("viewBox", `0 0 ${scale.width} ${HIGH}`);
  parts.wanted.setAttribute("d", line(nodes));
  parts.table.setAttribute("d", line(table));
  const radius = view.board?.radius;
  parts.grid.replaceChildren(s("line", { x1: EDGE.left, x2: scale.width - EDGE.right, y1: scale.y(0), y2: scale.y(0), class: "floor" }),
    s("text", { x: EDGE.left, y: 11 }, radius ? `tightest radius ${radius}` : "straight"));
  placeHandles(parts.handles, handles, (one) => [scale.x(one.s), scale.y(one.z)], scale.width, (one) => handleOf(one, (event) => hold(event, parts.svg, () => scale, release)));
}

function release() {
  scale = null;
  draw();
}
