"""Draws the icons of the page at the table from the mark of the desk: ``python -m tools.icons``.

The browser draws them, at the sizes that home screens ask for; the maskable one leaves room for the corners to be cut
off (its drawing lies within the inner 80 %, as the web manifest asks of maskable icons).
"""

from __future__ import annotations

import re
from pathlib import Path

from tools.starting.browsers import find_chromium

ROOT = Path(__file__).resolve().parent.parent
MARK = ROOT / "src/coatwright/web/static/mark.svg"
ICONS = ROOT / "src/coatwright/web/table/static"
WANTED = {"icon-192.png": (192, 1.0), "icon-512.png": (512, 1.0), "icon-maskable-512.png": (512, 0.7)}


def drawing(size: int, scale: float) -> str:
    """A page that shows nothing but the mark: filled to the edges, the strokes at ``scale``."""
    mark = MARK.read_text(encoding="utf-8")
    ground = re.search(r'<rect[^>]*fill="(#[0-9a-f]{6})"', mark)
    strokes = re.search(r"<g .*</g>", mark, re.DOTALL)
    if ground is None or strokes is None:
        raise RuntimeError(f"{MARK} is not drawn as this script expects.")
    move = 16.0 * (1.0 - scale)
    return (
        f'<style>*{{margin:0}}svg{{display:block}}</style><svg xmlns="http://www.w3.org/2000/svg" width="{size}" '
        f'height="{size}" viewBox="0 0 32 32"><rect width="32" height="32" fill="{ground[1]}"/>'
        f'<g transform="translate({move} {move}) scale({scale})">{strokes[0]}</g></svg>'
    )


def main() -> None:
    """Draw all of them."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=find_chromium(), args=["--no-sandbox"])
        for name, (size, scale) in WANTED.items():
            page = browser.new_page(viewport={"width": size, "height": size})
            page.set_content(drawing(size, scale))
            page.screenshot(path=ICONS / name)
            page.close()
        browser.close()


if __name__ == "__main__":
    main()
