r"""Text as a terminal may show it: names come from files, and a terminal acts on some signs instead of showing them.

Control characters move the cursor, clear the screen or change its title; marks of direction turn what follows round;
signs of no width hide in names. Each is shown as its number (``\u202e``), as JSON writes it, so that printed JSON
means the same as before.
"""

import json
import re

ACTED_ON = re.compile(
    "[\x00-\x08\x0b-\x1f\x7f-\x9f"  # control characters, but for the tab and the end of a line
    "\u00ad\u061c\u180e\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff\ufff9-\ufffb"  # direction, no width, line ends
    "\U0001d173-\U0001d17a\U000e0000-\U000e0fff]"  # beams of music, tags, variants without a picture
)
BREAKS = re.compile(r"[\t\n]+")


def plain_text(text: str) -> str:
    """Return text with every sign that a terminal acts on shown as its number; lines and tabs stay."""
    return ACTED_ON.sub(_number, text)


def plain_line(text: str) -> str:
    """Return text as one plain line: where a line ends in it, or a tab stands, there is a space."""
    return plain_text(BREAKS.sub(" ", text))


def _number(found: re.Match[str]) -> str:
    return json.dumps(found[0])[1:-1]
