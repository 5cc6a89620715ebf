"""Which vertices of its piece, as it is shown now, belong to a finding."""

from typing import Any

import numpy as np

from ..model.arrays import IntArray
from .stored_report import finding_elements
from .surfaces import shown_triangles

NONE: IntArray = np.zeros(0, np.int64)


def finding_vertices(scene: Any, finding: Any, mesh: Any | None) -> IntArray:
    """Return the vertices ``(k,)`` of a mesh that a listed finding is on; none where the mesh is another one now.

    Parameters
    ----------
    mesh
        The piece's mesh as it is shown, or None where it has none.
    """
    elements = finding_elements(scene, finding.check, finding.name)
    if mesh is None or not len(elements):
        return NONE
    if finding.kind == "faces":
        faces = shown_triangles(mesh)
        elements = np.unique(faces[elements]) if elements.max() < len(faces) else NONE
    fits = not len(elements) or elements.max() < len(mesh.vertices)
    return elements.astype(np.int64) if fits else NONE
