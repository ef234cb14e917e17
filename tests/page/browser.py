"""A real browser with the page in it, and what every test of the page needs."""

import contextlib
import pathlib

from playwright.sync_api import sync_playwright

ROOT = pathlib.Path(__file__).resolve().parents[2]
FLAGS = ["--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
         "--disable-background-networking", "--disable-component-update", "--disable-sync"]
DESKTOP = {"width": 1440, "height": 900}
PHONE = {"width": 390, "height": 844}


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
        if script:
            self.context.add_init_script(script)
        self.page = self.context.new_page()
        self.errors, self.requests = [], []
        self.page.on("console", lambda m: self.errors.append(m.text) if m.type in ("error", "warning") else None)
        self.page.on("pageerror", lambda e: self.errors.append(str(e)))
        self.page.on("request", lambda r: self.requests.append(r.url))
        self.address = pathlib.Path(path).resolve().as_uri()
        self.page.goto(self.address + fragment)
        self.page.wait_for_selector("body.ready")
        self.built()

    def built(self):
        """Waits until the whole build belongs to the document as it is now."""
        self.page.wait_for_function("() => !document.querySelector('#files').classList.contains('stale') && "
                                    "document.querySelector('#files h2')", timeout=60000)
        return self

    def settle(self):
        """Waits for views and the whole build of a change that was just made."""
        self.page.wait_for_timeout(120)
        return self.built()

    def text(self):
        """The document's text."""
        self.page.get_by_role("tab", name="Text").click()
        return self.page.locator("#text").input_value()

    def write(self, text):
        """Gives the page another document."""
        self.page.get_by_role("tab", name="Text").click()
        self.page.locator("#text").fill(text)
        self.page.wait_for_timeout(250)
        return self.settle()

    def download(self, click):
        """Name and bytes of what a click downloads."""
        with self.page.expect_download() as started:
            click()
        return started.value.suggested_filename, pathlib.Path(started.value.path()).read_bytes()

    def close(self):
        self.context.close()
