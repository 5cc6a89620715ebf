"""What is odd about a piece as a mesh, said beside what was measured on it all the same."""

from collections.abc import Iterator

import numpy as np

from ...geometry.outer_skin import OuterSkin
from ...model.arrays import IntArray
from ...model.finding import Finding, Severity
from ...model.snapshot import Part
from ...performer.fitting import Fitting

RIGHT_WAY = "it was measured the right way round. Recalculate its normals to the outside."
NO_FACES = np.zeros(0, np.int64)


def soundness(part: Part, skin: OuterSkin, fitting: Fitting) -> Iterator[Finding]:
    """Yield a note for each thing about a piece that a user should know; none of them changes the verdict."""
    turned = np.flatnonzero(skin.turned)
    if len(turned):
        inward = f"{len(turned)} of {len(skin.faces)} faces look inward"
        yield _note(part, turned, f"{part.name} is inside out ({inward}); {RIGHT_WAY}", fitting)
    if skin.crowded:
        words = f"{part.name} is not manifold: more than two faces share {skin.crowded} of its edges. "
        yield _note(part, NO_FACES, words + "Clearance is measured there, rims at those edges are not.", fitting)
    off = int(np.isnan(skin.clearance_mm).sum())
    if off:
        words = f"{off} of {len(skin.clearance_mm)} vertices of {part.name} lie beyond the border of the scan"
        yield _note(part, NO_FACES, words + " and were not judged.", fitting)


def base_soundness(fitting: Fitting) -> Iterator[Finding]:
    """Yield a note when the base's faces look inward."""
    if fitting.base_inside_out:
        words = f"The faces of the base {fitting.base.name} look inward; {RIGHT_WAY}"
        yield _note(fitting.base, np.arange(len(fitting.base.faces)), words, fitting)


def _note(part: Part, faces: IntArray, words: str, fitting: Fitting) -> Finding:
    at_mm = part.vertices_mm[part.faces[faces[0]]].mean(axis=0) if len(faces) else part.vertices_mm.mean(axis=0)
    return Finding(
        severity=Severity.INFO,
        message=words,
        place=fitting.place(part.name, at_mm),
        value=float(len(faces)),
        unit="faces",
        kind="faces",
        elements=faces,
    )
