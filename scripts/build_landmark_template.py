"""Build the template that landmarks are proposed from: the demonstration's CC0 head, coarse, with its landmarks.

    python scripts/build_landmark_template.py

Writes ``head_template_cc0.npz`` beside the code that proposes landmarks, with its licence notice. The same sources give
the same arrays.
"""

import shutil
import sys
from pathlib import Path

import numpy as np
import numpy.typing as npt

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT / "addon"))

from dryfit.demo_door import demo_module  # noqa: E402
from dryfit.geometry import Surface  # noqa: E402
from dryfit.geometry.sphere_directions import even_directions  # noqa: E402

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
DATA = ROOT / "addon" / "dryfit" / "performer" / "landmarks" / "data"
UNIT_MM = 0.01
SEEN_SHARE = 0.06
"""Skin that fewer directions than this reach from outside (mouth, nostrils, behind the lids) is left out."""
NECK_CUT_MM = -122.0


def stored_head() -> tuple[FloatArray, IntArray, dict[str, FloatArray]]:
    """Return the coarse vertices of the smooth head ``(n, 3)``, its triangles ``(m, 3)`` and its landmarks, mm."""
    performer, lips, subdivision = (demo_module(name) for name in ("performer", "lips", "subdivision"))
    stored = demo_module("head").load_head()
    skin = stored.part("skin")
    rings = [
        performer.mirrored_ring(skin.vertices_mm, ring) for ring in (performer.LIP_UPPER_RING, performer.LIP_LOWER_RING)
    ]
    above = lips.nearer_to_upper(skin.vertices_mm, skin.quads, *rings).astype(float)
    values, quads = np.column_stack([skin.vertices_mm, above]), skin.quads
    for _ in range(2):
        values, quads = subdivision.catmull_clark(values, quads)
    smooth = values[:, :3]
    line = lips.lip_line(smooth, *rings)
    smooth = smooth + lips.lips_together(smooth, subdivision.triangles_of(quads), line, values[:, -1] > 0.5)
    marks = performer.landmark_points(smooth, stored)
    return smooth[: len(skin.vertices_mm)], subdivision.triangles_of(skin.quads), marks


def seen_share(vertices_mm: FloatArray, faces: IntArray) -> FloatArray:
    """Return the share ``(n,)`` of 200 even directions from which each vertex is seen."""
    surface = Surface(vertices_mm, faces)
    starts = vertices_mm + 0.3 * surface.vertex_normals
    away = even_directions(200)
    seen = [~surface.blocked(starts, np.broadcast_to(each, starts.shape)) for each in away]
    return np.asarray(np.mean(seen, axis=0))


def main() -> int:
    """Write the template and return the exit code."""
    vertices, faces, marks = stored_head()
    shown = (seen_share(vertices, faces) > SEEN_SHARE) & (vertices[:, 2] > NECK_CUT_MM)
    faces = faces[shown[faces].all(axis=1)]
    used, compact = np.unique(faces, return_inverse=True)
    DATA.mkdir(exist_ok=True)
    np.savez_compressed(
        DATA / "head_template_cc0.npz",
        unit_mm=UNIT_MM,
        vertices=np.round(vertices[used] / UNIT_MM).astype(np.int16),
        faces=compact.reshape(-1, 3).astype(np.uint16),
        names=np.array(list(marks)),
        points=np.round(np.stack(list(marks.values())) / UNIT_MM).astype(np.int16),
    )
    notice = ROOT / "demo.blend-generator" / "data" / "makehuman_head_cc0.LICENSE.txt"
    shutil.copyfile(notice, DATA / "head_template_cc0.LICENSE.txt")
    print(len(used), "vertices,", len(faces), "triangles,", (DATA / "head_template_cc0.npz").stat().st_size, "bytes")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
