// Readings from a photograph: marks of known distance, the floor line and the base are clicked; the engine does the geometry.

import { h, s, notice, afterPause } from "./dom.js";
import { state } from "./state.js";

/** Larger pictures are scaled down to so many pixels. */
const MOST_PIXELS = 12e6;
/** A pointer that moves further, pixels of the screen, shifts the picture. */
const SHIFT = 6;
/** What clicks set, in order. */
const STEPS = [
  ["marks", "Marks", (p) => (p.four ? "Click the four corners of a rectangle in the plane of the board, walking around it." : "Click two marks whose distance you know, in the plane of the board.")],
  ["floor", "Floor line", () => "Click the straight line that the board stands on, at two places far apart. More places make it surer."],
  ["base", "Base", () => "Click along the base from the tail's end to the tip's end, about ten places."],
];

let photo = null;
let parts = null;

/** Opens a picture in `place`; `use` gets the engine's answer once the person takes it. */
export async function openPhoto(place, file, use) {
  let bitmap;
  try {
    bitmap = await createImageBitmap(file);
  } catch {
    notice("photo", "stop", `${file.name} is not a picture that this browser can read. Save it as JPEG or PNG.`);
    return;
  }
  const by = Math.min(1, Math.sqrt(MOST_PIXELS / (bitmap.width * bitmap.height)));
  const canvas = h("canvas", { width: Math.round(bitmap.width * by), height: Math.round(bitmap.height * by) });
  const pen = canvas.getContext("2d");
  pen.drawImage(bitmap, 0, 0, canvas.width, canvas.height);
  const address = URL.createObjectURL(await new Promise((done) => canvas.toBlob(done, "image/jpeg", 0.92)));
  closePhoto();
  photo = { data: pen.getImageData(0, 0, canvas.width, canvas.height).data, address, width: canvas.width, height: canvas.height, marks: [], floor: [], base: [], step: "marks", four: false, trace: true, distance: "", side: "", zoom: 1, x: canvas.width / 2, y: canvas.height / 2, use };
  build(place);
}

function closePhoto() {
  if (photo) URL.revokeObjectURL(photo.address);
  photo = null;
  parts?.root.remove();
}

function build(place) {
  const radio = (name, value, label, checked, change) => h("label", {}, h("input", { type: "radio", name, value, checked, onchange: change }), h("span", {}, label));
  const field = (key, label) => h("div", { class: "field" }, h("label", { for: `photo-${key}` }, label), h("input", { type: "text", id: `photo-${key}`, autocomplete: "off", placeholder: state.view?.unit === "in" ? "40 in" : "1000 mm", oninput: (e) => { photo[key] = e.target.value; measure(); } }));
  const zoom = (label, words, times) => h("button", { "aria-label": words, onclick: () => zoomBy(times) }, label);
  parts = { words: h("p", { class: "meaning", "aria-live": "polite" }), answer: h("div", { "aria-live": "polite" }), points: s("g", { class: "points" }), found: s("g", { class: "found" }), cross: s("path", { class: "cross" }) };
  parts.side = field("side", "Marks 2 to 3");
  parts.svg = s("svg", { class: "photo", tabindex: 0, role: "application", "aria-label": "The photograph. Arrow keys move the cross, Enter sets a point, Delete takes the last one out.",
    onpointerdown: press, onkeydown: keys, onwheel: (e) => { e.preventDefault(); zoomBy(e.deltaY < 0 ? 1.25 : 0.8, pointAt(e)); } },
  s("image", { href: photo.address, width: photo.width, height: photo.height }), parts.found, parts.points, parts.cross);
  parts.steps = h("fieldset", { class: "segments" }, h("legend", { class: "away" }, "What a click sets"), STEPS.map(([key, label]) => radio("photo-step", key, label, key === photo.step, () => { photo.step = key; draw(); })));
  parts.root = h("section", { class: "photograph", "aria-label": "Readings from a photograph" },
    h("p", { class: "meaning" }, "Photograph the board from the side, from far away and zoomed in, with the camera level with the base. Marks, floor line and the near edge of the base must lie in one plane. A lens that bends straight lines near the picture's edge bends the readings: keep the board in the middle."),
    h("fieldset", { class: "segments small" }, h("legend", { class: "away" }, "Marks"), radio("photo-marks", "2", "Two marks, seen straight on", true, () => four(false)), radio("photo-marks", "4", "Four marks, seen askew", false, () => four(true))),
    h("div", { class: "fields" }, field("distance", "Distance of marks 1 and 2"), parts.side),
    parts.steps, parts.words, parts.svg,
    h("p", { class: "buttons" }, zoom("+", "Larger", 1.6), zoom("−", "Smaller", 1 / 1.6), h("button", { onclick: takeBack }, "Take the last point out"),
      h("label", { class: "tick" }, h("input", { type: "checkbox", checked: true, onchange: (e) => { photo.trace = e.target.checked; measure(); } }), " Follow the edges near the clicks"),
      h("button", { onclick: closePhoto }, "Close the picture")),
    parts.answer);
  place.replaceChildren(parts.root);
  draw();
  parts.root.scrollIntoView({ block: "nearest" });
}

function four(on) {
  photo.four = on;
  photo.marks = photo.marks.slice(0, on ? 4 : 2);
  photo.step = "marks";
  draw();
  measure();
}

/** Where an event lies in the picture, pixels of the picture. */
function pointAt(event) {
  const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(parts.svg.getScreenCTM().inverse());
  return [at.x, at.y];
}

function zoomBy(times, about = [photo.x, photo.y]) {
  const zoom = Math.min(Math.max(photo.zoom * times, 1), 16);
  const kept = photo.zoom / zoom;
  [photo.x, photo.y] = [about[0] + (photo.x - about[0]) * kept, about[1] + (photo.y - about[1]) * kept];
  photo.zoom = zoom;
  draw();
}

/** A click sets a point; a movement shifts the picture. */
function press(event) {
  if (event.button > 0) return;
  event.preventDefault();
  parts.svg.focus({ preventScroll: true });
  parts.svg.setPointerCapture(event.pointerId);
  const [start, view] = [[event.clientX, event.clientY], [photo.x, photo.y]];
  const perPixel = 1 / parts.svg.getScreenCTM().a;
  let moved = false;
  const move = (e) => {
    moved ||= Math.hypot(e.clientX - start[0], e.clientY - start[1]) > SHIFT;
    if (!moved) return;
    [photo.x, photo.y] = [view[0] - (e.clientX - start[0]) * perPixel, view[1] - (e.clientY - start[1]) * perPixel];
    draw();
  };
  const end = (e) => {
    parts.svg.removeEventListener("pointermove", move);
    for (const name of ["pointerup", "pointercancel"]) parts.svg.removeEventListener(name, end);
    if (!moved && e.type === "pointerup") add(pointAt(e));
  };
  parts.svg.addEventListener("pointermove", move);
  for (const name of ["pointerup", "pointercancel"]) parts.svg.addEventListener(name, end);
}

function keys(event) {
  const by = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
  const far = event.shiftKey ? 1 : photo.width / 100 / photo.zoom;
  if (by) [photo.x, photo.y] = [photo.x + by[0] * far, photo.y + by[1] * far];
  else if (event.key === "Enter") add([photo.x, photo.y]);
  else if (event.key === "Delete" || event.key === "Backspace") takeBack();
  else if (event.key === "+") zoomBy(1.6);
  else if (event.key === "-") zoomBy(1 / 1.6);
  else return;
  event.preventDefault();
  draw();
}

function add(point) {
  const all = photo[photo.step];
  const most = photo.step === "marks" ? (photo.four ? 4 : 2) : 200;
  if (all.length < most) all.push(point);
  if (photo.step === "marks" && all.length === most) photo.step = "floor";
  else if (photo.step === "floor" && all.length === 2) photo.step = "base";
  draw();
  measure();
}

function takeBack() {
  photo[photo.step].pop();
  draw();
  measure();
}

function draw() {
  const [wide, high] = [photo.width / photo.zoom, photo.height / photo.zoom];
  photo.x = Math.min(Math.max(photo.x, wide / 2), photo.width - wide / 2);
  photo.y = Math.min(Math.max(photo.y, high / 2), photo.height - high / 2);
  parts.svg.setAttribute("viewBox", `${photo.x - wide / 2} ${photo.y - high / 2} ${wide} ${high}`);
  const size = wide / 130;
  const dot = (kind) => ([x, y], i) => s("g", { class: kind, transform: `translate(${x} ${y}) scale(${size})` }, s("path", { d: "M-1 0H1M0 -1V1" }), kind === "marks" ? s("text", { x: 0.8, y: -0.6 }, String(i + 1)) : null);
  parts.points.replaceChildren(...STEPS.flatMap(([kind]) => photo[kind].map(dot(kind))));
  parts.cross.setAttribute("d", `M${photo.x - 2 * size} ${photo.y}h${4 * size}M${photo.x} ${photo.y - 2 * size}v${4 * size}`);
  parts.side.hidden = !photo.four;
  for (const input of parts.steps.querySelectorAll("input")) input.checked = input.value === photo.step;
  parts.words.textContent = STEPS.find(([key]) => key === photo.step)[2](photo);
  const line = (points, kind) => (points?.length ? s("path", { class: kind, d: "M" + points.map((p) => p.join(" ")).join("L") }) : "");
  parts.found.replaceChildren(line(photo.answer?.line, "floorline"), line(photo.answer?.curve, "curve"));
}

/** Brightness along short lines across a path, one step a pixel. */
function brightness(across, reach) {
  const { data } = photo;
  const grey = (x, y) => {
    const i = 4 * (Math.min(Math.max(y, 0), photo.height - 1) * photo.width + Math.min(Math.max(x, 0), photo.width - 1));
    return 0.299 * data[i] + 0.587 * data[i + 1] + 0.114 * data[i + 2];
  };
  // A pixel's middle lies half a pixel from its corner.
  const at = (px, py) => {
    const [x, y] = [Math.floor(px - 0.5), Math.floor(py - 0.5)];
    const [u, v] = [px - 0.5 - x, py - 0.5 - y];
    return (1 - v) * ((1 - u) * grey(x, y) + u * grey(x + 1, y)) + v * ((1 - u) * grey(x, y + 1) + u * grey(x + 1, y + 1));
  };
  return across.map(([x, y, nx, ny]) => Array.from({ length: 2 * reach + 1 }, (_, i) => Math.round(10 * at(x + (i - reach) * nx, y + (i - reach) * ny)) / 10));
}

const measure = afterPause(120, async () => {
  if (!photo) return;
  const { marks, floor, base, distance, side } = photo;
  const of = photo;
  const wanted = state.view?.wanted ?? state.good.wanted;
  const request = { do: "photo", marks, floor, base, distance, side, length_mm: wanted[wanted.length - 1][0] - wanted[0][0], unit: state.view?.unit ?? "mm" };
  try {
    let answer = await state.engines.live.ask(request);
    if (answer.across && photo?.trace) answer = await state.engines.live.ask({ ...request, brightness: brightness(answer.across, answer.reach) });
    if (photo !== of) return;
    photo.answer = answer;
    tellAnswer();
    draw();
  } catch (error) {
    state.stopped(error);
  }
});

function tellAnswer() {
  const { answer } = photo;
  if (answer.wrong) {
    parts.answer.replaceChildren(photo.base.length ? h("p", { class: "meaning" }, answer.wrong) : "");
    return;
  }
  const unclear = [["base", "base"], ["floor", "floor line"]].filter(([key]) => photo.trace && !answer.traced[key]);
  const clicks = unclear.map(([key, name]) => `No clear edge along the ${name}: its clicks are used.`).join(" ");
  parts.answer.replaceChildren(h("p", {}, `The board is ${answer.length} long along its base. Standard error of a height: ${answer.height_error}. ${clicks} ${answer.caution} Check that the drawn line lies on the base.`),
    h("button", { class: "strong", onclick: () => { photo.use(answer); closePhoto(); } }, "Use these readings"));
}
