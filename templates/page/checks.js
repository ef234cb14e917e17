// Mistakes, checks and advice, worst first.

import { h, drawAnew } from "./dom.js";
import { state, on, edit, checks, problems } from "./state.js";
import { choose, goTo } from "./form.js";
import { selectBytes } from "./text.js";

let place = null;
const explained = new Map();
const unfolded = new Set();

export function showChecks(element) {
  place = element;
  on("view", draw);
  on("full", draw);
}

/** A button that shows what a code means, in the words of `explain`. */
function why(code) {
  const box = h("div", { class: "why", hidden: true });
  const fill = (e) => box.replaceChildren(h("p", {}, e.meaning), h("dl", {}, h("dt", {}, "How"), h("dd", {}, e.computed), h("dt", {}, "Source"), h("dd", {}, e.source), h("dt", {}, "What to do"), h("dd", {}, e.remedy)));
  const show = async (button) => {
    const open = box.hidden;
    if (open && !explained.has(code)) explained.set(code, await state.engines.live.ask({ do: "explain", code }));
    if (open) fill(explained.get(code));
    box.hidden = !open;
    button.setAttribute("aria-expanded", open ? "true" : "false");
    open ? unfolded.add(code) : unfolded.delete(code);
  };
  const button = h("button", { class: "plain", "data-key": `why ${code}`, "aria-expanded": "false", onclick: () => show(button) }, "Why?");
  if (unfolded.has(code) && explained.has(code)) {
    fill(explained.get(code));
    box.hidden = false;
    button.setAttribute("aria-expanded", "true");
  }
  return [button, box];
}

function mistake(problem) {
  const [button, box] = why(problem.code);
  const words = problem.message ? problem.message[0].toUpperCase() + problem.message.slice(1) : "";
  return h("li", { class: "stop" },
    h("p", { class: "subject" }, h("span", { class: "mark", "aria-hidden": "true" }), words), h("p", { class: "remedy" }, problem.remedy),
    h("p", { class: "actions" },
      problem.path && h("button", { class: "plain", onclick: () => goTo(problem.path) }, "Go there"),
      problem.file === state.name && h("button", { class: "plain", onclick: () => { choose("text"); selectBytes(problem.from, problem.to); } }, `Line ${problem.line}`), button), box);
}

function check(c) {
  const [button, box] = why(c.code);
  const accept = () => {
    const now = state.view.values.accept ?? [];
    const next = c.accepted ? now.filter((code) => code !== c.code) : [...now, c.code];
    edit([{ edit: "set", path: "accept", value: next.join(", "), kind: "texts" }]);
  };
  return h("li", { class: c.accepted ? "watch" : c.verdict },
    h("p", { class: "subject" }, h("span", { class: "mark", "aria-hidden": "true" }), h("span", { class: "away" }, `${c.verdict}: `), c.subject, c.value && h("span", { class: "held" }, ` ${c.value}, ${c.limit}`)),
    c.remedy && h("p", { class: "remedy" }, c.remedy),
    h("p", { class: "actions" }, button, c.verdict === "stop" && h("button", { class: "plain", "data-key": `accept ${c.code}`, onclick: accept }, c.accepted ? "Accepted; take that back" : "Accept it")), box);
}

function help(advice) {
  const apply = advice.edits ? h("button", { class: "plain", onclick: () => edit(advice.edits) }, "Apply") : null;
  return h("li", { class: "advice" }, h("p", { class: "subject" }, advice.what[0].toUpperCase() + advice.what.slice(1)), h("p", { class: "remedy" }, advice.gains), apply && h("p", { class: "actions" }, apply));
}

function draw() {
  const view = state.view;
  const all = checks();
  const open = all.filter((c) => c.verdict !== "ok");
  const fine = all.filter((c) => c.verdict === "ok");
  const wrong = problems();
  const advice = state.goodFull?.advice ?? [];
  const fresh = state.full?.files && state.fullText === state.text;
  drawAnew(place, [
    wrong.length ? h("section", {}, h("h2", {}, wrong.length > 1 ? `${wrong.length} mistakes in the document` : "A mistake in the document"),
      view?.problems ? h("p", { class: "meaning" }, "The picture shows the last document without a mistake.") : null, h("ul", { class: "checks" }, wrong.map(mistake))) : null,
    h("section", { class: wrong.length ? "stale" : "" }, h("h2", {}, "Checks"),
      open.length ? h("ul", { class: "checks" }, open.map(check)) : h("p", { class: "allwell" }, all.length ? "Nothing to look at." : "…"),
      fine.length ? h("details", { open: unfolded.has("fine"), ontoggle: (e) => (e.currentTarget.open ? unfolded.add("fine") : unfolded.delete("fine")) },
        h("summary", { "data-key": "fine" }, `${fine.length} checks are ok`), h("ul", { class: "checks" }, fine.map(check))) : null),
    advice.length ? h("section", { class: fresh ? "" : "stale" }, h("h2", {}, "What would help"), h("ul", { class: "checks" }, advice.map(help))) : null,
  ].filter(Boolean));
}
