"""A comparison in words: one plain answer, then what it rests on."""

import json
from collections.abc import Iterator, Sequence
from typing import Any

from ..checks.cause_words import named_object
from ..checks.registry import CHECKS
from ..model.sentences import capital
from ..model.version import VERSION
from ..report.wording import counted, measure_name, with_unit
from .comparison import CHANGED, STILL, Comparison, Flip, Move
from .design_change import ChangedPlace, GroupChange, Shift

SCHEMA = "dryfit.comparison/1"
QUESTION = "Is this still the one that was approved?"
NAMED = 3
"""So many places, checks and figures are named in the answer; the rest are counted."""


def answered(comparison: Comparison) -> str:
    """Return the answer to ``QUESTION`` as one sentence."""
    if comparison.answer == STILL:
        return f"Yes: {_same(comparison)}."
    reasons = list(_reasons(comparison))
    if comparison.answer == CHANGED:
        return f"No: {'; '.join(reasons)}."
    return (
        "It cannot be told: no check changed its word and no figure moved, but the shapes were not held against each "
        f"other ({comparison.without_shape})."
    )


def _same(comparison: Comparison) -> str:
    shape = comparison.shape
    if shape is None:
        return "the same file, byte for byte, and no check changed its word"
    words = f"its surfaces lie within {_mm(shape.max_mm)} of the approved ones, no check changed its word"
    return f"{words} and no figure moved beyond repeatability"


def _reasons(comparison: Comparison) -> Iterator[str]:
    if not comparison.on_same_base:
        yield "it sits on another base, so its figures are not like for like"
    yield from _shape_reasons(comparison)
    if comparison.flips:
        yield _some([_flip(flip) for flip in comparison.flips], "check")
    if comparison.moves:
        yield f"{counted(len(comparison.moves), 'figure')} moved beyond repeatability ({_some_moves(comparison)})"


def _shape_reasons(comparison: Comparison) -> Iterator[str]:
    shape = comparison.shape
    if shape is None:
        return
    for words, names in (("it gained", shape.added), ("it lost", shape.lost)):
        if names:
            yield f"{words} {_some([f'the {named_object(name)}' for name in names], 'part')}"
    if shape.max_mm <= shape.within_mm:
        yield f"its shape is the same within {_mm(max(shape.max_mm, 0.01))}"
        return
    differs = f"its shape differs by up to {_mm(shape.max_mm)}, where {_mm(shape.within_mm)} is allowed"
    yield f"{differs}: {_some([place_said(each) for each in shape.places], 'place')}"


def _some_moves(comparison: Comparison) -> str:
    return _some([f"{_check(move.check)}, {figure_words(move)}: {_step(move)}" for move in comparison.moves], "")


def figure_words(move: Move) -> str:
    """Return what a figure is, in the words of the fitting sheet where it has any."""
    known = (figure for check in CHECKS if check.id == move.check for figure in check.leading)
    words = (figure.words for figure in known if figure.measure == move.measure)
    return next(words, "") or measure_name(move.measure)


def _some(words: list[str], one: str) -> str:
    more = len(words) - NAMED
    said = ", ".join(words[:NAMED])
    return (
        said if more <= 0 else f"{said} and {counted(more, f'more {one}'.strip(), f'more {one}s' if one else 'more')}"
    )


def place_said(place: ChangedPlace) -> str:
    """Return where a design changed, which way, how far and over what area."""
    moved = f"{way(place)} by {_mm(abs(place.change_mm))} over {_area(place.area_mm2)}"
    return f"the {named_object(place.part)} at the {place.region} {moved}"


def way(place: ChangedPlace) -> str:
    """Return which way a place changed: ``stands out`` or ``lies deeper``."""
    return "stands out" if place.change_mm > 0 else "lies deeper"


def _flip(flip: Flip) -> str:
    return f"{_check(flip.check)} went from {_plain(flip.before)} to {_plain(flip.after)}"


def _check(check: str) -> str:
    return check.replace("_", " ")


def _plain(status: str) -> str:
    return status.replace("_", " ")


def _step(move: Move) -> str:
    return f"{with_unit(move.before, move.unit)} to {with_unit(move.after, move.unit)}"


def _mm(value: float) -> str:
    return with_unit(value, "mm")


def _area(value: float) -> str:
    return with_unit(value, "mm2")


def told(comparison: Comparison) -> str:
    """Return a comparison in words for a terminal."""
    lines = [f"{comparison.before.name} -> {comparison.after.name}", f"  {QUESTION} {answered(comparison)}"]
    lines.append(f"  {_base_line(comparison)}")
    if comparison.same_design:
        lines.append("  The same design file, byte for byte.")
    lines += [f"  {line}" for line in _shape_lines(comparison)]
    for flip in comparison.flips:
        judged = "worse" if flip.worse else "better"
        lines.append(f"  {flip.check}: {_plain(flip.before)} -> {_plain(flip.after)} ({judged})")
    lines += [f"  {_move_line(move)}" for move in comparison.moves]
    for words, names in (("Only in the older report", comparison.left_out), ("Only in the newer", comparison.taken_in)):
        if names:
            lines.append(f"  {words}: {', '.join(names)}.")
    if not comparison.flips and not comparison.moves:
        lines.append("  No check changed its word and no figure moved beyond repeatability.")
    return "\n".join(lines) + "\n"


def _base_line(comparison: Comparison) -> str:
    if comparison.same_base:
        return "The same base."
    laid = comparison.shape.laid if comparison.shape else None
    if laid is not None:
        return f"The same base, moved by {_moved_scene(comparison)}; the two were laid on each other before comparing."
    if comparison.on_same_base:
        return "The base has other vertices but the same shape."
    return "ANOTHER BASE: figures are not like for like."


def _moved_scene(comparison: Comparison) -> str:
    """Return how far the newer base's middle had moved, and the turn."""
    shape, after = comparison.shape, comparison.after.snapshot
    if shape is None or shape.laid is None or after is None:
        return "nothing"
    middle = after.base.vertices_mm.mean(axis=0)
    distance_mm = float(((shape.laid.apply(middle) - middle) ** 2).sum() ** 0.5)
    return f"{_mm(distance_mm)} and turned by {with_unit(shape.laid.angle_deg, 'deg')}"


def _shape_lines(comparison: Comparison) -> Iterator[str]:
    shape = comparison.shape
    if shape is None:
        why = comparison.without_shape or "no surfaces were read"
        yield f"Shape: not checked ({why})."
        return
    yield from (group_line(group, shape.within_mm) for group in shape.groups)
    yield from (f"{capital(place_said(place))}." for place in shape.places)
    yield from (shift_line(shift) for shift in shape.shifts)


def group_line(group: GroupChange, within_mm: float) -> str:
    """Return one group's figures in a line."""
    change = group.change
    area = _area(change.newer.area_over_mm2(within_mm))
    return (
        f"Shape of the {group.name}: {_mm(change.max_mm)} at most, {_mm(change.mean_mm)} on average, 95 % under "
        f"{_mm(change.percentile_mm(95))}; {area} of the newer skin changed by more than {_mm(within_mm)}."
    )


def shift_line(shift: Shift) -> str:
    """Return one shifted part in a line."""
    turned = f" and turned by {with_unit(shift.turn_deg, 'deg')}" if shift.turn_deg >= 0.05 else ""
    moved = f"moved as a whole by {_mm(shift.distance_mm)}{turned}"
    return f"The {named_object(shift.part)} {moved}; its own shape is unchanged."


def _move_line(move: Move) -> str:
    noise = "" if move.repeatable != move.repeatable else f" (repeats to {with_unit(move.repeatable, move.unit)})"
    return (
        f"{move.check}.{move.measure}: {with_unit(move.before, move.unit)} -> {with_unit(move.after, move.unit)}{noise}"
    )


def base_words(comparison: Comparison) -> str:
    """Return what became of the base, as a sentence."""
    return _base_line(comparison)


def to_dict(comparison: Comparison) -> dict[str, Any]:
    """Return a comparison as plain values; what could not be measured is null with the reason beside it."""
    return {
        "schema": SCHEMA,
        "dryfit": VERSION,
        "answer": comparison.answer,
        "sentence": answered(comparison),
        "before": dict(comparison.before.report["variant"]),
        "after": dict(comparison.after.report["variant"]),
        "same_file": comparison.same_design,
        "same_base": comparison.on_same_base,
        "flips": [vars(flip) | {"worse": flip.worse} for flip in comparison.flips],
        "moves": [_move_dict(move) for move in comparison.moves],
        "only_before": list(comparison.left_out),
        "only_after": list(comparison.taken_in),
        "shape": _shape_dict(comparison),
        "shape_reason": "" if comparison.shape else comparison.without_shape or "no surfaces were read",
    }


def _move_dict(move: Move) -> dict[str, Any]:
    return vars(move) | {"repeatable": None if move.repeatable != move.repeatable else round(move.repeatable, 6)}


def _shape_dict(comparison: Comparison) -> dict[str, Any] | None:
    shape = comparison.shape
    if shape is None:
        return None
    return {
        "within_mm": shape.within_mm,
        "max_mm": round(shape.max_mm, 6),
        "groups": [_group_dict(group, shape.within_mm) for group in shape.groups],
        "places": [vars(place) | {"at_mm": [round(value, 3) for value in place.at_mm]} for place in shape.places],
        "shifts": [vars(shift) for shift in shape.shifts],
        "added": list(shape.added),
        "lost": list(shape.lost),
        "scene_moved": None if shape.laid is None else _moved_scene(comparison),
    }


def _group_dict(group: GroupChange, within_mm: float) -> dict[str, Any]:
    change = group.change
    figures = {
        "max_mm": change.max_mm,
        "raised_mm": change.raised_mm,
        "sunk_mm": change.sunk_mm,
        "mean_mm": change.mean_mm,
        "p95_mm": change.percentile_mm(95),
        "changed_area_mm2": change.newer.area_over_mm2(within_mm),
        "left_area_mm2": change.older.area_over_mm2(within_mm),
    }
    return {"name": group.name} | {name: round(value, 6) for name, value in figures.items()}


def printed(steps: Sequence[Comparison]) -> str:
    """Return comparisons as JSON text: one as an object, several as a list, ending in a newline."""
    plain = [to_dict(step) for step in steps]
    return json.dumps(plain[0] if len(plain) == 1 else plain, indent=1, ensure_ascii=False, allow_nan=False) + "\n"
