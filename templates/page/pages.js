// Pages of the program's own full-size patterns, drawn from the file itself. It knows what `export/pattern` writes of PDF: lines,
// curves, frames, words in one font, forms, and nothing else.

import { h } from "./dom.js";

const latin = (bytes) => new TextDecoder("latin1").decode(bytes);

async function unpacked(bytes) {
  return latin(new Uint8Array(await new Response(new Blob([bytes]).stream().pipeThrough(new DecompressionStream("deflate"))).arrayBuffer()));
}

/** All objects of a file: the text of the dictionary, and the unpacked stream where there is one. */
async function objects(bytes) {
  const text = latin(bytes);
  const found = new Map();
  const pattern = /(\d+) 0 obj\s([\s\S]*?)(?:stream\n|endobj)/g;
  for (let match = pattern.exec(text); match; match = pattern.exec(text)) {
    const [whole, number, head] = match;
    let stream = null;
    if (whole.endsWith("stream\n")) {
      const length = Number(/\/Length (\d+)/.exec(head)[1]);
      stream = await unpacked(bytes.subarray(pattern.lastIndex, pattern.lastIndex + length));
      pattern.lastIndex += length;
    }
    found.set(number, { head, stream });
  }
  return found;
}

const TOKEN = /\((?:\\[\s\S]|[^\\()])*\)|<[0-9A-Fa-f]*>|\[[^\]]*\]|\/[^\s/[\]()<>]+|[-+.\d]+|[A-Za-z*]+/g;

function string(token) {
  if (token[0] === "<") return token.slice(1, -1).replace(/../g, (pair) => String.fromCharCode(parseInt(pair, 16)));
  return token.slice(1, -1).replace(/\\([nrtbf()\\]|\d{1,3})/g, (_, c) => (/\d/.test(c) ? String.fromCharCode(parseInt(c, 8)) : ({ n: "\n", r: "\r", t: "\t" }[c] ?? c)));
}

/** Draws contents; `form` draws a form by its name. */
function draw(canvas, contents, form) {
  let held = [];
  let size = 1;
  const at = { x: 0, y: 0 };
  const grey = (g) => `rgb(${[g, g, g].map((x) => Math.round(255 * x))})`;
  const does = {
    q: () => canvas.save(), Q: () => canvas.restore(), cm: (...m) => canvas.transform(...m),
    w: (w) => (canvas.lineWidth = w), G: (g) => (canvas.strokeStyle = grey(g)), g: (g) => (canvas.fillStyle = grey(g)),
    d: (list) => canvas.setLineDash(list),
    m: (x, y) => canvas.moveTo(x, y), l: (x, y) => canvas.lineTo(x, y), c: (...p) => canvas.bezierCurveTo(...p), h: () => canvas.closePath(),
    re: (...r) => canvas.rect(...r), S: () => { canvas.stroke(); canvas.beginPath(); }, W: () => canvas.clip(), n: () => canvas.beginPath(),
    Tf: (_, points) => (size = points), Tm: (...m) => Object.assign(at, { m }),
    Tj: (words) => {
      canvas.save();
      canvas.transform(...at.m);
      // Letters stand upright although y points up.
      canvas.scale(size / 100, -size / 100);
      canvas.font = "100px Helvetica, Arial, 'Liberation Sans', sans-serif";
      canvas.fillText(words, 0, 0);
      canvas.restore();
    },
    Do: (name) => form(name),
  };
  canvas.beginPath();
  for (const [token] of contents.matchAll(TOKEN)) {
    if (/^[-+.\d]/.test(token)) held.push(Number(token));
    else if (token[0] === "(" || token[0] === "<") held.push(string(token));
    else if (token[0] === "[") held.push(token.slice(1, -1).trim().split(/\s+/).filter(Boolean).map(Number));
    else if (token[0] === "/") held.push(token.slice(1));
    else {
      does[token]?.(...held);
      held = [];
    }
  }
}

/** The pages of a file of patterns as pictures, `width` pixels wide; each is drawn when it comes into view. */
export async function pagesOf(bytes, width) {
  const all = await objects(bytes);
  const pages = [...all.values()].filter(({ head }) => /\/Type \/Page\b(?!s)/.test(head));
  return pages.map(({ head }, i) => {
    const [, , wide, high] = /\/MediaBox \[([^\]]*)\]/.exec(head)[1].trim().split(/\s+/).map(Number);
    const scale = (width * Math.min(devicePixelRatio, 2)) / wide;
    const picture = h("canvas", { width: Math.round(wide * scale), height: Math.round(high * scale), role: "img", "aria-label": `Page ${i + 1} of ${pages.length}` });
    const forms = Object.fromEntries([...head.matchAll(/\/(\S+) (\d+) 0 R/g)].map(([, name, number]) => [name, number]));
    const show = () => {
      const canvas = picture.getContext("2d");
      canvas.setTransform(scale, 0, 0, -scale, 0, high * scale);
      const form = (name) => draw(canvas, all.get(forms[name])?.stream ?? "", () => undefined);
      draw(canvas, all.get(/\/Contents (\d+) 0 R/.exec(head)[1]).stream, form);
    };
    const seen = new IntersectionObserver(([entry]) => {
      if (!entry.isIntersecting) return;
      seen.disconnect();
      show();
    });
    seen.observe(picture);
    return h("figure", { class: "sheet" }, picture, h("figcaption", {}, `Page ${i + 1} of ${pages.length}`));
  });
}
