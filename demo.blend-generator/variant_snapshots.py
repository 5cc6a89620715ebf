"""A variant as a snapshot, straight from the arrays: what reading its .blend file must give, without Blender."""

from functools import cache

import numpy as np
import numpy.typing as npt

from ..model.fingerprint import fingerprint
from ..model.snapshot import Camera, Lock, Motion, Part, Role, Snapshot
from .part_meshes import PartMesh
from .performer import MOTIONS, jaw_turned, performer
from .shots import SHOT_CAMERA_MM
from .wardens import DESIGNS

FloatArray = npt.NDArray[np.float64]

JAW_FRAMES = 9
"""Key frames of the jaw: between two, a point of the lower teeth strays 0.03 mm from its circle."""


@cache
def variant_snapshot(name: str) -> Snapshot:
    """Return one variant of the demo, ready to be checked.

    Parameters
    ----------
    name
        A key of ``DESIGNS``, for instance ``01-warden-plain``.

    Raises
    ------
    KeyError
        When there is no such variant.
    """
    meshes = DESIGNS[name]()
    parts = tuple(_part(mesh) for mesh in meshes)
    return Snapshot(
        name=name,
        parts=parts,
        lock=_locked(next(part for part in parts if part.role == Role.BASE)),
        landmarks=performer().landmarks,
        motions={motion: _motion(motion, meshes) for motion in MOTIONS},
        cameras=(Camera("ShotCam", SHOT_CAMERA_MM),),
    )


def _locked(base: Part) -> Lock:
    return Lock(fingerprint(base.vertices_mm, base.faces), base.vertices_mm)


def _part(mesh: PartMesh) -> Part:
    return Part(mesh.name, mesh.role, mesh.vertices_mm, mesh.faces, mesh.material, mesh.areas)


def _motion(motion: str, meshes: tuple[PartMesh, ...]) -> Motion:
    head = performer()
    moved = np.sum([head.shapes_mm[key] for key in MOTIONS[motion]], axis=0)
    times = np.linspace(0.0, 1.0, JAW_FRAMES if motion == "jaw" else 2)
    frames: dict[str, FloatArray] = {"Performer": np.stack([head.vertices_mm + t * moved for t in times])}
    if motion == "jaw":
        lower = next(mesh for mesh in meshes if mesh.role == "lower_teeth")
        frames["LowerTeeth"] = np.stack([jaw_turned(lower.vertices_mm, t) for t in times])
    return Motion(motion, times, frames)
