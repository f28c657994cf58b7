"""Makes the pictures of docs/ from plans, with the same browser as the tests of the job pack.

``routecut demo``, then ``python -m tests.docs.pictures routecut-demo/plan``: the parts of its `pack.html` that
docs/reading-the-pack.md shows. With ``--view NAME`` it takes a plan's `views/left-front.png` alone, as
docs/images/NAME.png.
"""

import io
import sys
from pathlib import Path

from PIL import Image

from tests.docs.pages import TOP
from tests.documents.browser import chromium

IMAGES = TOP / "docs" / "images"
PARTS = {
    "pack-before": "#before",
    "pack-cut-list": "#cut-list",
    "pack-hole": "article.drill",
    "pack-cable": "#cable-1",
    "pack-service": "#service",
}
"""Name of the picture, and what of the page is on it."""

VIEWPORT = {"width": 1000, "height": 900}
TALLEST = 700
COLOURS = 128


def keep(picture: Image.Image, name: str) -> None:
    """Write a picture with few colours: pages have few, and it takes a quarter of the room."""
    small = picture.convert("RGB").quantize(COLOURS, dither=Image.Dither.NONE)
    small.save(IMAGES / f"{name}.png", optimize=True)
    sys.stdout.write(f"docs/images/{name}.png\n")


def main(arguments: list[str]) -> int:
    """Takes the pictures; returns the exit code."""
    plan, *more = arguments
    if more[:1] == ["--view"]:
        keep(Image.open(Path(plan) / "views" / "left-front.png"), more[1])
        return 0
    with chromium() as browser:
        page = browser.new_context(viewport=VIEWPORT, java_script_enabled=False).new_page()
        page.emulate_media(media="print")  # without what follows the reader on a screen
        page.goto((Path(plan).resolve() / "pack.html").as_uri())
        for name, part in PARTS.items():
            picture = Image.open(io.BytesIO(page.locator(part).first.screenshot(timeout=120_000)))
            keep(picture.crop((0, 0, picture.width, min(picture.height, TALLEST))), name)
    return 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
