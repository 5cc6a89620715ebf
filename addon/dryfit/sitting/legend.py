"""The legend of the painted value: words, a scale with figures, the limit marked."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from ..model.scale_colours import colour_at, scale_of, share_on
from ..model.sentences import capital
from .live_values import live_words
from .paintable import AT_RIM, FOUND
from .painting import Painted, painted_now
from .room.kinds_legend import draw_kinds
from .room.room_names import LEFT, STOPS
from .screen_text import INK, PAPER, extent, folded, interface_scale, legend_corner, plate, strokes, write
from .still_true.check_rows import OLDER, outdated_reason
from .stored_report import StoredField
from .words.unit_words import unit_word

STEPS = 40
OLD_ROOM = "The room is old: something of the head or the limits changed since"
BAR = (190.0, 12.0)
PAD = 9.0


def draw_legend(context: Any) -> None:
    """Draw it at the lower left of the viewport while something is painted."""
    bench = context.scene.dryfit
    if not bench.paint:
        return
    painted = painted_now(context.scene)
    if not painted:
        _draw_words(context, live_words())
        return
    entries = [each.entry for each in painted]
    if entries[0].name == STOPS:
        draw_kinds(context, entries[0].label, _more_words(context.scene, painted))
        return
    _draw(context, with_shared_limit(entries), _more_words(context.scene, painted))


def _more_words(scene: Any, painted: Sequence[Painted]) -> str:
    """Return what stands below the title: what Live says, else the pose and whether the values are older."""
    older = OLDER if any(outdated_reason(scene, each.entry.check) for each in painted) else ""
    if any(each.live for each in painted):
        of_room = any(each.entry.name == LEFT for each in painted)
        return f"{live_words()}. {OLD_ROOM}" if older and of_room else live_words()
    words = (live_words(), older, pose_words([each.entry for each in painted]))
    return ", ".join(each for each in words if each)


def with_shared_limit(entries: Sequence[StoredField]) -> StoredField:
    """Return the field the legend shows; its limit is marked only where every piece has the same."""
    same = len({entry.limit for entry in entries}) == 1
    return entries[0] if same else replace(entries[0], limit=None)


def pose_words(entries: Sequence[StoredField]) -> str:
    """Return at which pose the values hold, in few letters; ``""`` at rest."""
    poses = {(entry.motion, entry.t) for entry in entries if entry.motion}
    if len(poses) > 1:
        return "each piece at its own worst pose"
    return "".join(f"at {motion.replace('_', ' ')} {t:.2f}" for motion, t in poses)


def _draw(context: Any, entry: StoredField, more: str) -> None:
    scale = interface_scale(context)
    title = capital(f"{entry.label} ({unit_word(entry.unit)})" if entry.unit else entry.label)
    said = [words for words in (title, _rim_words(entry), more) if words]
    lines = [line for words in said for line in folded(words, scale, 250.0 * scale)]
    width = max([BAR[0] * scale, *(extent(line, scale)[0] for line in lines)]) + 2 * PAD * scale
    step = 16.0 * scale
    height = (len(lines) * 16.0 + (0.0 if entry.name == FOUND else BAR[1] + 22.0) + 2 * PAD) * scale
    left, low = legend_corner(context, scale, width, height)
    plate(left, low, width, height)
    y = low + height - PAD * scale - 11.0 * scale
    for line in lines:
        write(line, left + PAD * scale, y, scale)
        y -= step
    if entry.name == FOUND:
        return
    _bar(entry, left + PAD * scale, low + (PAD + 18.0) * scale, scale)


def _rim_words(entry: StoredField) -> str:
    """Return where a limit is asked for that does not hold of the whole piece; ``""`` where it does."""
    asked = entry.name in AT_RIM and entry.limit is not None
    return f"Its limit, {entry.limit:.3g}, is asked of the rim alone" if asked else ""


def _draw_words(context: Any, words: str) -> None:
    """Draw words alone where the legend stands; nothing for none."""
    if not words:
        return
    scale = interface_scale(context)
    lines = folded(words, scale, 250.0 * scale)
    width = max(extent(line, scale)[0] for line in lines) + 2 * PAD * scale
    height = (16.0 * len(lines) + 2 * PAD) * scale
    left, low = legend_corner(context, scale, width, height)
    plate(left, low, width, height)
    for number, line in enumerate(reversed(lines)):
        write(line, left + PAD * scale, low + (PAD + 3.0 + 16.0 * number) * scale, scale)


def _bar(entry: StoredField, x: float, y: float, scale: float) -> None:
    width, height = BAR[0] * scale, BAR[1] * scale
    stops = scale_of(entry.diverging)
    for step in range(STEPS):
        value = entry.low + (entry.high - entry.low) * (step + 0.5) / STEPS
        colour = colour_at(stops, share_on(value, entry.low, entry.high, entry.diverging))
        plate(x + width * step / STEPS, y, width / STEPS + 1.0, height, (*colour, 1.0))
    marks = {entry.low, entry.high, *((0.0,) if entry.diverging else ())}
    for mark in sorted(marks):
        _figure(f"{mark:.3g}", x + width * _share(entry, mark), y - 15.0 * scale, scale)
    if entry.limit is not None:
        at = x + width * _share(entry, entry.limit)
        strokes([(at, y - 3.0 * scale), (at, y + height + 3.0 * scale)], INK[:3] + (1.0,), 5.0 * scale)
        strokes([(at, y - 3.0 * scale), (at, y + height + 3.0 * scale)], PAPER, 2.0 * scale)
        if entry.name not in AT_RIM and all(
            abs(_share(entry, entry.limit) - _share(entry, mark)) > 0.24 for mark in marks
        ):
            _figure(f"limit {entry.limit:.3g}", at, y - 15.0 * scale, scale)


def _share(entry: StoredField, value: float) -> float:
    return min(max((value - entry.low) / ((entry.high - entry.low) or 1.0), 0.0), 1.0)


def _figure(words: str, middle: float, y: float, scale: float) -> None:
    width, _ = extent(words, scale, 10.0)
    write(words, middle - width / 2.0, y, scale, points=10.0)
