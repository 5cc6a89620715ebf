"""Proposed landmarks as a table for people and as a ``[landmarks]`` table for a brief."""

from collections.abc import Iterator, Mapping
from pathlib import Path

import numpy as np

from ..model.arrays import FloatArray
from ..model.brief_reading import PROPOSED
from ..model.errors import UnreadableFile, UnwritableOutput
from ..model.toml_text import parse_toml, toml_text
from ..performer.landmarks.confidence import LIKELY_MM, Word
from ..performer.landmarks.doubt import Doubt
from ..performer.landmarks.proposal import Proposal
from .whole_files import write_whole
from .wording import counted

ABOUT = """\
landmarks: where are the anatomical points of a head that has none?

Method
  An average head (CC0, coarse, with its own landmarks) is laid on the base: a turn, a shift and one scale from 160
  starts over all orientations, trimmed closest points both ways, then points that also face alike, so that features
  lie on features. Whether the mouth is open is read from the base itself: seen from the front, the skin falls back
  sharply at the edge of the upper lip and comes forward at that of the lower. The average head's jaw is opened as
  far, by turn and slide, so that lips and chin follow. It is then bent to the base, ever more locally, and its
  landmarks are carried along; sides that differ by less than 4 mm are evened over the middle of the face, edges and
  corners of an open mouth are taken as seen, sellion and gnathion are drawn half way to the base's own hollow and
  tip, each point is put on the base, and pupils on the eyeballs where the design has them. Then the points are held
  against each other and against the base: lips out of order or on one lip, chin and lips at impossible distances, an
  open jaw with no opening to be seen. Nothing is confirmed by it: drag what is off, then confirm.

Confidence
  "may be off" is what nine of ten such points lie within. It is put together from how far this landmark is usually
  off (measured on heads of other ages, sexes and ancestries, mouths shut and open to 34 mm, turned, scaled, noisy,
  cropped and warped), how differently people place it, how far the bent template stays off the base there, and how
  far a second fit from another start disagrees. "sure" means within 2.5 mm in 95 of 100, "likely" within 5 mm in
  nine of ten, "look at it" beyond, and whenever points contradict each other; the number is 0.5 at 5 mm and 1 at
  0 mm. The axis of a jaw's hinge is as unsure as the two tragions it is taken from.

What it cannot tell you
  It sees shape, not colour: the edge of the lip's red, the iris and bone under the skin are guessed from the average
  head. On a scan with open eyes and no eyeballs the pupils are guesses. A scan that was mirrored looks like a face
  all the same. A broad smile of shut lips moves the corners of the mouth by up to 12 mm, and they are not followed.
  Hair, caps, beards, stubble and a heavy sculpt in the base draw the template away; vertex_top and opisthocranion
  under hair are the hair's. A face far from the average (a small child, a very old face) is off by more. A crop that
  holds no nose, eyes and mouth is not found.

What looks wrong with a set
  Left and right swapped, a pair exchanged or on one spot, a set turned, shifted or in another unit, lips out of order
  or both margins on one lip, pupils beside the eyes, a point over 20 mm from where the others put it (40 mm on the
  skull), a point over 6 mm off the skin, and distances outside published ranges of adults are named in base_lock; a
  jaw open by up to 35 degrees is allowed for. A point that is wrong by less than that, on the skin, is not seen.
"""
UNCONFIRMED = (
    "# how far each may be off, mm: take a name out once you have looked at it, and the point counts as confirmed"
)


def proposal_table(
    proposal: Proposal, base: str, placed: Mapping[str, FloatArray], doubts: tuple[Doubt, ...] = ()
) -> str:
    """Return the proposed landmarks as lines of text, with those already placed beside them.

    Parameters
    ----------
    proposal
        What is proposed.
    base
        The base's name.
    placed
        Landmarks that the design already has, mm.
    doubts
        What looks wrong with those.
    """
    return "\n".join(_lines(proposal, base, placed, doubts)) + "\n"


def _lines(proposal: Proposal, base: str, placed: Mapping[str, FloatArray], doubts: tuple[Doubt, ...]) -> Iterator[str]:
    yield f"Landmarks proposed on '{base}', mm, world space; none is confirmed"
    yield f"{'':21}{'x':>9}{'y':>9}{'z':>9}   may be off  confidence"
    for name, point in proposal.points_mm.items():
        trust = proposal.confidence[name]
        place = "".join(f"{value:9.1f}" for value in point)
        line = f"{name:21}{place}  {trust.bound_mm:7.1f} mm  {trust.number:.2f} {trust.word}"
        if name in placed:
            line += f"; the placed one is {np.linalg.norm(placed[name] - point):.1f} mm away"
        yield line
    for name, why in proposal.left_out.items():
        yield f"{name:21}  not proposed: {why}"
    yield from _advice(proposal)
    for doubt in doubts:
        yield f"Placed landmarks: {doubt.message} To do: {doubt.remedy}."


def _advice(proposal: Proposal) -> Iterator[str]:
    doubtful = [name for name, trust in proposal.confidence.items() if trust.word is Word.LOOK]
    yield f"The average head lies on it within {proposal.misfit_mm:.1f} mm before it is bent."
    if proposal.open_mm:
        yield f"The mouth was found {proposal.open_mm:.1f} mm open, and its lips and chin were followed there."
    for doubt in proposal.doubts:
        yield f"Proposals contradict each other: {doubt.message}"
    if not proposal.clear:
        yield (
            f"Another way to lay it fits nearly as well ({proposal.next_misfit_mm:.1f} mm): first see that the nose "
            "was taken for the nose."
        )
    if doubtful:
        points = f"{counted(len(doubtful), 'point')} may be off by over {LIKELY_MM:g} mm or contradict others"
        yield f"{points}: look at {', '.join(doubtful)}."


def landmarks_toml(proposal: Proposal) -> str:
    """Return a ``[landmarks]`` table that a brief accepts, and in it which of them nobody confirmed."""
    lines = ["# proposed, not confirmed: look at each point before you trust what is measured from it", "[landmarks]"]
    for name, point in proposal.points_mm.items():
        place = ", ".join(f"{value:.2f}" for value in point)
        lines.append(f"{name} = [{place}]  # {proposal.confidence[name].word}")
    lines += ["", UNCONFIRMED, f"[landmarks.{PROPOSED}]"]
    lines += [f"{name} = {error_mm:.1f}" for name, error_mm in proposal.bound_mm.items()]
    return "\n".join(lines) + "\n"


def write_landmarks(proposal: Proposal, out: Path) -> None:
    """Write the ``[landmarks]`` table to a new brief, or add it to one that has none.

    Raises
    ------
    UnwritableOutput
        When the file has landmarks already, is no TOML, or cannot be written; nothing is changed then.
    """
    before = ""
    if out.is_file():
        before = _brief_without_landmarks(out)
    elif out.is_dir():
        raise UnwritableOutput(str(out), "this is a folder, and --out of this command names a file such as brief.toml")
    gap = "\n" if before and not before.endswith("\n\n") else ""
    write_whole(out.parent, {out.name: (before + gap + landmarks_toml(proposal)).encode()})


def _brief_without_landmarks(out: Path) -> str:
    try:
        text = toml_text(out)
        tables = parse_toml(text, str(out))
    except UnreadableFile as error:
        raise UnwritableOutput(str(out), f"it is there already and cannot be read as a brief ({error})") from error
    if "landmarks" in tables:
        count = len(set(tables["landmarks"]) - {PROPOSED})
        raise UnwritableOutput(str(out), f"it already has [landmarks] with {count} points, and they are kept")
    return text if not text or text.endswith("\n") else text + "\n"
