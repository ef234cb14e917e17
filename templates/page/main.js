// The page: starts the engine, and keeps all views at the document.

import { h, notice, forgetNotice, afterPause, copied } from "./dom.js";
import { engines, EngineStopped } from "./engine.js";
import { state, on, tell, take, kept, opened, HINTS } from "./state.js";
import { showPicture } from "./picture.js";
import { showCurvature } from "./curvature.js";
import { showNumbers } from "./numbers.js";
import { showForm, choose } from "./form.js";
import { showChecks } from "./checks.js";
import { showFiles, printBook } from "./files.js";
import { showBar, showFoot, linked } from "./share.js";

/** How long a hand rests before the whole build begins, ms. */
const REST_MS = 350;

/** Says that the engine stopped; the document stays as it is. */
state.stopped = (error) => {
  const report = `overbend ${state.about?.version ?? ""}\n${error.message}\n\n${state.text}\n`;
  const button = h("button", { onclick: async () => { button.textContent = (await copied(report)) ? "Copied" : "Select the text by hand"; } }, "Copy a report");
  notice("engine", "stop", error instanceof EngineStopped
    ? "The engine stopped on this document. Nothing is lost: undo the last change, or copy a report with the document in it."
    : `Something went wrong: ${error.message}`, button);
};

let looking = false;
let again = false;

/** Brings the view up to the document, the latest one last. */
async function look() {
  if (looking) {
    again = true;
    return;
  }
  looking = true;
  do {
    again = false;
    if (state.viewText === state.text && state.viewInputs === state.inputs) break;
    const [text, inputs] = [state.text, state.inputs];
    try {
      const view = await state.engines.live.ask({ do: "live", ...opened() });
      if (state.viewText === state.text && state.viewInputs === state.inputs) break;
      [state.view, state.viewText, state.viewInputs] = [view, text, inputs];
      if (view.table) state.good = view;
      forgetNotice("engine");
      missing(view);
      tell("view");
    } catch (error) {
      [state.viewText, state.viewInputs] = [text, inputs];
      state.stopped(error);
    }
  } while (again || state.viewText !== state.text);
  looking = false;
}

/** Says which files the document names that were not opened yet. */
function missing(view) {
  const names = (view.inputs ?? []).filter((name) => !(name in state.inputs) && (view.problems ?? []).some((p) => p.code === "file-not-read"));
  if (names.length) notice("inputs", "watch", `The document names ${names.join(", ")}. Open or drop ${names.length > 1 ? "these files" : "this file"} here.`);
  else forgetNotice("inputs");
}

let building = false;

/** The whole build, once the hand rests. */
async function build() {
  if (state.held || building) return whole();
  if (state.fullText === state.text && state.fullInputs === state.inputs) return undefined;
  building = true;
  const [text, inputs] = [state.text, state.inputs];
  try {
    const full = await state.engines.full.ask({ do: "full", ...opened() });
    [state.full, state.fullText, state.fullInputs] = [full, text, inputs];
    if (full.files) state.goodFull = full;
    tell("full");
  } catch (error) {
    [state.fullText, state.fullInputs] = [text, inputs];
    state.stopped(error);
  }
  building = false;
  return state.text === text ? undefined : whole();
}

const whole = afterPause(REST_MS, build);

function hints() {
  try {
    if (localStorage.getItem(HINTS)) return;
    localStorage.setItem(HINTS, "seen");
  } catch {
    return;
  }
  notice("hints", "hint", "Drag the round handles: the table follows. Type any value below, in any unit (1/2 in). Your cut files are at the foot of the page.");
}

async function start() {
  const place = (id) => document.getElementById(id);
  state.engines = await engines();
  state.about = await state.engines.live.ask({ do: "about" });
  const before = kept();
  const shared = await linked();
  Object.assign(state, { text: before?.text ?? state.about.starters[0].text, name: before?.name ?? "board.toml", inputs: before?.inputs ?? {}, measured: before?.measured });
  on("text", () => { look(); whole(); });
  showBar(place("bar"));
  showPicture(place("picture"));
  showCurvature(place("curvature"));
  showNumbers(place("numbers"));
  showForm(place("sections"));
  showChecks(place("advice"));
  showFiles(place("files"));
  showFoot(place("foot"));
  printBook();
  if (shared !== null) take(shared);
  await look();
  choose("board");
  whole();
  if (!before && shared === null) hints();
  window.addEventListener("hashchange", async () => {
    const other = await linked();
    if (other !== null) take(other);
  });
  document.body.classList.add("ready");
}

start().catch((error) => {
  notice("start", "stop", `The page could not start: ${error.message}. It needs a browser of 2023 or later.`);
});
