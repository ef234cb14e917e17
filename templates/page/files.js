// The files of the whole build: previews, downloads, and the book.

import { h, download, drawAnew } from "./dom.js";
import { state, on } from "./state.js";
import { pagesOf } from "./pages.js";

const TYPES = { html: "text/html", svg: "image/svg+xml", pdf: "application/pdf", csv: "text/csv", json: "application/json", dxf: "image/vnd.dxf" };
const WORDS = [
  [/^book\.html$/, "Build book"], [/^ribs/, "Ribs"], [/^members/, "Other parts to cut"], [/^sheet/, "Sheet to cut"], [/^patterns/, "Full-size patterns"],
  [/^stations/, "Stations"], [/^spacers/, "Spacers"], [/^bearers/, "Bearers"], [/^cutlist/, "Parts"], [/^cutting/, "Bars to cut"], [/^shims/, "Shims"], [/^result/, "All values"],
];

let place = null;
let chosen = "book.html";
let shown = null;

export function showFiles(element) {
  place = element;
  on("full", draw);
  on("text", () => place.classList.toggle("stale", state.fullText !== state.text));
}

const bytesOf = (name) => state.engines.full.ask({ do: "file", name });
const typeOf = (name) => TYPES[name.split(".").pop()] ?? "text/plain";
const wordsFor = (name) => WORDS.find(([pattern]) => pattern.test(name))?.[1] ?? name;

async function save(name) {
  download(name, await bytesOf(name), typeOf(name));
}

/** The name of the folder that all files go into. */
export function slug() {
  return (state.view?.title ?? "board").toLowerCase().replace(/[^a-z0-9]+/g, "-").replace(/^-|-$/g, "").slice(0, 60) || "board";
}

async function saveAll() {
  download(`${slug()}.zip`, await state.engines.full.ask({ do: "zip" }), "application/zip");
}

function size(bytes) {
  return bytes < 1000 ? `${bytes} B` : bytes < 1e6 ? `${Math.round(bytes / 1000)} kB` : `${(bytes / 1e6).toFixed(1)} MB`;
}

function draw() {
  place.classList.remove("stale");
  const files = state.full?.files;
  if (!files) {
    place.replaceChildren(h("h2", {}, "Files"), h("p", { class: "meaning" }, state.full?.problems ? "There are no files while the document has a mistake." : "…"));
    return;
  }
  if (!files.some((f) => f.name === chosen)) chosen = "book.html";
  const order = [...files].sort((a, b) => (b.name === "book.html") - (a.name === "book.html"));
  const row = (file) => h("li", { class: file.name === chosen ? "chosen" : "" },
    h("button", { class: "plain name", "data-key": file.name, "aria-pressed": file.name === chosen ? "true" : "false", onclick: () => { chosen = file.name; draw(); } }, h("strong", {}, wordsFor(file.name)), h("span", {}, file.name)),
    h("button", { class: "plain", "data-key": `download ${file.name}`, "aria-label": `Download ${file.name}`, onclick: () => save(file.name) }, h("span", { "aria-hidden": "true" }, "↓ "), size(file.bytes)));
  const stop = state.full.stops ? h("p", { class: "stopnote" }, "A check says stop. Do not cut these files before you have fixed or accepted it.") : null;
  const preview = h("div", { class: "preview", tabindex: 0, role: "region", "aria-label": `Preview of ${chosen}` });
  drawAnew(place, [
    h("div", { class: "files-head" }, h("h2", {}, "Files"), h("button", { class: "strong", "data-key": "zip", onclick: saveAll }, "Download all as zip"), h("button", { onclick: () => window.print() }, "Print the book")),
    stop ?? "", h("div", { class: "files-body" }, h("ul", { class: "filelist" }, order.map(row)), preview)]);
  show(preview, chosen);
}

async function show(preview, name) {
  const bytes = await bytesOf(name);
  if (name !== chosen || !preview.isConnected) return;
  if (shown) URL.revokeObjectURL(shown);
  shown = null;
  const text = () => new TextDecoder().decode(bytes);
  const kind = name.split(".").pop();
  const twin = state.full.files.find((f) => f.name === name.replace(/\.dxf$/, ".svg"));
  if (kind === "html") {
    preview.replaceChildren(h("iframe", { sandbox: "", srcdoc: text(), title: "Build book" }));
  } else if (kind === "svg" || (kind === "dxf" && twin)) {
    shown = URL.createObjectURL(new Blob([kind === "svg" ? bytes : await bytesOf(twin.name)], { type: TYPES.svg }));
    const note = kind === "dxf" ? h("p", { class: "meaning" }, "The DXF file holds this same drawing, on layers by operation.") : "";
    preview.replaceChildren(note, h("img", { src: shown, alt: `Drawing ${name}`, class: "drawing" }));
  } else if (kind === "csv") {
    preview.replaceChildren(listing(text()));
  } else if (kind === "pdf") {
    const pages = await pagesOf(bytes, Math.min(preview.clientWidth - 40, 900));
    if (name === chosen && preview.isConnected) preview.replaceChildren(h("p", { class: "meaning" }, "Print at 100 % and measure the square that is printed on the pages."), ...pages);
  } else {
    preview.replaceChildren(h("pre", {}, text()));
  }
}

/** Comma-separated values as rows; lines that begin with # are remarks. */
function listing(text) {
  const lines = text.split(/\r?\n/).filter(Boolean);
  const cells = (line) => [...line.matchAll(/("(?:[^"]|"")*"|[^,]*)(,|$)/g)].slice(0, -1).map((m) => m[1].replace(/^"|"$/g, "").replace(/""/g, '"'));
  const remarks = lines.filter((line) => line.startsWith("#"));
  const [head, ...rows] = lines.filter((line) => !line.startsWith("#"));
  return h("div", {}, remarks.map((r) => h("p", { class: "meaning" }, r.slice(1).trim())),
    h("table", {}, h("thead", {}, h("tr", {}, cells(head ?? "").map((c) => h("th", { scope: "col" }, c.replace(/_/g, " "))))), h("tbody", {}, rows.map((row) => h("tr", {}, cells(row).map((c) => h("td", {}, c)))))));
}

/** On paper the page is the book. */
export async function printBook() {
  const place = document.getElementById("print");
  on("full", async () => {
    if (!state.full?.files) return place.replaceChildren();
    const book = new DOMParser().parseFromString(new TextDecoder().decode(await bytesOf("book.html")), "text/html");
    const style = h("style", { media: "print" }, [...book.querySelectorAll("style")].map((one) => one.textContent).join("\n"));
    return place.replaceChildren(style, ...book.body.childNodes);
  });
}
