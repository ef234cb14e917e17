// The document as text.

import { h, afterPause } from "./dom.js";
import { state, on, take } from "./state.js";

let area = null;

export function textStep() {
  const save = afterPause(150, () => take(area.value, "text"));
  area = h("textarea", { id: "text", class: "source", spellcheck: "false", autocapitalize: "off", "aria-label": "The document as text", "data-path": "text", oninput: save, value: state.text });
  return h("div", { class: "step text" },
    h("p", { class: "meaning" }, "This is the document itself. The program reads the same text; what is changed here changes everywhere."), area);
}

on("text", () => {
  if (area?.isConnected && document.activeElement !== area) area.value = state.text;
});

/** Selects the bytes of a mistake in the text. */
export function selectBytes(from, to) {
  const bytes = new TextEncoder().encode(state.text);
  const letters = (n) => new TextDecoder().decode(bytes.subarray(0, n)).length;
  area.focus();
  area.setSelectionRange(letters(from), letters(Math.max(to, from + 1)));
  const line = state.text.slice(0, letters(from)).split("\n").length;
  area.scrollTop = Math.max(line - 6, 0) * parseFloat(getComputedStyle(area).lineHeight);
}
