// Controls for the document, made from its keys. A control shows what the document says and writes what is typed.

import { h, afterPause } from "./dom.js";
import { state, on, edit, endStep, valueAt, problems } from "./state.js";
import { isTable, unitOf, labelOf, seedOf, layoutOf, DAY } from "./keys.js";
import { stackPicture } from "./stack.js";
import { materialField } from "./materials.js";
import { textStep } from "./text.js";
import { measuredStep } from "./measured.js";

let place = null;
let steps = [];
let current = "board";
let shape = "";
/** The step that is on show. */
let built = null;
const unfolded = new Set();
/** Controls on show: how each follows the document, and where its error goes. */
const controls = new Map();

export function showForm(element) {
  place = element;
  steps = [...DAY.map((d) => ({ ...d, build: () => dayStep(d) })), { id: "measured", name: "Measured", build: measuredStep }, { id: "text", name: "Text", build: textStep }];
  const tab = (step, i) => h("button", {
    role: "tab", id: `tab-${step.id}`, "aria-controls": "panel", "aria-selected": step.id === current ? "true" : "false",
    tabindex: step.id === current ? 0 : -1, onclick: () => choose(step.id), onkeydown: (e) => walk(e, i),
  }, h("span", { class: "count", "aria-hidden": "true" }, step.id === "text" ? "≡" : String(i + 1)), step.name, h("span", { class: "dot", hidden: true }, " has a mistake"));
  const tabs = h("div", { role: "tablist", "aria-label": "Steps", class: "tabs" }, steps.map(tab));
  const panel = h("div", { role: "tabpanel", id: "panel", tabindex: -1 });
  place.append(tabs, panel);
  on("view", follow);
  on("full", errors);
}

function walk(event, i) {
  const by = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
  if (!by) return;
  const to = steps[(i + by + steps.length) % steps.length].id;
  choose(to);
  document.getElementById(`tab-${to}`).focus();
}

/** Shows a step; `path` is a key to go to. */
export function choose(id, path) {
  current = id;
  for (const tab of place.querySelectorAll("[role=tab]")) {
    const on = tab.id === `tab-${id}`;
    tab.setAttribute("aria-selected", on ? "true" : "false");
    tab.tabIndex = on ? 0 : -1;
    if (on) tab.parentElement.scrollLeft = tab.offsetLeft - 24;
  }
  document.getElementById("panel").setAttribute("aria-labelledby", `tab-${id}`);
  follow();
  if (path) goTo(path);
}

/** Goes to the control of a key, in whichever step it is. */
export function goTo(path) {
  const top = path.split(/[.[]/)[0];
  const step = DAY.find((d) => [...d.keys, ...d.more].includes(top))?.id ?? "text";
  if (step !== current) choose(step);
  const target = controls.get(path);
  if (!target) return;
  for (let box = target.element.closest("details"); box; box = box.parentElement.closest("details")) box.open = true;
  target.element.scrollIntoView({ block: "center" });
  target.element.querySelector("input, select, textarea, button")?.focus();
}

/** What the controls depend on: which keys there are, not what they say. */
function shapeOf(value) {
  if (Array.isArray(value)) return `[${value.map(shapeOf).join()}]`;
  if (value && typeof value === "object") return `{${Object.entries(value).map(([k, v]) => k + shapeOf(v)).join()}}`;
  return "";
}

function follow() {
  const values = state.view?.values;
  const panel = document.getElementById("panel");
  // A document that is no TOML has no values: its controls wait for it to be one again.
  panel.toggleAttribute("inert", !values && current !== "text");
  const now = values ? state.view.unit + shapeOf(values) : shape;
  if (now !== shape || built !== current) {
    const focused = panel.contains(document.activeElement) ? document.activeElement.dataset.path ?? document.activeElement.id : null;
    const at = panel.scrollTop;
    [shape, built] = [now, current];
    controls.clear();
    panel.replaceChildren(steps.find((step) => step.id === current).build());
    panel.scrollTop = at;
    if (focused) panel.querySelector(`[data-path="${CSS.escape(focused)}"], [id="${CSS.escape(focused)}"]`)?.focus({ preventScroll: true });
  }
  for (const control of controls.values()) control.follow?.();
  errors();
}

/** Puts each mistake beside its key, or beside the table that it is in. */
function errors() {
  for (const control of controls.values()) control.error?.(null);
  const wrong = new Set();
  for (const problem of problems()) {
    const top = problem.path.split(/[.[]/)[0];
    wrong.add(DAY.find((d) => [...d.keys, ...d.more].includes(top))?.id ?? "text");
    let path = problem.path;
    while (path && !controls.get(path)?.error) path = path.replace(/(\.[^.[\]]+|\[\d+\]|^[^.[\]]+)$/, "");
    controls.get(path)?.error?.(problem);
  }
  for (const tab of place.querySelectorAll("[role=tab]")) {
    tab.querySelector(".dot").hidden = !wrong.has(tab.id.slice(4));
  }
}

function dayStep(day) {
  const part = (key) => item("", key, state.about.keys[key]);
  const rest = day.more.map(part);
  return h("div", { class: `step of-${day.id}` },
    day.id === "layers" ? stackPicture() : null,
    day.keys.map(part),
    rest.length ? more(`${day.id} more`, "More", rest) : null);
}

/** What is one step away. */
function more(id, title, contents) {
  return h("details", { class: "more", open: unfolded.has(id), ontoggle: (e) => (e.currentTarget.open ? unfolded.add(id) : unfolded.delete(id)) },
    h("summary", {}, title), h("div", { class: "inside" }, contents));
}

const join = (path, key) => (path ? `${path}.${key}` : key);

/** The control of one key, whatever it holds. */
function item(path, key, node) {
  const full = join(path, key);
  const { kind, meaning } = node;
  if (kind === "tables") return list(full, key, node);
  if (kind !== "table") return field(full, key, node);
  const there = valueAt(full) !== undefined;
  const must = !path || layoutOf(full).choice;
  const element = h("fieldset", { class: "table" }, h("legend", {}, labelOf(key)));
  const error = errorBox();
  if (there || must) {
    if (!must) element.append(removeButton(full, labelOf(key)));
    element.append(...[error, contents(full, node)].flat(9).filter(Boolean));
  } else {
    element.classList.add("absent");
    element.append(h("p", { class: "meaning" }, meaning), error,
      h("button", { onclick: () => edit([{ edit: "put", path: full, toml: seedOf(path, key) }]) }, `Add ${labelOf(key).toLowerCase()}`));
  }
  controls.set(full, { element, error: showError(error) });
  return element;
}

function removeButton(path, label) {
  return h("button", { class: "plain remove", "aria-label": `Take out ${label.toLowerCase()}`, title: "Take out", onclick: () => edit([{ edit: "remove", path }]) }, "×");
}

/** The controls of a table. */
function contents(path, node) {
  const { choice, seeds, by, first } = layoutOf(path);
  const properties = node.keys;
  const chosen = Object.keys({ ...choice, ...by });
  const plain = Object.keys(properties).filter((key) => !chosen.includes(key));
  const shown = plain.filter((key) => (first ? first.includes(key) : true));
  if (first) shown.sort((a, b) => first.indexOf(a) - first.indexOf(b));
  // The length of a whole board's curve stands in [board].
  const fits = (key) => !(/\.arc$/.test(path) && key === "length" && !path.includes("parts["));
  const fields = shown.filter(fits).filter((key) => !(by && key === "chord")).map((key) => item(path, key, properties[key]));
  const rest = plain.filter((key) => !shown.includes(key) && !(by && key === "chord"));
  return [
    choice && chooser(path, choice, seeds, properties),
    h("div", { class: "fields" }, by && bending(path, by, properties), fields.filter((f) => !f.matches("fieldset"))),
    fields.filter((f) => f.matches("fieldset")),
    rest.length ? more(`${path} more`, `More: ${rest.slice(0, 3).map((k) => labelOf(k).toLowerCase()).join(", ")}${rest.length > 3 ? " …" : ""}`,
      [h("div", { class: "fields full" }, rest.filter((k) => !isTable(properties[k])).map((k) => item(path, k, properties[k]))),
        rest.filter((k) => isTable(properties[k])).map((k) => item(path, k, properties[k]))]) : null,
  ].filter(Boolean);
}

/** Tables of which exactly one is there. */
function chooser(path, choice, seeds, properties) {
  const has = Object.keys(choice).find((key) => valueAt(join(path, key)) !== undefined);
  const radio = (key) => h("label", { title: properties[key].meaning },
    h("input", { type: "radio", name: `choice ${path}`, "data-path": `${path} ${key}`, checked: key === has, onchange: () => {
      const gone = Object.keys(choice).filter((k) => valueAt(join(path, k)) !== undefined);
      edit([...gone.map((k) => ({ edit: "remove", path: join(path, k) })), { edit: "put", path: join(path, key), toml: seeds[key]() }]);
    } }), h("span", {}, choice[key]));
  const inside = has && h("div", { class: "chosen" }, contents(join(path, has), properties[has]));
  const error = errorBox();
  if (has) controls.set(join(path, has), { element: inside, error: showError(error) });
  return [h("fieldset", { class: "segments" }, h("legend", { class: "away" }, "Kind"), Object.keys(choice).map(radio)), error, inside];
}

/** Keys of which exactly one says how much a curve bends. */
function bending(path, by, properties) {
  const has = Object.keys(by).find((key) => valueAt(join(path, key)) !== undefined) ?? Object.keys(by)[0];
  const full = join(path, has);
  const label = h("select", { "aria-label": "How it bends", "data-path": `${path} by`, onchange: (e) => {
    const to = e.target.value;
    const value = converted(path, has, to);
    const edits = [{ edit: "remove", path: full }, { edit: "set", path: join(path, to), kind: "quantity", value: String(value) }];
    if (has === "rise") edits.push({ edit: "remove", path: join(path, "chord") });
    if (to === "rise") edits.push({ edit: "set", path: join(path, "chord"), kind: "quantity", value: state.view.unit === "in" ? "16" : "400" });
    edit(edits);
  } }, Object.entries(by).map(([key, name]) => h("option", { value: key, ...(key === has ? { selected: true } : {}) }, name)));
  const one = field(full, has, properties[has], label);
  return has === "rise" ? [one, item(path, "chord", properties.chord)] : [one];
}

/** About the same bend said in another way: of a whole board about its middle, of a part from its inner end. */
function converted(path, from, to) {
  const number = (key) => parseFloat(valueAt(join(path, key))) || 0;
  const whole = !path.includes("parts[");
  const wanted = state.view?.wanted ?? state.good.wanted;
  const scale = state.view?.unit === "in" ? 25.4 : 1;
  const all = (wanted[wanted.length - 1][0] - wanted[0][0]) / scale;
  if (path.includes("points[")) return from === "radius" ? +((1000 / scale) / (number("radius") || 1000)).toFixed(3) : +((1000 / scale) / (number("curvature") || 0.2)).toFixed(1);
  const span = whole ? all / 2 : number("length") || all / 4;
  const chord = number("chord") || 400 / scale;
  const radius = { height: span ** 2 / (2 * number("height") || 1), radius: number("radius"), angle: ((whole ? 2 : 1) * span) / ((number("angle") * Math.PI) / 180 || 1), rise: chord ** 2 / (8 * number("rise") || 1) }[from] || 10 * span;
  const places = (x) => +x.toPrecision(4);
  return { height: places(span ** 2 / (2 * radius)), radius: places(radius), angle: places((((whole ? 2 : 1) * span) / radius) * (180 / Math.PI)), rise: places((400 / scale) ** 2 / (8 * radius)) }[to];
}

function errorBox() {
  return h("p", { class: "error", hidden: true });
}

function showError(box, input) {
  return (problem) => {
    box.hidden = !problem;
    const words = problem ? `${problem.message} ${problem.remedy}` : "";
    if (box.textContent !== words) box.textContent = words ? words[0].toUpperCase() + words.slice(1) : "";
    if (input) input.setAttribute("aria-invalid", problem ? "true" : "false");
  };
}

/** A typed text of lists: pairs one to a line, all else with commas. */
function asTyped(value, kind) {
  if (value === undefined || value === null) return "";
  if (!Array.isArray(value)) return String(value);
  return kind === "pairs" ? value.map((pair) => [pair].flat().join(", ")).join("\n") : value.join(", ");
}

/** The control of a single value. */
function field(full, key, node, label) {
  const { kind, meaning, rule, options, default: byDefault } = node;
  const unit = unitOf(node);
  const id = `key ${full}`;
  const [error, help] = [errorBox(), h("p", { class: "meaning" }, meaning, h("span", { class: "range" }, ` ${rule}`))];
  error.id = `${id} error`.replace(/ /g, "_");
  help.id = `${id} help`.replace(/ /g, "_");
  const common = { id, "data-path": full, "aria-describedby": `${error.id} ${help.id}`, onblur: endStep };
  const set = (value, as = kind) => edit([{ edit: "set", path: full, value, kind: as }], `field ${full}`);
  let input;
  if (options) {
    input = h("select", { ...common, onchange: (e) => set(e.target.value, kind === "number" ? "quantity" : "text") },
      h("option", { value: "" }, byDefault === null ? "–" : `${byDefault} (usual)`), options.map((value) => h("option", { value }, value)));
  } else if (kind === "flag") {
    input = h("select", { ...common, onchange: (e) => set(e.target.value) },
      h("option", { value: "" }, `${byDefault === "true" ? "yes" : "no"} (usual)`), h("option", { value: "true" }, "yes"), h("option", { value: "false" }, "no"));
  } else if (kind === "pairs") {
    const save = afterPause(250, () => set(input.value));
    input = h("textarea", { ...common, rows: 6, spellcheck: "false", oninput: save });
  } else {
    const asText = key === "material" || key === "like" || key.endsWith("_material");
    input = h("input", { ...common, type: "text", autocomplete: "off", spellcheck: "false", placeholder: byDefault ?? "",
      oninput: () => set(input.value, asText ? "text" : kind), onkeydown: (e) => kind === "quantity" && step(e, set) });
    if (asText) input = materialField(input, (name) => set(name, "text"));
  }
  const control = input.control ?? input;
  const caption = label ?? h("label", { for: id }, labelOf(key));
  if (label) control.setAttribute("aria-label", `${label.selectedOptions[0].textContent}`);
  const bare = unit && kind === "quantity" ? h("span", { class: "unit", "aria-hidden": "true" }, unit) : null;
  const element = h("div", { class: `field ${kind}` }, caption, h("div", { class: "entry" }, input, bare), error, help);
  controls.set(full, {
    element,
    follow: () => {
      const value = asTyped(valueAt(full), kind);
      if (bare) bare.hidden = !/^[-+]?[\d.]*$/.test(value || (byDefault ?? ""));
      if (document.activeElement !== control || control.tagName === "SELECT") control.value = value;
      else if (!typing(control, value, kind)) control.value = value;
    },
    error: showError(error, control),
  });
  return element;
}

/** Whether a control still says what the document does, apart from spaces that are being typed. */
function typing(control, value, kind) {
  if (kind === "pairs" || kind === "list" || kind === "texts") return true;
  return control.value.trim() === value.trim() || state.view?.values === undefined;
}

/** Arrow keys count a number up and down and keep its unit. */
function step(event, set) {
  const by = { ArrowUp: 1, ArrowDown: -1 }[event.key];
  const number = /^(-?\d*\.?\d+)(\s*[^\d/\s].*)?$/.exec(event.target.value.trim());
  if (!by || !number || event.target.getAttribute("aria-expanded")) return;
  event.preventDefault();
  const places = (number[1].split(".")[1] ?? "").length;
  const size = event.shiftKey ? 10 : 1;
  const value = (parseFloat(number[1]) + by * size * 10 ** -places).toFixed(places) + (number[2] ?? "");
  event.target.value = value;
  set(value);
}

/** The controls of a list of tables. */
function list(full, key, node) {
  const entries = valueAt(full) ?? [];
  const { meaning } = node;
  const single = full.startsWith("bars") ? "bar" : { parts: "part", layers: "layer", points: "point", stock: "stock", materials: "material", alternatives: "other stack" }[key] ?? "entry";
  const top = key === "layers";
  const order = top ? [...entries.keys()].reverse() : [...entries.keys()];
  const one = (i) => {
    const at = `${full}[${i}]`;
    const error = errorBox();
    const move = (to, sign, words) => h("button", { class: "plain", "aria-label": `${words}: ${single} ${i + 1}`, disabled: to < 0 || to >= entries.length, onclick: () => edit([{ edit: "move", path: full, from: i, to }]) }, sign);
    const up = top ? i + 1 : i - 1;
    const down = top ? i - 1 : i + 1;
    const element = h("li", { class: "entry-of-list" },
      h("div", { class: "entry-head" }, h("span", { class: "entry-name" }, entries[i]?.name || `${labelOf(single)} ${i + 1}`),
        move(up, "↑", "Move up"), move(down, "↓", "Move down"), removeButton(at, `${single} ${i + 1}`)),
      error, contents(at, node));
    controls.set(at, { element, error: showError(error) });
    return element;
  };
  const error = errorBox();
  const add = h("button", { class: "add", onclick: () => edit([{ edit: "insert", path: full, index: top && entries.length > 1 ? entries.length - 1 : entries.length, toml: seedOf(full, key) }]) }, `Add ${single}`);
  const element = h("fieldset", { class: `list ${key}` }, h("legend", {}, labelOf(key)), h("p", { class: "meaning" }, meaning), error,
    h("ol", {}, order.map(one)), add);
  controls.set(full, { element, error: showError(error) });
  return element;
}
