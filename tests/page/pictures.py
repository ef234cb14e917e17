"""Pictures of the page for people to look at: desktop, phone, dark. Usage: pictures.py PAGE FOLDER [DOCUMENT]"""

import pathlib
import sys

from browser import DESKTOP, PHONE, Page, chromium


def main(path, folder, document=None):
    folder = pathlib.Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    looks = {"desktop": dict(viewport=DESKTOP), "dark": dict(viewport=DESKTOP, color_scheme="dark"),
             "phone": dict(viewport=PHONE, has_touch=True, is_mobile=True, device_scale_factor=2),
             "phone-dark": dict(viewport=PHONE, color_scheme="dark", has_touch=True, is_mobile=True, device_scale_factor=2)}
    with chromium() as browser:
        for name, look in looks.items():
            page = Page(browser, path, **look)
            if document:
                page.write(pathlib.Path(document).read_text())
                page.page.get_by_role("tab", name="Board").click()
            page.settle()
            page.page.screenshot(path=folder / f"{name}.png")
            page.page.screenshot(path=folder / f"{name}-whole.png", full_page=True)
            if "dark" not in name:
                for tab in ("Layers", "Pressing", "Table", "Stock"):
                    page.page.get_by_role("tab", name=tab).click()
                    page.settle()
                    page.page.screenshot(path=folder / f"{name}-{tab.lower()}.png", full_page=True)
            print(name, page.errors)
            page.close()


if __name__ == "__main__":
    main(*sys.argv[1:])
