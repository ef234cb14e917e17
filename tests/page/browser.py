"""A real browser with the page in it, and what every test of the page needs."""

import contextlib
import pathlib

from playwright.sync_api import sync_playwright

ROOT = pathlib.Path(__file__).resolve().parents[2]
FLAGS = ["--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
         "--disable-background-networking", "--disable-component-update", "--disable-sync"]
DESKTOP = {"width": 1440, "height": 900}
PHONE = {"width": 390, "height": 844}
# Counts what the page still has to do: pauses of a hand that it waits out, frames, and questions its engines have not answered.
# Fixed waits would be too short on a slow machine. How long each kind of question took is kept, ms.
COUNTED = """(() => {
  const waiting = new Set();
  const counted = (name, ends, kept) => {
    const [begin, end] = [window[name], window[ends]];
    window[name] = (work, pause, ...rest) => {
      const id = begin((...all) => { waiting.delete(name + id); work(...all); }, pause, ...rest);
      if (kept(pause)) waiting.add(name + id);
      return id;
    };
    window[ends] = (id) => { waiting.delete(name + id); end(id); };
  };
  counted("setTimeout", "clearTimeout", (pause) => !(pause > 5000));
  counted("requestAnimationFrame", "cancelAnimationFrame", () => true);
  const Plain = Worker;
  let workers = 0;
  const answered = {};
  window.Worker = class extends Plain {
    constructor(...all) {
      super(...all);
      this.mark = `worker ${workers++} `;
      this.asked = new Map();
      this.addEventListener("message", ({ data }) => {
        const [kind, since] = this.asked.get(data.id);
        (answered[kind] ??= []).push(performance.now() - since);
        waiting.delete(this.mark + data.id);
      });
    }
    postMessage(data, ...rest) {
      if (data.id !== undefined) {
        waiting.add(this.mark + data.id);
        this.asked.set(data.id, [data.request.do, performance.now()]);
      }
      super.postMessage(data, ...rest);
    }
  };
  window.waitsFor = waiting;
  window.answeredIn = answered;
})();"""


@contextlib.contextmanager
def chromium():
    """A running browser."""
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path="/usr/bin/chromium", args=FLAGS)
        try:
            yield browser
        finally:
            browser.close()


class Page:
    """The page, opened from disk in a browser that has never seen it. Requests to anywhere and errors are collected."""

    def __init__(self, browser, path, viewport=None, fragment="", script=None, **context):
        self.context = browser.new_context(viewport=viewport or DESKTOP, accept_downloads=True, **context)
        # The browser's own picker of files cannot be driven; without it the page asks as other browsers do.
        self.context.add_init_script("window.showOpenFilePicker = undefined;")
        self.context.add_init_script(COUNTED)
        if script:
            self.context.add_init_script(script)
        self.page = self.context.new_page()
        self.errors, self.requests = [], []
        self.page.on("console", lambda m: self.errors.append(m.text) if m.type in ("error", "warning") else None)
        self.page.on("pageerror", lambda e: self.errors.append(str(e)))
        self.page.on("request", lambda r: self.requests.append(r.url))
        self.address = pathlib.Path(path).resolve().as_uri()
        self.page.goto(self.address + fragment)
        self.ready()

    def ready(self):
        """Waits until the page has started and shows its document."""
        self.page.wait_for_selector("body.ready")
        return self.settle()

    def settle(self):
        """Waits for views and the whole build of a change that was just made."""
        self.page.wait_for_function("() => waitsFor.size === 0 && document.querySelector('#files h2')", timeout=60000)
        return self

    def text(self):
        """The document's text."""
        self.page.get_by_role("tab", name="Text").click()
        return self.page.locator("#text").input_value()

    def write(self, text):
        """Gives the page another document."""
        self.page.get_by_role("tab", name="Text").click()
        self.page.locator("#text").fill(text)
        return self.settle()

    def example(self, folder):
        """Gives the page an example with the files that its job names; another drawing would become its rocker."""
        job = (folder / "job.toml").read_text()
        self.write(job)
        others = [f for f in folder.iterdir() if f.suffix in (".csv", ".dxf", ".svg") and f.name in job]
        if others:
            with self.page.expect_file_chooser() as chooser:
                self.page.get_by_role("button", name="Open", exact=False).click()
            chooser.value.set_files(others)
            self.settle()
        return self

    def download(self, click):
        """Name and bytes of what a click downloads."""
        with self.page.expect_download() as started:
            click()
        return started.value.suggested_filename, pathlib.Path(started.value.path()).read_bytes()

    def close(self):
        self.context.close()
