"""Icons and words that go together: no state is told by colour or by an icon alone."""

import textwrap
from typing import Any

from ..model.brief_file import BRIEF_NAME
from ..sitting.words.role_words import ROLE_WORDS
from ..sitting.words.unit_words import unit_word

SEVERITY_ICONS = {"fail": "CANCEL", "review": "ERROR", "info": "INFO"}
ACCEPTED_ICON = "CHECKBOX_HLT"
BRIEF_ICON = "FILE_TEXT"
"""Marks what the brief beside the file states; it stands there instead of a cross or a dropper."""
STATUS_ICONS = {"pass": "CHECKMARK", "review": "ERROR", "fail": "CANCEL", "not_checked": "QUESTION"}
ROLE_HINTS = {
    "base": "The performer's head scan, which everything is measured against",
    "appliance": "A soft piece sculpted over the base",
    "upper_teeth": "Teeth that stay with the skull",
    "lower_teeth": "Teeth that move with the jaw",
    "hardware": "A rigid piece: cast, printed or a lens",
    "eye_left": "The performer's left eye",
    "eye_right": "The performer's right eye",
    "ignore": "Left out of every check, whatever the brief says",
}
ROLE_ICONS = {
    "base": "USER",
    "appliance": "SURFACE_DATA",
    "upper_teeth": "TRIA_UP",
    "lower_teeth": "TRIA_DOWN",
    "hardware": "MOD_SOLIDIFY",
    "eye_left": "HIDE_OFF",
    "eye_right": "HIDE_OFF",
    "ignore": "X",
}
NARROWEST = 18
PIXELS_PER_LETTER = 6.6
NUMBER = 9
"""Letters that the field of a number takes."""
ICON = 5
"""Letters that an icon takes, with the space around it."""


def figure(value: float, unit: str) -> str:
    """Return a figure with its unit in few letters: ``2.51 mm``."""
    number = f"{value:.0f}" if unit in ("vertices", "faces", "mm2", "mm3") else f"{value:.2f}"
    return f"{number} {unit_word(unit)}".strip()


def check_word(check: str) -> str:
    """Return a check's id as a label."""
    return check.replace("_", " ").capitalize()


def role_word(role: str) -> str:
    """Return a role as a label."""
    return ROLE_WORDS.get(role, role)


def letters_across(context: Any, share: float = 1.0) -> int:
    """Return how many letters fit across the sidebar at the user's interface scale."""
    scale = context.preferences.system.ui_scale
    width = context.region.width if context.region else 300
    return max(NARROWEST, int((width / scale - 46) * share / PIXELS_PER_LETTER))


def side_by_side(layout: Any, context: Any, letters: int) -> Any:
    """Return a row where so many letters and icons fit across the sidebar, else a column."""
    return layout.row(align=True) if letters_across(context) >= letters else layout.column(align=True)


def labelled(layout: Any, context: Any, words: str, field: int, icon: str = "NONE") -> Any:
    """Draw a label and return the layout for its field: beside it where both fit, else below it.

    Parameters
    ----------
    field
        Letters across that the field takes.
    """
    room = letters_across(context)
    label = len(words) + (0 if icon == "NONE" else ICON)
    if label + field > room:
        column = layout.column(align=True)
        column.label(text=words, icon=icon)
        return column
    split = layout.split(factor=1.0 - max(field, 0.4 * room) / room, align=True)
    split.label(text=words, icon=icon)
    return split


def paragraph(layout: Any, context: Any, words: str, icon: str = "NONE") -> None:
    """Draw words over as many lines as the sidebar's width needs."""
    column = layout.column(align=True)
    room = letters_across(context) - (3 if icon != "NONE" else 0)
    for number, line in enumerate(textwrap.wrap(words, room) or [""]):
        if icon == "NONE":
            column.label(text=line)
        else:
            column.label(text=line, icon=icon if number == 0 else "BLANK1")


def draw_from_brief(layout: Any, context: Any, what: str) -> None:
    """Say what is stated in the brief beside the file, in a line; ``""`` for nothing."""
    if what:
        paragraph(layout, context, f"{what} from {BRIEF_NAME}", BRIEF_ICON)
