"""Where the guide's pages lie, and how they are opened in a browser."""

import webbrowser
from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType

from ..model.errors import DryfitError

FOLDER = Path(__file__).parent / "pages"
START = "index"
CHAPTERS: Mapping[str, str] = MappingProxyType(
    {
        "first-fit": "from a scan and a sculpt to a verdict, in Blender's window",
        "reading": "what a fitting sheet and a board say",
        "pipeline": "what of a scene is measured, gates, farms, passes, scripts",
        "brief": "every table and key of brief.toml",
        "checks": "what each check measures, how, and what it cannot see",
        "library": "every function and value of the Python library",
        "sources": "what each limit and material rests on",
        "changes": "what is new, by version",
    }
)
"""Each chapter's name and what it is about, in reading order."""


class GuideNotBuilt(DryfitError):
    """This copy of Dryfit came without the guide's pages."""

    def __init__(self) -> None:
        super().__init__(
            f"The guide's pages are not in {FOLDER}. In a checkout, python3 scripts/build_guide.py makes them; "
            "an installed Dryfit brings them: install it again."
        )


def guide_address(chapter: str = START, place: str = "") -> str:
    """Return the ``file:`` address of a chapter.

    Parameters
    ----------
    chapter
        One of ``CHAPTERS``; by default the page that lists them all.
    place
        The id of a heading on it, such as a check's name.

    Raises
    ------
    GuideNotBuilt
        When the page is not there.
    """
    page = FOLDER / f"{chapter}.html"
    if not page.is_file():
        raise GuideNotBuilt
    return page.resolve().as_uri() + (f"#{place}" if place else "")


def open_guide(chapter: str = START, place: str = "") -> str:
    """Open a chapter in the browser, where there is one, and return its address.

    Parameters
    ----------
    chapter, place
        As for ``guide_address``.

    Raises
    ------
    GuideNotBuilt
        When the page is not there.
    """
    address = guide_address(chapter, place)
    webbrowser.open(address)
    return address
