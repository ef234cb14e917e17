// Boards measured: readings of a board that was pressed, what they say at once, and the shop's file.

import { h, afterPause, download } from "./dom.js";
import { state, on, edit, keep, tell } from "./state.js";
import { saveText } from "./save.js";
import { openPhoto } from "./photo.js";

const FIELDS = [
  ["label", "Name of the board", "", "What the shop calls this board. Numbered when left out."],
  ["error", "Error of a reading", "", "Standard error of one reading. Found from the readings when left out."],
  ["shims", "Shims at hand", "", "Thicknesses with commas between them, such as 0.3, 0.5, 1."],
];
const CHOICES = [
  ["from", "Stations from", { tail: "tail", middle: "middle", tip: "tip" }],
  ["datum", "Heights above", { floor: "floor", straightedge: "straightedge" }],
  ["table", "Pressed on", { "": "not stated", designed: "the table of this document", last: "the table of the last board", existing: "the existing table of this document", heights: "a table whose heights I read" }],
];

let result = null;
let photoPlace = null;
let tableHeights = null;
let busy = false;
let due = false;

const typed = () => ({ readings: "", from: "tail", datum: "floor", error: "", label: "", table: "", table_heights: "", table_middle: "", shims: "", anyway: false, ...state.measured });

/** Changes what was typed about the board, and asks what it says. */
function write(key, value) {
  state.measured = { ...typed(), [key]: value };
  keep();
  ask();
}

const ask = afterPause(200, learn);

async function learn() {
  if (busy) {
    due = true;
    return;
  }
  if (typed().readings.trim().split("\n").length < 2) {
    show(null);
    return;
  }
  busy = true;
  try {
    const { name, text, inputs } = state;
    show(await state.engines.live.ask({ do: "learn", name, text, inputs, board: typed() }));
  } catch (error) {
    state.stopped(error);
  }
  busy = false;
  if (due) {
    due = false;
    learn();
  }
}

function show(said) {
  state.learned = said;
  if (result?.isConnected) result.replaceChildren(...words(said));
  tell("full");
}

on("text", () => result?.isConnected && ask());

export function measuredStep() {
  const board = typed();
  const field = ([key, label, placeholder, meaning]) => h("div", { class: "field" }, h("label", { for: `read-${key}` }, label),
    h("input", { type: "text", id: `read-${key}`, value: board[key], placeholder, autocomplete: "off", oninput: (e) => write(key, e.target.value) }), h("p", { class: "meaning" }, meaning));
  const choice = ([key, label, options]) => h("div", { class: "field" }, h("label", { for: `read-${key}` }, label),
    h("div", { class: "entry" }, h("select", { id: `read-${key}`, onchange: (e) => { write(key, e.target.value); tableHeights.hidden = typed().table !== "heights"; } }, Object.entries(options).map(([value, name]) => h("option", { value, ...(board[key] === value ? { selected: true } : {}) }, name)))));
  const readings = h("textarea", { id: "read-readings", rows: 12, spellcheck: "false", value: board.readings, placeholder: "0, 44.3\n150, 27.0\n300, 13.5", oninput: () => write("readings", readings.value) });
  const open = h("button", { onclick: () => {
    const file = h("input", { type: "file", accept: ".csv,text/csv,text/plain", onchange: async () => {
      readings.value = await file.files[0].text();
      write("readings", readings.value);
    } });
    file.click();
  } }, "Open a CSV file");
  const photograph = h("button", { onclick: () => {
    const file = h("input", { type: "file", accept: "image/jpeg,image/png,image/webp", onchange: () => readPhoto(file.files[0]) });
    file.click();
  } }, "Read a photograph");
  photoPlace = h("div");
  const heights = h("textarea", { id: "read-table_heights", rows: 8, spellcheck: "false", value: board.table_heights, placeholder: "-700, 52.1\n-350, 13.2\n0, 0\n350, 13.0\n700, 52.4", oninput: () => write("table_heights", heights.value) });
  tableHeights = h("div", { class: "reading", hidden: board.table !== "heights" },
    h("div", { class: "field" }, h("label", { for: "read-table_heights" }, "Heights of the table: station and height over a straight line"), heights),
    h("div", { class: "fields" }, field(["table_middle", "Middle of the board at", "0", "The station that lies under the middle of the board. Where stations are negative it is 0, else halfway."])));
  result = h("div", { class: "learned", "aria-live": "polite" }, words(state.learned));
  if (board.readings && !state.learned) ask();
  return h("div", { class: "step measured" },
    h("p", { class: "meaning" }, "Press a board, let it rest, and read its heights with a rule. The readings tell how much this shop's boards spring back; every kept board makes the next table better."),
    h("div", { class: "reading" },
      h("div", { class: "field" }, h("label", { for: "read-readings" }, "Station and height, one reading to a line"), readings, h("p", { class: "buttons" }, open, photograph)),
      h("div", { class: "fields" }, CHOICES.map(choice), FIELDS.map(field))),
    tableHeights, photoPlace, result);
}

/** Reads a photograph in this step; its readings take the place of those that were typed. */
export function readPhoto(file) {
  openPhoto(photoPlace, file, ({ readings, error }) => {
    // A floor line that was clicked is a straightedge: the board may lie askew to it.
    state.measured = { ...typed(), readings, error, from: "tail", datum: "straightedge" };
    for (const key of ["readings", "error", "from", "datum"]) document.getElementById(`read-${key}`).value = state.measured[key];
    keep();
    ask();
  });
}

function words(said) {
  if (!said) return [];
  const wrong = said.faults ?? said.problems?.map((p) => `${p.message} ${p.remedy}`);
  if (wrong) return [h("ul", { class: "checks" }, wrong.map((text) => h("li", { class: "stop" }, h("p", { class: "subject" }, h("span", { class: "mark", "aria-hidden": "true" }), text[0].toUpperCase() + text.slice(1)))))];
  const { board } = said;
  const inches = state.view?.unit === "in";
  const length = (mm) => (inches ? (mm / 25.4).toFixed(3) : mm.toFixed(1));
  const row = (r) => {
    const off = r.height_mm - r.explained_mm;
    const wild = r.weight < 0.5;
    return h("tr", { class: wild ? "wild" : "" }, h("td", {}, length(r.station_mm)), h("td", {}, length(r.height_mm)), h("td", {}, length(r.explained_mm)), h("td", {}, (off > 0 ? "+" : "") + (inches ? (off / 25.4).toFixed(3) : off.toFixed(2)), wild ? " – disagrees" : ""));
  };
  const check = (c) => h("li", { class: c.verdict }, h("p", { class: "subject" }, h("span", { class: "mark", "aria-hidden": "true" }), h("span", { class: "away" }, `${c.verdict}: `), c.subject), c.remedy && h("p", { class: "remedy" }, c.remedy));
  const keepIt = async () => {
    state.inputs = { ...state.inputs, [said.shop_file]: said.shop };
    state.measured = undefined;
    state.learned = null;
    keep();
    if (said.named) tell("text");
    else await edit([{ edit: "set", path: "shop", value: said.shop_file, kind: "text" }]);
    await saveText(said.shop_file, said.shop);
    result.replaceChildren(h("p", { class: "allwell" }, `Kept in ${said.shop_file}. Keep that file beside the document, and open both next time.`));
  };
  const save = async (name) => download(name, await state.engines.live.ask({ do: "file", name }), "text/plain");
  const looked = said.checks.filter((c) => c.verdict !== "ok");
  return [
    h("pre", { class: "summary" }, said.summary.split("\n\n")[0].trim()),
    looked.length ? h("ul", { class: "checks" }, looked.map(check)) : "",
    h("details", { open: board.readings.some((r) => r.weight < 0.5) }, h("summary", {}, "Readings beside the model"),
      h("table", { class: "listing" }, h("thead", {}, h("tr", {}, [`Station, ${inches ? "in" : "mm"}`, "Read", "Model", "Difference"].map((c) => h("th", { scope: "col" }, c)))), h("tbody", {}, board.readings.map(row)))),
    h("p", { class: "buttons" }, h("button", { class: "strong", onclick: keepIt }, said.left_out ? "Keep this board, without learning from it" : "Keep this board and learn from it"),
      said.left_out && h("button", { onclick: () => write("anyway", true) }, "Learn from it all the same"),
      said.files.some((f) => f.name === "shims.csv") && h("button", { onclick: () => save("shims.csv") }, "Download shims.csv"),
      h("button", { onclick: () => save("book.html") }, "Download its book")),
  ];
}
