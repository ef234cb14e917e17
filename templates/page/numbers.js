// The values that matter, beside the picture.

import { h } from "./dom.js";
import { state, on, checks } from "./state.js";

/** Bands narrower than this say nothing, mm. */
const SEEN_MM = 0.05;

let place = null;

export function showNumbers(element) {
  place = element;
  on("view", draw);
  on("full", draw);
  on("text", draw);
}

function value(label, text, note, classes) {
  return h("div", { class: `number ${classes ?? ""}` }, h("dt", {}, label), h("dd", {}, text ?? "–", note && h("small", {}, note)));
}

function draw() {
  const view = state.view ?? state.good;
  if (!view?.board && !state.good) return;
  const shown = state.view?.values_shown ?? state.good?.values_shown ?? {};
  const board = view.board ?? state.good.board;
  const pale = state.view?.values_shown ? "" : "stale";
  const late = state.full?.files && state.fullText === state.text ? pale : "stale";
  const band = state.goodFull?.band;
  const same = shown.table_tip === shown.table_tail && board.tip === board.tail;
  const sameBand = band && band.tip?.text === band.tail?.text;
  place.replaceChildren(h("dl", {},
    value(same ? "Tip and tail on the table" : "Tip on the table", shown.table_tip, `wanted ${board.tip}`, `main ${pale}`),
    same ? null : value("Tail on the table", shown.table_tail, `wanted ${board.tail}`, pale),
    value("Springback", shown.springback, "of the pressed curve", pale),
    value(sameBand ? "Nine boards in ten" : "Nine tips in ten", band?.tip?.text ?? "not simulated", band ? `a band of ${band.tip.width}` : null, late),
    sameBand || !band?.tail || band.tail.to - band.tail.from < SEEN_MM ? null : value("Nine tails in ten", band.tail.text, `a band of ${band.tail.width}`, late),
    value("Tightest radius", board.radius ?? "none", board.radius_at && `at ${board.radius_at}`, state.view?.board ? "" : "stale"),
    worst(pale)));
}

/** The worst check in a few words. */
function worst(pale) {
  const all = checks();
  const count = (verdict) => all.filter((c) => c.verdict === verdict && !c.accepted).length;
  const [stops, watches] = [count("stop"), count("watch")];
  if (stops) return value("Checks", `${stops} to stop for`, all.find((c) => c.verdict === "stop" && !c.accepted).subject, `verdict stop ${pale}`);
  if (watches) return value("Checks", `${watches} to look at`, all.find((c) => c.verdict === "watch").subject, `verdict watch ${pale}`);
  return value("Checks", all.length ? "All ok" : "–", all.length ? `${all.length} checks` : null, `verdict ok ${pale}`);
}
