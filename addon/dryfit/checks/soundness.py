"""What is odd about a piece as a mesh, said beside what was measured on it all the same."""

from collections.abc import Iterator

import numpy as np

from ..geometry.outer_skin import OuterSkin
from ..model.finding import Finding, Severity
from ..model.snapshot import Part
from .fitting import Fitting


def soundness(part: Part, skin: OuterSkin, fitting: Fitting) -> Iterator[Finding]:
    """Yield a note for each thing about a piece that a user should know: none of them changes the verdict."""
    if fitting.base_inside_out:
        yield _note(fitting.base, np.arange(len(fitting.base.faces)), fitting, "the base's faces look inward; "
                    "it was measured the right way round. Recalculate its normals to the outside")  # fmt: skip
    turned = np.flatnonzero(skin.turned)
    if len(turned):
        yield _note(part, turned, fitting, f"{part.name} is inside out ({len(turned)} of {len(skin.faces)} faces "
                    "look inward); it was measured the right way round. Recalculate its normals to the outside")  # fmt: skip
    if skin.crowded:
        yield _note(part, np.zeros(0, np.int64), fitting, f"{part.name} is not manifold: {skin.crowded} edges are "
                    "shared by more than two faces. Clearance is measured there; rims at those edges are not")  # fmt: skip
    off = np.flatnonzero(np.isnan(skin.clearance_mm))
    if len(off):
        yield _note(part, np.zeros(0, np.int64), fitting, f"{len(off)} of {len(skin.clearance_mm)} vertices of "
                    f"{part.name} lie beyond the border of the scan and were not judged")  # fmt: skip


def _note(part: Part, faces: np.ndarray, fitting: Fitting, words: str) -> Finding:
    place = part.vertices_mm[part.faces[faces[0]]].mean(axis=0) if len(faces) else part.vertices_mm.mean(axis=0)
    return Finding(
        severity=Severity.INFO,
        message=words[0].upper() + words[1:] + ".",
        object=part.name,
        at_mm=tuple(place),
        region=fitting.regions.name(place),
        value=float(len(faces)),
        limit=float("nan"),
        unit="faces",
        kind="faces",
        elements=faces,
    )
