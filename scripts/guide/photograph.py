"""Photograph a board and one of its sheets for the guide, in a real browser.

    python scripts/guide/photograph.py demo-designs/reports [02-warden-tusks]

Needs Playwright, a Chromium and Pillow, as the tests do. ``scripts/demo.py`` makes the board.
"""

import io
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "tests"))
from PIL import Image

from browser import chromium

PICTURES = ROOT / "addon" / "dryfit" / "guide" / "chapters" / "pictures"
COLOURS = 128
"""So many are told apart well enough, at a quarter of the size."""


def main() -> int:
    """Take both pictures and return the exit code."""
    board = Path(sys.argv[1]).resolve()
    design = sys.argv[2] if len(sys.argv) > 2 else "02-warden-tusks"
    with chromium() as browser:
        for name, page, size in (
            ("board", board / "index.html", (1500, 960)),
            ("sheet", board / design / "report.html", (1280, 1080)),
        ):
            shown = browser.new_page(viewport={"width": size[0], "height": size[1]})
            shown.goto(page.as_uri())
            shown.wait_for_timeout(500)
            picture = Image.open(io.BytesIO(shown.screenshot())).convert("RGB")
            picture.quantize(COLOURS, dither=Image.Dither.NONE).save(PICTURES / f"{name}.png", optimize=True)
            print(PICTURES / f"{name}.png")
    return 0


if __name__ == "__main__":
    sys.exit(main())
