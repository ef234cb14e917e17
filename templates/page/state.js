// The document and what is known about it. The document is the truth; all else is a view of it.

const MOST_STEPS = 300;
const KEPT = "overbend-document";
/** Kept once the hints were seen. */
export const HINTS = "overbend-hints";

export const state = {
  /** The document's text, and what messages call it. */
  text: "",
  name: "board.toml",
  /** Files that it names, by name. */
  inputs: {},
  /** The last view of the document. */
  view: null,
  /** The last view that had a table. */
  good: null,
  /** The last whole build, and the document that it was made from; and the last one that had files. */
  full: null,
  goodFull: null,
  fullText: null,
  undo: [],
  redo: [],
  /** What was typed about a measured board, and what it says. */
  measured: undefined,
  learned: null,
  /** Whether a hand holds a handle. */
  held: false,
  about: null,
  engines: null,
};

const listeners = { text: new Set(), view: new Set(), full: new Set() };

/** Calls `listener` whenever `what` (text, view or full) has changed. */
export function on(what, listener) {
  listeners[what].add(listener);
}

export function tell(what) {
  for (const listener of listeners[what]) listener();
}

let lastMark = null;

/** Takes a changed document. Changes with the same `mark` in a row are one step of undo. */
export function take(text, mark = null) {
  if (text === state.text) return;
  if (mark === null || mark !== lastMark) {
    state.undo.push(state.text);
    if (state.undo.length > MOST_STEPS) state.undo.shift();
  }
  lastMark = mark;
  state.redo = [];
  replace(text);
}

/** Ends a row of changes that is one step of undo. */
export function endStep() {
  lastMark = null;
}

function replace(text) {
  state.text = text;
  keep();
  tell("text");
}

export function undo() {
  if (!state.undo.length) return;
  state.redo.push(state.text);
  lastMark = null;
  replace(state.undo.pop());
}

export function redo() {
  if (!state.redo.length) return;
  state.undo.push(state.text);
  lastMark = null;
  replace(state.redo.pop());
}

let keeping = true;

/** Keeps the document in this browser, where it allows that. */
export function keep() {
  if (!keeping) return;
  try {
    localStorage.setItem(KEPT, JSON.stringify({ text: state.text, name: state.name, inputs: state.inputs, measured: state.measured }));
  } catch {
    keeping = false;
  }
}

/** The document that this browser kept. */
export function kept() {
  try {
    const found = JSON.parse(localStorage.getItem(KEPT));
    return typeof found?.text === "string" ? found : null;
  } catch {
    return null;
  }
}

/** Removes everything that this browser kept, and keeps nothing more until the page is opened again. */
export function forget() {
  keeping = false;
  try {
    // Pages from disk may share what is kept: only what is ours goes.
    for (const name of [KEPT, HINTS]) localStorage.removeItem(name);
  } catch {
    // Where nothing can be kept there is nothing to forget.
  }
}

export function isKeeping() {
  return keeping;
}

let editing = Promise.resolve();

/** Changes keys of the document, one change behind the other. Resolves to a message where that cannot be done. */
export function edit(edits, mark = null) {
  editing = editing.then(async () => {
    const answer = await state.engines.live.ask({ do: "edit", text: state.text, edits });
    if (answer.text !== undefined) take(answer.text, mark);
    return answer.error;
  });
  return editing;
}

const WORST = ["stop", "watch", "ok"];

/** The checks of the document as it is, worst first; those of parts and files are of the last whole build. */
export function checks() {
  const late = (state.full?.checks ?? []).filter((c) => c.late);
  const all = [...((state.view ?? state.good)?.checks ?? state.good?.checks ?? []), ...late];
  return all.sort((a, b) => WORST.indexOf(a.verdict) - WORST.indexOf(b.verdict));
}

/** What is wrong in the document as it is; mistakes in parts show once it is built as a whole. */
export function problems() {
  return state.view?.problems ?? (state.fullText === state.text ? state.full?.problems : null) ?? [];
}

/** The document as the engine takes it. */
export function opened() {
  return { name: state.name, text: state.text, inputs: state.inputs };
}

/** What the document has at a path such as `layers[1].thickness`. */
export function valueAt(path, root = state.view?.values) {
  let value = root;
  for (const step of path.split(/[.[\]]+/).filter(Boolean)) value = value?.[step];
  return value;
}
