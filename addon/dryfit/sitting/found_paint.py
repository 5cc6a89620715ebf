"""Paint of a finding whose check measures no value over the surface: where it was found, and nothing else."""

from typing import Any

import bpy
import numpy as np

from ..model.arrays import FloatArray
from .finding_vertices import finding_vertices
from .paintable import FOUND
from .stored_report import StoredField
from .surfaces import shown_mesh
from .the_pick import picked_finding


def found_now(scene: Any) -> tuple[Any, StoredField, FloatArray, int] | None:
    """Return the picked finding's piece with its field, its values ``(n,)`` and a stamp; None where there is none.

    A vertex of the finding is 1 and any other nan. A finding without elements is about its whole piece.
    """
    finding = picked_finding(scene.dryfit)
    if finding is None or finding.subject is None or finding.subject.name not in scene.objects:
        return None
    mesh = shown_mesh(finding.subject, bpy.context.evaluated_depsgraph_get())
    if mesh is None:
        return None
    count = len(mesh.vertices)
    chosen = finding_vertices(scene, finding, mesh)
    values = np.full(count, np.nan if len(chosen) else 1.0)
    values[chosen] = 1.0
    entry = StoredField(
        key="", check=finding.check, name=FOUND, part=finding.part, unit="", label="Where it was found", low=0.0,
        high=1.0, limit=None, diverging=False, motion="", t=0.0, count=count,
    )  # fmt: skip
    stamp = hash((finding.check, finding.name, len(chosen), count, scene.dryfit.measured_on))
    return finding.subject, entry, values, stamp
