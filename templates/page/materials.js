// Materials by search, each with its modulus and where that comes from.

import { h } from "./dom.js";
import { state } from "./state.js";

const MOST = 8;
let count = 0;

/** Materials whose names have all the words that were typed, those of the document first. */
function matching(typed) {
  const words = typed.toLowerCase().split(/\s+/).filter(Boolean);
  const own = (state.view?.values?.materials ?? []).filter((m) => m.name).map((m) => ({
    name: m.name, kind: "own", modulus: m.modulus ?? "", other_names: [], source: m.source ?? "this document" }));
  const all = [...own, ...state.about.materials];
  const fits = (m) => words.every((w) => [m.name, m.kind, ...m.other_names].join(" ").toLowerCase().includes(w));
  return all.filter(fits).slice(0, 60);
}

/** A field that suggests materials while one types. */
export function materialField(input, pick) {
  const list = h("ul", { role: "listbox", id: `materials-${count++}`, class: "suggestions", hidden: true, "aria-label": "Materials" });
  const box = h("div", { class: "combo" }, input, list);
  let marked = -1;
  const dress = { role: "combobox", "aria-autocomplete": "list", "aria-controls": list.id, "aria-expanded": "false" };
  for (const [name, value] of Object.entries(dress)) input.setAttribute(name, value);
  const close = () => {
    list.hidden = true;
    marked = -1;
    input.setAttribute("aria-expanded", "false");
    input.removeAttribute("aria-activedescendant");
  };
  const choose = (name) => {
    input.value = name;
    pick(name);
    close();
  };
  const show = (typed) => {
    const all = matching(typed);
    const row = (m, i) => h("li", { role: "option", id: `${list.id}-${i}`, "aria-selected": "false", onpointerdown: (e) => { e.preventDefault(); choose(m.name); } },
      h("strong", {}, m.name), h("span", {}, ` ${[m.kind, m.modulus].filter(Boolean).join(", ")}`), m.source && h("small", {}, m.source));
    list.replaceChildren(...all.slice(0, MOST).map(row));
    if (all.length > MOST) list.append(h("li", { role: "presentation", class: "meaning" }, `and ${all.length - MOST} more: type a part of the name`));
    list.hidden = !all.length;
    input.setAttribute("aria-expanded", all.length ? "true" : "false");
    marked = -1;
  };
  input.addEventListener("input", () => show(input.value));
  input.addEventListener("focus", () => { input.select(); show(""); });
  input.addEventListener("blur", close);
  input.addEventListener("keydown", (event) => {
    const options = [...list.querySelectorAll("[role=option]")];
    if (event.key === "Escape") return close();
    if (event.key === "Enter" && marked >= 0) return choose(options[marked].querySelector("strong").textContent);
    const by = { ArrowDown: 1, ArrowUp: -1 }[event.key];
    if (!by || list.hidden || !options.length) return undefined;
    event.preventDefault();
    marked = (marked + by + options.length) % options.length;
    options.forEach((o, i) => o.setAttribute("aria-selected", i === marked ? "true" : "false"));
    options[marked].scrollIntoView({ block: "nearest" });
    return input.setAttribute("aria-activedescendant", options[marked].id);
  });
  box.control = input;
  return box;
}
