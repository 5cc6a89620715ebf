"""Scene cameras as places to look from."""

from collections.abc import Iterable

from ..model.brief import Brief
from ..model.snapshot import Camera
from ..performer.views import missing_cameras
from .blender import BlenderObject, Depsgraph
from .meshes import world_matrix


def camera_objects(objects: Iterable[BlenderObject]) -> list[BlenderObject]:
    """Return the cameras among the objects, sorted by name."""
    return sorted((item for item in objects if item.type == "CAMERA"), key=lambda item: str(item.name))


def placed_cameras(items: Iterable[BlenderObject], depsgraph: Depsgraph, mm_per_unit: float) -> tuple[Camera, ...]:
    """Return where the cameras stand, mm, world space."""
    cameras = []
    for item in items:
        x, y, z = (world_matrix(item.evaluated_get(depsgraph))[:3, 3] * mm_per_unit).tolist()
        cameras.append(Camera(item.name, (x, y, z)))
    return tuple(cameras)


def camera_notes(cameras: Iterable[Camera], brief: Brief) -> tuple[str, ...]:
    """Tell which cameras of the brief are not in the scene."""
    return tuple(f"[views] camera '{name}' is not in the scene." for name in missing_cameras(brief.views, cameras))
