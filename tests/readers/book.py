"""Looks at build books in headless Chromium, over the DevTools protocol on a pipe: no port, no package.

Usage: book.py OUT FOLDER...   where each FOLDER holds a book.html. Screenshots, prints and the forms for measured heights, saved
by a click and filled in with what is expected, are left in OUT.
"""

import base64
import json
import os
import re
import subprocess
import sys
import tempfile
from pathlib import Path

WIDTHS = [390, 820, 1400]
PAPERS = {"a4": (8.2677, 11.6929), "letter": (8.5, 11.0)}
FLAGS = [
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-component-update",
    "--disable-background-networking", "--disable-sync", "--hide-scrollbars", "--force-device-scale-factor=1",
    "--remote-debugging-pipe",
]


class Browser:
    """A Chromium of our own, spoken to in JSON messages that end with a zero byte on descriptors 3 and 4."""

    def __init__(self, profile):
        to_read, self.to = os.pipe()
        self.back, from_write = os.pipe()
        program = os.environ.get("CHROMIUM", "chromium")

        def descriptors():
            a, b = os.dup(to_read), os.dup(from_write)
            os.dup2(a, 3)
            os.dup2(b, 4)

        self.process = subprocess.Popen(
            [program, *FLAGS, f"--user-data-dir={profile}", "about:blank"],
            close_fds=False, preexec_fn=descriptors, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )
        os.close(to_read)
        os.close(from_write)
        self.count, self.rest, self.events, self.session = 0, b"", [], None
        target = self.ask("Target.createTarget", url="about:blank")["targetId"]
        self.session = self.ask("Target.attachToTarget", targetId=target, flatten=True)["sessionId"]
        for domain in ("Page", "Runtime", "Log", "Network"):
            self.ask(f"{domain}.enable")

    def message(self):
        while b"\0" not in self.rest:
            more = os.read(self.back, 1 << 20)
            if not more:
                raise SystemExit("the browser has gone away")
            self.rest += more
        text, self.rest = self.rest.split(b"\0", 1)
        return json.loads(text)

    def ask(self, method, **params):
        self.count += 1
        request = {"id": self.count, "method": method, "params": params}
        if self.session:
            request["sessionId"] = self.session
        os.write(self.to, json.dumps(request).encode() + b"\0")
        while True:
            message = self.message()
            if message.get("id") == self.count:
                if "error" in message:
                    raise SystemExit(f"{method}: {message['error']}")
                return message["result"]
            self.events.append(message)

    def wait(self, method):
        while True:
            for event in self.events:
                if event.get("method") == method:
                    self.events.remove(event)
                    return event
            self.events.append(self.message())

    def run(self, script):
        found = self.ask("Runtime.evaluate", expression=script, returnByValue=True)
        if "exceptionDetails" in found:
            raise SystemExit(f"measuring failed: {found['exceptionDetails']}")
        return found["result"].get("value")

    def close(self):
        self.ask("Browser.close")
        self.process.wait(timeout=30)


# Everything that is measured, in the page itself. The page has no script of its own.
MEASURE = r"""
(() => {
  const wrong = [];
  const shown = e => e.getClientRects().length > 0;
  const name = e => `${e.tagName.toLowerCase()} "${(e.textContent || '').trim().slice(0, 40)}"`;
  if (document.scripts.length) wrong.push('the page has a script');
  if (document.documentElement.scrollWidth > innerWidth + 1)
    wrong.push(`the page is ${document.documentElement.scrollWidth} wide in ${innerWidth}`);
  const cards = innerWidth < 720;
  // Nothing of the text scrolls sideways or is cut off: tables fit, or their rows are cards.
  for (const e of document.querySelectorAll('.table,table,caption,tr,th,td,p,li,dd,summary')) {
    const b = e.getBoundingClientRect();
    if (!shown(e) || e.closest('thead') && cards) continue;
    if (b.right > innerWidth + 0.5 || e.clientWidth && e.scrollWidth > e.clientWidth + 1)
      wrong.push(`${name(e)} reaches to ${b.right}, ${e.scrollWidth} px in ${e.clientWidth}`);
  }
  for (const c of document.querySelectorAll('td'))
    if (cards && shown(c) && c.textContent && !getComputedStyle(c, '::before').content.includes(c.dataset.heading))
      wrong.push(`${name(c)} does not say what it is`);
  // Headings go down by one level at a time, and there is one first heading.
  let level = 0;
  for (const h of document.querySelectorAll('h1,h2,h3,h4')) {
    const n = +h.tagName[1];
    if (n > level + 1) wrong.push(`${name(h)} follows a heading of level ${level}`);
    level = n;
  }
  if (document.querySelectorAll('h1').length !== 1) wrong.push('not one first heading');
  for (const t of document.querySelectorAll('table'))
    if (!t.caption || !t.querySelector('thead th[scope=col]') || !t.querySelector('tbody th[scope=row]'))
      wrong.push(`${name(t)} lacks a caption or headers`);
  for (const a of document.querySelectorAll('a[href^="#"]'))
    if (!document.getElementById(a.getAttribute('href').slice(1))) wrong.push(`${name(a)} leads nowhere`);
  const ids = [...document.querySelectorAll('[id]')].map(e => e.id);
  if (new Set(ids).size !== ids.length) wrong.push('an id is used twice');
  let figures = 0, labels = 0;
  for (const f of document.querySelectorAll('figure')) {
    const pictures = [...f.querySelectorAll('svg')].filter(shown);
    if (pictures.length !== 1) { wrong.push(`${name(f)} shows ${pictures.length} pictures`); continue; }
    figures += 1;
    const svg = pictures[0], box = svg.getBoundingClientRect();
    if (box.width < 250 || box.height < 30) wrong.push(`${name(f)} is ${box.width} x ${box.height}`);
    for (const id of svg.getAttribute('aria-labelledby').split(' '))
      if (!document.getElementById(id)?.textContent) wrong.push(`${name(f)}: no ${id}`);
    const words = [...svg.querySelectorAll('text')].map(t => [t, t.getBoundingClientRect()]);
    labels += words.length;
    words.forEach(([t, b], i) => {
      if (b.left < box.left - 0.5 || b.right > box.right + 0.5 || b.top < box.top - 0.5 || b.bottom > box.bottom + 0.5)
        wrong.push(`${name(t)} leaves "${f.querySelector('figcaption').textContent.slice(0, 50)}"`);
      const size = parseFloat(getComputedStyle(t).fontSize) * box.width / svg.viewBox.baseVal.width;
      if (size < 10) wrong.push(`${name(t)} is ${size} px high`);
      for (const [u, c] of words.slice(i + 1)) {
        const dx = Math.min(b.right, c.right) - Math.max(b.left, c.left);
        const dy = Math.min(b.bottom, c.bottom) - Math.max(b.top, c.top);
        // Boxes hold empty space above and below the letters.
        if (dx > 0.5 && dy > 3)
          wrong.push(`${name(t)} and ${name(u)} overlap in "${f.querySelector('figcaption').textContent.slice(0, 50)}"`);
      }
    });
    for (const p of svg.querySelectorAll('path,circle')) {
      const b = p.getBoundingClientRect();
      if (b.left < box.left - 2 || b.right > box.right + 2 || b.top < box.top - 2 || b.bottom > box.bottom + 2)
        wrong.push(`a ${p.getAttribute('class')} line leaves "${f.querySelector('figcaption').textContent.slice(0, 50)}"`);
    }
  }
  // Contrast after WCAG 2.2, success criterion 1.4.3: 4.5 for text.
  const parse = c => (c.match(/[\d.]+/g) || []).map(Number);
  const linear = v => (v /= 255) <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4;
  const light = ([r, g, b]) => 0.2126 * linear(r) + 0.7152 * linear(g) + 0.0722 * linear(b);
  const ground = e => {
    for (; e; e = e.parentElement) {
      const c = parse(getComputedStyle(e).backgroundColor);
      if (c.length === 3 || c[3] > 0) return c;
    }
    return [255, 255, 255];
  };
  let least = 99;
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const e = walker.currentNode.parentElement;
    if (!walker.currentNode.data.trim() || !shown(e) || e.closest('title,desc')) continue;
    const style = getComputedStyle(e);
    const a = light(parse(e.closest('svg') ? style.fill : style.color)), b = light(ground(e));
    const ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
    least = Math.min(least, ratio);
    if (ratio < 4.5) wrong.push(`${name(e)}: contrast ${ratio.toFixed(2)}`);
  }
  return {wrong, figures, labels, least};
})()
"""
FIGURES = r"""
[...document.querySelectorAll('figure')].map(f => {
  const svg = [...f.querySelectorAll('svg')].find(s => s.getClientRects().length > 0);
  return {caption: f.querySelector('figcaption strong').textContent.trim(),
          texts: svg ? [...svg.querySelectorAll('text')].map(t => t.textContent.trim()) : [],
          height: f.getBoundingClientRect().height};
})
"""


HEADS = "[...document.querySelectorAll('h2,h3,caption')].map(h => h.textContent)"


def squeezed(text):
    return re.sub(r"\s+", "", text)


def on_paper(browser, folder, out, problems):
    browser.ask("Emulation.setEmulatedMedia", media="print", features=[{"name": "prefers-color-scheme", "value": "light"}])
    for paper, (wide, high) in PAPERS.items():
        margin = 14 / 25.4
        width = round((wide - 2 * margin) * 96)
        browser.ask("Emulation.setDeviceMetricsOverride", width=width, height=1200, deviceScaleFactor=1, mobile=False)
        figures = browser.run(FIGURES)
        room = (high - 2 * margin) * 96
        for f in figures:
            if f["height"] > room:
                problems.append(f"{paper}: {f['caption']} is {f['height']:.0f} px high, the page {room:.0f}")
        # The print itself must follow from the page's own style: no emulation while printing.
        pdf = browser.ask("Page.printToPDF", paperWidth=wide, paperHeight=high, printBackground=True, preferCSSPageSize=False,
                          marginTop=margin, marginBottom=margin, marginLeft=margin, marginRight=margin)
        path = out / f"{folder.name}-{paper}.pdf"
        path.write_bytes(base64.b64decode(pdf["data"]))
        pages = subprocess.run(["pdftotext", "-layout", str(path), "-"], check=True, capture_output=True, text=True).stdout
        pages = [squeezed(p) for p in pages.split("\f")]
        heads = [squeezed(h) for h in browser.run(HEADS)]
        for i, page in enumerate(pages[:-1]):
            problems += [f"{paper}: page {i + 1} ends with the heading {h}" for h in heads if page.endswith(h)]
            if len(page) < 60:
                problems.append(f"{paper}: page {i + 1} holds nothing but `{page}`")
        for f in figures:
            where = [i for i, p in enumerate(pages) if squeezed(f["caption"]) in p]
            if not where:
                problems.append(f"{paper}: {f['caption']} is not on any page")
            elif not all(squeezed(t) in pages[where[0]] for t in f["texts"]):
                lost = [t for t in f["texts"] if squeezed(t) not in pages[where[0]]]
                problems.append(f"{paper}: {f['caption']} is cut: {lost[:3]} are not on its page")
        print(f"{folder.name}: {len(pages) - 1} pages of {paper}, {len(figures)} figures whole")
    browser.ask("Emulation.setEmulatedMedia", media="")


def save_form(browser, folder, out, problems):
    if not browser.run("!!document.querySelector('a[download]')"):
        return
    with tempfile.TemporaryDirectory() as downloads:
        browser.ask("Browser.setDownloadBehavior", behavior="allow", downloadPath=downloads, eventsEnabled=True)
        browser.events.clear()
        browser.run("document.querySelector('a[download]').click()")
        while browser.wait("Browser.downloadProgress")["params"]["state"] == "inProgress":
            pass
        saved = Path(downloads) / "heights.csv"
        if not saved.exists():
            problems.append(f"the form is not saved as heights.csv: {os.listdir(downloads)}")
            return
        heading, *lines = saved.read_text().splitlines()
    rows = [line.split(",") for line in lines]
    if len(rows) < 5 or any(len(row) != 4 or row[2:] != ["", ""] for row in rows):
        problems.append(f"the form is no form: {rows[:3]}")
    filled = [heading] + [f"{station},{expected},{expected}," for station, expected, *_ in rows]
    (out / f"{folder.name}-heights.csv").write_text("\n".join(filled) + "\n")
    print(f"{folder.name}: form with {len(rows)} stations saved")


def check(browser, folder, out):
    problems = []
    page = folder / "book.html"
    for scheme in ("light", "dark"):
        features = [{"name": "prefers-color-scheme", "value": scheme}]
        browser.ask("Emulation.setEmulatedMedia", media="screen", features=features)
        for width in WIDTHS:
            browser.ask("Emulation.setDeviceMetricsOverride", width=width, height=900, deviceScaleFactor=1, mobile=False)
            browser.events.clear()
            browser.ask("Page.navigate", url=page.resolve().as_uri())
            browser.wait("Page.loadEventFired")
            found = browser.run(MEASURE)
            if found["figures"] < 6 or found["labels"] < 60:
                problems.append(f"only {found['figures']} figures with {found['labels']} labels were seen")
            problems += [f"{scheme} {width}: {w}" for w in found["wrong"]]
            for event in browser.events:
                if event["method"] in ("Runtime.exceptionThrown", "Log.entryAdded", "Runtime.consoleAPICalled"):
                    problems.append(f"{scheme} {width}: console: {json.dumps(event['params'])[:300]}")
                if event["method"] == "Network.requestWillBeSent":
                    url = event["params"]["request"]["url"]
                    if not url.startswith(("file:", "data:")):
                        problems.append(f"{scheme} {width}: asks for {url}")
            shot = browser.ask("Page.captureScreenshot", format="png", captureBeyondViewport=True)
            (out / f"{folder.name}-{scheme}-{width}.png").write_bytes(base64.b64decode(shot["data"]))
            print(f"{folder.name}: {scheme} {width} px: {found['figures']} figures, {found['labels']} labels, "
                  f"least contrast {found['least']:.2f}")
    save_form(browser, folder, out, problems)
    on_paper(browser, folder, out, problems)
    return [f"{folder.name}: {p}" for p in problems]


def main():
    out = Path(sys.argv[1])
    out.mkdir(parents=True, exist_ok=True)
    problems = []
    with tempfile.TemporaryDirectory() as profile:
        browser = Browser(profile)
        for folder in sys.argv[2:]:
            problems += check(browser, Path(folder), out)
        browser.close()
    if problems:
        sys.exit("\n".join(problems))


main()
