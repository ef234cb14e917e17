// Small helpers for elements. Texts become text nodes: nothing of a document is ever read as markup.

const SVG = "http://www.w3.org/2000/svg";

/** Sets attributes, properties and listeners of an element. */
function dress(element, attributes) {
  for (const [name, value] of Object.entries(attributes ?? {})) {
    if (value === undefined || value === null || value === false) continue;
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else if (name === "value" || name === "checked" || name === "disabled" || name === "open") element[name] = value;
    else element.setAttribute(name, value === true ? "" : value);
  }
  return element;
}

/** An element of HTML with attributes and children; children are elements, texts, or nothing. */
export function h(tag, attributes, ...children) {
  const element = dress(document.createElement(tag), attributes);
  element.append(...children.flat(9).filter((child) => child !== undefined && child !== null && child !== false));
  return element;
}

/** The same of SVG. */
export function s(tag, attributes, ...children) {
  const element = dress(document.createElementNS(SVG, tag), attributes);
  element.append(...children.flat(9).filter((child) => child !== undefined && child !== null));
  return element;
}

/** Draws a place anew and gives the focus back to the element of the same `data-key`. */
export function drawAnew(place, children) {
  const key = place.contains(document.activeElement) ? document.activeElement.dataset.key : undefined;
  place.replaceChildren(...children);
  if (key) place.querySelector(`[data-key="${CSS.escape(key)}"]`)?.focus({ preventScroll: true });
}

/** Calls `work` once `pause` milliseconds after the last call of what it returns. */
export function afterPause(pause, work) {
  let timer = 0;
  return () => {
    clearTimeout(timer);
    timer = setTimeout(work, pause);
  };
}

/** Hands a file over to the person. */
export function download(name, bytes, type) {
  const address = URL.createObjectURL(new Blob([bytes], { type: type ?? "application/octet-stream" }));
  const link = h("a", { href: address, download: name });
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(address), 60000);
}

/** Puts a text on the clipboard; says whether that was possible. */
export async function copied(text) {
  try {
    await navigator.clipboard.writeText(text);
    return true;
  } catch {
    const field = h("textarea", { value: text, class: "away" });
    document.body.append(field);
    field.select();
    const done = document.execCommand("copy");
    field.remove();
    return done;
  }
}

/** A message above the page. Another one of the same name takes its place. */
export function notice(name, kind, message, ...buttons) {
  const place = document.getElementById("notices");
  forgetNotice(name);
  const close = h("button", { class: "plain", "aria-label": "Close this message", onclick: () => forgetNotice(name) }, "×");
  place.append(h("div", { class: `notice ${kind}`, "data-name": name }, h("p", {}, message), buttons, close));
}

export function forgetNotice(name) {
  document.querySelectorAll("#notices > div").forEach((one) => one.dataset.name === name && one.remove());
}
