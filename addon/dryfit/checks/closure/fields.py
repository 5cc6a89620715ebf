"""What of a closing is painted: the gap on the lips, and what each blocking part must lose."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from ...geometry.rows import row_norms
from ...model.arrays import FloatArray
from ...model.finding import Field
from ...performer.contact.body import Body, Matter
from ...performer.mouth.lip_skin import LipSkin
from ...performer.tooth_names import pieces_of
from .result import ClosureResult

PAINTED_MM = 6.0
"""Skin this near to the lips' margins is painted with the gap."""

TOUCHED_MM = 10.0
"""Lip this near to the place where it is met is painted with what meets it."""


def closure_fields(result: ClosureResult) -> tuple[Field, ...]:
    """Return the fields, at the pose where the jaw stopped."""
    return (*_gap_fields(result), *_excess_fields(result), *_pair_fields(result))


def _gap_fields(result: ClosureResult) -> Iterator[Field]:
    limits = result.brief.limits
    for part in result.fitting.snapshot.parts:
        values = np.full(len(part.vertices_mm), np.nan)
        for lip in (result.mouth.lips.upper, result.mouth.lips.lower):
            if part.name in lip.parts:
                _paint_gap(values, lip.pieces[lip.parts.index(part.name)], result)
        if np.isfinite(values).any():
            high = max(limits.lip_gap_mm, float(np.nanmax(values)))
            yield Field(
                "gap", part.name, values, "mm", "gap between the lips", 0.0, high, limits.lip_gap_review_mm,
                motion=result.poses.name, t=result.closing.stop.t,
            )  # fmt: skip


def _paint_gap(values: np.ndarray, piece: LipSkin, result: ClosureResult) -> None:
    stop = result.closing.stop
    read = np.isfinite(stop.gap_mm)
    far_mm = row_norms(piece.vertices(stop.t)[:, None, :] - stop.at_mm[None, read, :])
    station = far_mm.argmin(axis=1)
    gap_mm = stop.gap_mm[read][station]
    reach_mm = PAINTED_MM + np.maximum(gap_mm, 0.0) / 2.0
    near = far_mm[np.arange(len(station)), station] <= reach_mm
    values[piece.vertex_ids[0][near]] = gap_mm[near]


def _excess_fields(result: ClosureResult) -> Iterator[Field]:
    if not result.blocked:
        return
    for name in sorted({excess.part_name for excess in result.excesses}):
        part = result.fitting.snapshot.part(name)
        values = np.zeros(len(part.vertices_mm))
        for excess in result.excesses:
            if excess.part_name == name:
                values[excess.vertices] = excess.lost_mm
        yield Field(
            "excess", name, values, "mm", "must go for the lips to meet", 0.0, float(max(values.max(), 1.0)),
            motion=result.poses.name, t=result.closing.stop.t,
        )  # fmt: skip


def _pair_fields(result: ClosureResult) -> Iterator[Field]:
    """Yield which two pieces meet first: 0 on the one that stops the jaw, 1 on what it meets."""
    contact = result.closing.contact
    if contact is None:
        return
    values: dict[str, FloatArray] = {}
    first = contact.pair.first
    _mark_piece(values, result, first, contact.piece, 0.0)
    second = contact.pair.second
    if second.matter != Matter.SKIN:
        _mark_piece(values, result, second, contact.other_name, 1.0)
    else:
        lip = result.mouth.lips.upper if second.name == "upper lip" else result.mouth.lips.lower
        _mark_lip(values, result, lip, np.array(contact.at_mm), contact.t)
    words = f"{contact.piece} (0) meets {contact.other_name} (1)"
    for name, marked in values.items():
        yield Field("pair", name, marked, "", words, 0.0, 1.0, motion=result.poses.name, t=contact.t)


def _mark_piece(values: dict[str, FloatArray], result: ClosureResult, body: Body, piece: str, mark: float) -> None:
    part = body.part
    marked = values.setdefault(part.name, np.full(len(part.vertices_mm), np.nan))
    for name, vertices in pieces_of(part):
        if name == piece:
            marked[vertices] = mark


def _mark_lip(
    values: dict[str, FloatArray], result: ClosureResult, lip: LipSkin, place_mm: FloatArray, t: float
) -> None:
    for name, piece in zip(lip.parts, lip.pieces, strict=True):
        count = len(result.fitting.snapshot.part(name).vertices_mm)
        marked = values.setdefault(name, np.full(count, np.nan))
        near = row_norms(piece.vertices(t) - place_mm) <= TOUCHED_MM
        marked[piece.vertex_ids[0][near]] = 1.0
