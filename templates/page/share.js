// Opening, saving, dropping and linking documents. Nothing leaves the machine: a link carries the document itself.

import { h, copied, notice } from "./dom.js";
import { state, take, undo, redo, forget, isKeeping, edit, endStep, on, tell } from "./state.js";
import { slug } from "./files.js";
import { writable, saveText } from "./save.js";
import { choose } from "./form.js";
import { readPhoto } from "./measured.js";

const LARGEST = 50_000_000;
const MARK = "#d=";

async function through(stream, bytes) {
  return new Uint8Array(await new Response(new Blob([bytes]).stream().pipeThrough(stream)).arrayBuffer());
}

/** The address of this page with the document in its fragment. */
async function link() {
  const packed = await through(new CompressionStream("deflate-raw"), new TextEncoder().encode(state.text));
  const text = btoa(String.fromCharCode(...packed)).replace(/\+/g, "-").replace(/\//g, "_").replace(/=+$/, "");
  return location.href.split("#")[0] + MARK + text;
}

/** The document that the address carries, if it carries one. */
export async function linked() {
  if (!location.hash.startsWith(MARK)) return null;
  try {
    const packed = atob(location.hash.slice(MARK.length).replace(/-/g, "+").replace(/_/g, "/"));
    const reader = new Blob([Uint8Array.from(packed, (c) => c.charCodeAt(0))]).stream().pipeThrough(new DecompressionStream("deflate-raw")).getReader();
    const parts = [];
    let size = 0;
    for (let part = await reader.read(); !part.done; part = await reader.read()) {
      size += part.value.length;
      // Longer than any document that is read.
      if (size > 1_000_000) throw new Error("too long");
      parts.push(part.value);
    }
    return await new Blob(parts).text();
  } catch {
    notice("link", "stop", "The link's document could not be read: the link is cut off or damaged. Ask for it again.");
    return null;
  }
}

async function shareLink() {
  const address = await link();
  const others = Object.keys(state.inputs);
  const rest = others.length ? ` Files that the document names (${others.join(", ")}) are not in it.` : "";
  if (await copied(address)) notice("link", "good", `The link is on the clipboard. It carries the whole document.${rest}`);
  else notice("link", "good", `Copy this link; it carries the whole document.${rest}`, h("input", { value: address, readonly: true, "aria-label": "Link" }));
}

/** Takes files that were opened or dropped: a job document, files that the document names, or a photograph of a board. */
export async function takeFiles(files) {
  for (const file of files) {
    if (file.size > LARGEST) {
      notice("file", "stop", `${file.name} has ${file.size} bytes; at most ${LARGEST} are read.`);
      continue;
    }
    if (/^image\/(jpeg|png|webp|avif|gif|bmp|heic)$/.test(file.type)) {
      choose("measured");
      readPhoto(file);
      continue;
    }
    const text = (await file.text()).replace(/^\uFEFF/, "");
    const named = (state.view?.inputs ?? []).find((name) => name.split(/[\\/]/).pop() === file.name);
    if (named || !/\.toml$/i.test(file.name)) await takeInput(named, file.name, text);
    else {
      state.name = file.name;
      endStep();
      take(text);
    }
  }
}

/** A file that the document names; of another one, what it could be for. */
async function takeInput(named, name, text) {
  const readings = document.getElementById("read-readings");
  if (!named && readings && /\.csv$/i.test(name)) {
    readings.value = text;
    readings.dispatchEvent(new Event("input"));
    return;
  }
  if (!named) {
    const rocker = { csv: "measured", dxf: "drawing", svg: "drawing" }[name.split(".").pop().toLowerCase()];
    if (!rocker) {
      notice("file", "stop", `${name} is no file of a job. Open a job document (.toml), readings (.csv) or a drawn profile (.dxf, .svg).`);
      return;
    }
    const gone = ["arc", "segments", "curve", "measured", "drawing"].map((key) => ({ edit: "remove", path: `rocker.${key}` }));
    state.inputs = { ...state.inputs, [name]: text };
    await edit([...gone, { edit: "put", path: `rocker.${rocker}`, toml: `file = ${JSON.stringify(name)}\n` }]);
    notice("file", "good", rocker === "measured" ? `The rocker now is the board that ${name} was read from.` : `The rocker now is the profile in ${name}.`);
    return;
  }
  state.inputs = { ...state.inputs, [named]: text };
  tell("text");
}

/** Opens files; where the browser has a picker of its own, they can be saved into again. */
async function open() {
  if (window.showOpenFilePicker) {
    try {
      const picked = await window.showOpenFilePicker({ multiple: true });
      for (const file of picked) writable.set(file.name, file);
      await takeFiles(await Promise.all(picked.map((file) => file.getFile())));
    } catch (error) {
      if (error.name !== "AbortError") throw error;
    }
    return;
  }
  const field = h("input", { type: "file", multiple: true, onchange: () => takeFiles(field.files) });
  field.click();
}

function saveDocument() {
  saveText(state.name === "board.toml" ? `${slug()}.toml` : state.name, state.text);
}

function begin(starter) {
  state.name = "board.toml";
  endStep();
  take(starter.text);
}

/** The bar at the top of the page. */
export function showBar(place) {
  const menu = h("details", { class: "menu" }, h("summary", {}, "New"), h("div", {}, state.about.starters.map((starter) =>
    h("button", { onclick: () => { menu.open = false; begin(starter); } }, `${starter.name}: ${starter.what}`))));
  menu.addEventListener("focusout", (e) => { if (!menu.contains(e.relatedTarget)) menu.open = false; });
  const button = (label, words, work, keys) => h("button", { onclick: work, title: words, "aria-label": words, "aria-keyshortcuts": keys }, label);
  const [back, again] = [button("↶", "Undo", undo, "Control+Z"), button("↷", "Redo", redo, "Control+Shift+Z")];
  const units = h("select", { "aria-label": "Units", onchange: async () => {
    const answer = await state.engines.live.ask({ do: "unit", text: state.text, unit: units.value });
    take(answer.text);
  } }, h("option", { value: "mm" }, "mm"), h("option", { value: "in" }, "inches"));
  const title = h("h1", {}, "overbend");
  place.append(h("span", { class: "brand", "aria-hidden": "true" }), title,
    h("div", { class: "tools" }, menu, button("Open", "Open a document or a file that it names", open), button("Save", "Save the document", saveDocument, "Control+S"), button("Link", "Copy a link that carries the document", shareLink), back, again, units));
  const follow = () => {
    back.disabled = !state.undo.length;
    again.disabled = !state.redo.length;
  };
  follow();
  on("text", follow);
  on("view", () => {
    if (state.view?.unit) units.value = state.view.unit;
    const name = state.view?.title ?? state.good?.title ?? "overbend";
    title.textContent = name;
    document.title = `${name} – overbend`;
  });
  document.addEventListener("keydown", (event) => {
    if (!(event.ctrlKey || event.metaKey) || event.altKey) return;
    const key = event.key.toLowerCase();
    const typing = document.activeElement?.matches?.("textarea");
    if (key === "s") { event.preventDefault(); saveDocument(); }
    else if (key === "z" && !typing) { event.preventDefault(); (event.shiftKey ? redo : undo)(); }
    else if (key === "y" && !typing) { event.preventDefault(); redo(); }
  });
  document.addEventListener("dragover", (event) => event.preventDefault());
  document.addEventListener("drop", (event) => {
    event.preventDefault();
    takeFiles([...event.dataTransfer.files]);
  });
}

/** The foot of the page: what is kept, and how to forget it. */
export function showFoot(place) {
  const words = h("span");
  const say = () => (words.textContent = isKeeping() ? "The document is kept in this browser, and nowhere else." : "Nothing is kept in this browser.");
  const button = h("button", { class: "plain", onclick: () => { forget(); say(); button.remove(); } }, "Forget it");
  say();
  place.append(h("p", {}, words, " ", button), h("p", {}, `overbend ${state.about.version} · works without a network · no guarantee: cut a test piece first`));
}
