// The layers as a section to scale. The upper edge of a layer is dragged to its thickness.

import { h, s } from "./dom.js";
import { state, on, edit, endStep, valueAt } from "./state.js";

const WIDE = 320;
const HIGH = 150;

let holder = null;

/** The section; it follows the document while it is on the page. */
export function stackPicture() {
  holder = h("figure", { class: "stack" });
  draw();
  return holder;
}

on("view", () => holder?.isConnected && draw());

let held = null;

function draw() {
  const layers = state.view?.layers ?? state.good?.layers ?? [];
  const total = layers.reduce((sum, l) => sum + l.thickness, 0);
  if (!total) return;
  // While an edge is held, the scale stays as it was.
  const scale = held?.scale ?? HIGH / total;
  let y = held ? HIGH : HIGH;
  const rows = [];
  const edges = [];
  layers.forEach((layer, i) => {
    const high = layer.thickness * scale;
    y -= high;
    rows.push(s("rect", { x: 0, y, width: WIDE, height: Math.max(high - 0.6, 0.6), class: `layer ${layer.kind.startsWith("wood") ? "wood" : layer.kind === "laminate" ? "laminate" : "other"}` },
      s("title", {}, `${layer.name}: ${layer.material}, ${layer.text}`)));
    // Plies of one entry share its thickness: the uppermost one carries the edge.
    const last = layers[i + 1]?.entry !== layer.entry;
    if (last && !layer.tapered) edges.push(edge(layer, y, layers.filter((l) => l.entry === layer.entry).length));
  });
  const picture = s("svg", { viewBox: `0 ${Math.min(y, 0) - 8} ${WIDE} ${HIGH - Math.min(y, 0) + 10}`, role: "group", "aria-label": "Section through the layers", class: state.view?.layers ? "" : "stale" }, rows, edges);
  const focused = holder.contains(document.activeElement) ? document.activeElement.dataset.entry : null;
  if (held) {
    // The held element stays in the document, or the pointer would be lost.
    held.picture.querySelectorAll("rect").forEach((r) => r.remove());
    held.picture.prepend(...rows);
    held.picture.querySelectorAll("[data-entry]").forEach((g) => {
      const fresh = edges.find((e) => e.dataset.entry === g.dataset.entry);
      if (fresh) g.setAttribute("transform", fresh.getAttribute("transform"));
    });
    return;
  }
  const name = (l, i) => (layers[i + 1]?.entry === l.entry ? null : h("li", {}, h("span", { class: `swatch ${l.kind.startsWith("wood") ? "wood" : l.kind === "laminate" ? "laminate" : "other"}` }),
    `${l.name || l.material}: ${plies(layers, l)}${l.text}`));
  holder.replaceChildren(picture, h("figcaption", {}, h("ol", { class: "names" }, layers.map(name).filter(Boolean).reverse()), h("p", {}, `Together ${state.view?.values_shown?.thickness ?? ""}`)));
  if (focused !== null) holder.querySelector(`[data-entry="${focused}"]`)?.focus({ preventScroll: true });
}

function plies(layers, layer) {
  const count = layers.filter((l) => l.entry === layer.entry).length;
  return count > 1 ? `${count} × ` : "";
}

function edge(layer, y, count) {
  return s("g", { class: "edge", "data-entry": layer.entry, tabindex: 0, role: "slider", "aria-orientation": "vertical", transform: `translate(0 ${y})`,
    "aria-label": `Thickness of ${layer.name || layer.material}`, "aria-valuenow": layer.thickness, "aria-valuetext": layer.text, "aria-valuemin": 0, "aria-valuemax": 1000,
    onpointerdown: (e) => grab(e, layer, count), ontouchstart: (e) => e.preventDefault(), onkeydown: (e) => key(e, layer), onblur: endStep },
  s("rect", { x: 0, y: -9, width: WIDE, height: 18, class: "reach" }), s("line", { x1: 0, x2: WIDE }), s("rect", { x: WIDE / 2 - 14, y: -2.5, width: 28, height: 5, rx: 2.5, class: "grip" }));
}

/** Writes a thickness in the unit that the document has there. */
function write(layer, mm) {
  const path = `layers[${layer.entry}].thickness`;
  const old = String(valueAt(path) ?? "");
  const inches = old.endsWith("in") || (state.view.unit === "in" && /^[\d.]+$/.test(old));
  const value = inches ? `${+(mm / 25.4).toFixed(3)}${old.endsWith("in") ? " in" : ""}` : `${+mm.toFixed(1)}${/mm$/.test(old) ? " mm" : state.view.unit === "in" ? " mm" : ""}`;
  edit([{ edit: "set", path, value, kind: "quantity" }], `thickness ${path}`);
}

function grab(event, layer, count) {
  event.preventDefault();
  const g = event.currentTarget;
  g.focus({ preventScroll: true });
  g.setPointerCapture(event.pointerId);
  const picture = g.ownerSVGElement;
  const perPixel = picture.viewBox.baseVal.width / picture.getBoundingClientRect().width;
  const total = (state.view?.layers ?? state.good.layers).reduce((sum, l) => sum + l.thickness, 0);
  const start = { y: event.clientY, mm: layer.thickness };
  held = { picture, scale: HIGH / total };
  state.held = true;
  endStep();
  const { scale } = held;
  const move = (e) => write(layer, Math.max(start.mm + ((start.y - e.clientY) * perPixel) / scale / count, 0.1));
  const drop = () => {
    g.removeEventListener("pointermove", move);
    held = null;
    state.held = false;
    endStep();
    draw();
  };
  g.addEventListener("pointermove", move);
  g.addEventListener("pointerup", drop, { once: true });
  g.addEventListener("pointercancel", drop, { once: true });
}

function key(event, layer) {
  const by = { ArrowUp: 0.1, ArrowRight: 0.1, ArrowDown: -0.1, ArrowLeft: -0.1, PageUp: 1, PageDown: -1 }[event.key];
  if (!by) return;
  event.preventDefault();
  const now = (state.view?.layers ?? []).find((l) => l.entry === layer.entry)?.thickness ?? layer.thickness;
  write(layer, Math.max(now + by, 0.1));
}
