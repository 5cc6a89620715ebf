"""Pictures for the comparison page: every variant of one base from the very same places, and its height over the base.

A report frames its design, so a design with horns is shown smaller than one without. Here the frame follows from the
bare base alone, so that two variants' pictures can be laid over each other. The height over the base is measured pixel
by pixel along the bare skin's own direction: two variants' heights at a pixel belong to the same place of skin, and
their difference is how much further one stands out there, mm.
"""

import base64
import hashlib
import io
import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from ..geometry import Surface
from ..model.arrays import FloatArray
from ..model.fingerprint import fingerprint
from ..model.progress import Job, Progress
from ..model.snapshot import Role, Snapshot
from ..model.version import VERSION
from ..performer.fitting import Fitting
from ..performer.head_frame import HeadFrame
from ..report.pictures.standpoints import portraits
from ..report.pictures.studio import Picture, Setting, Studio
from ..report.pictures.viewpoint import Viewpoint
from ..report.whole_files import write_whole
from .design_change import gathered

SIZE, HEIGHTS_SIZE, THUMB_SIZE = (480, 600), (240, 300), (168, 210)
ROOM = 1.16
"""How much more than the bare head a picture holds, for what is worn on it."""
SHOWN = ("front", "three-quarter-left", "profile-left")
"""Views of every variant, by their names among the portraits."""
OPEN = "front-open"
FOLDER = "board"
TEETH = (Role.UPPER_TEETH, Role.LOWER_TEETH)
REACH_MM, DEPTH_MM = 60.0, 12.0
"""A worn skin is looked for this far out from the bare skin, and this far below it."""
SURELY_OWN_MM, OWN_SHARE = 2.0, 0.5
"""What stands higher than this over a place of skin belongs to it where no other skin is nearer than this share."""
STEP_MM, ZERO, UNMEASURED = 0.01, 10_000, 65_535
"""Heights are stored as 16-bit steps; ``ZERO`` is the bare skin."""
THUMB_QUALITY = 82


@dataclass(frozen=True)
class HeightMap:
    """Height of what is worn over the bare base, seen from one view.

    Attributes
    ----------
    view
        Where it was seen from.
    height_mm
        ``(height, width)``; 0 on bare skin, nan beside the head and where nothing sure can be said.
    """

    view: Viewpoint
    height_mm: FloatArray


def board_views(snapshot: Snapshot) -> list[Viewpoint]:
    """Return where every variant of a base is photographed from: it follows from the bare base and its landmarks."""
    frame = HeadFrame.from_landmarks(snapshot.landmarks)
    round_the_head = portraits(snapshot.base, [], snapshot.landmarks, frame)
    return [
        replace(view, size=SIZE, height_mm=view.height_mm * ROOM, lettering=1.0)
        for view in round_the_head
        if view.name in SHOWN
    ]


def camera_key(snapshot: Snapshot) -> str:
    """Return a text that is the same for two variants when their pictures may be laid over each other.

    It holds the base's fingerprint and each camera, rounded to a thousandth of a millimetre.
    """
    cameras = [
        [view.name, *(np.round(values, 3).tolist() for values in (view.centre_mm, view.toward, view.up)),
         round(view.height_mm, 3), round(view.distance_mm, 3), view.size]
        for view in board_views(snapshot)
    ]  # fmt: skip
    base = fingerprint(snapshot.base.vertices_mm, snapshot.base.faces)
    return hashlib.sha256(json.dumps([base, cameras]).encode()).hexdigest()[:16]


def height_maps(fitting: Fitting) -> list[HeightMap]:
    """Return the height over the base from every board view; 0 everywhere where nothing is worn."""
    worn = gathered(fitting, (Role.APPLIANCE, Role.HARDWARE))
    surface = None if worn is None else worn.surface
    views = board_views(fitting.snapshot)
    return [_height_map(fitting.base_surface, surface, replace(view, size=HEIGHTS_SIZE)) for view in views]


def _height_map(base: Surface, worn: Surface | None, view: Viewpoint) -> HeightMap:
    width, height = view.size
    pixels = np.stack(np.meshgrid(np.arange(width), np.arange(height)), axis=-1).reshape(-1, 2) + 0.5
    hits = base.first_hit(*view.rays(pixels))
    seen = np.flatnonzero(hits.face >= 0)
    corners = base.faces[hits.face[seen]]
    place = np.einsum("kc,kcx->kx", hits.barycentric[seen], base.vertices_mm[corners])
    outward = np.einsum("kc,kcx->kx", hits.barycentric[seen], base.vertex_normals[corners])
    outward /= np.maximum(np.linalg.norm(outward, axis=1), 1e-9)[:, None]
    height_mm = np.full(width * height, np.nan)
    height_mm[seen] = 0.0 if worn is None else _heights_mm(base, worn, place, outward)
    return HeightMap(view, height_mm.reshape(height, width))


def _heights_mm(base: Surface, worn: Surface, place: FloatArray, outward: FloatArray) -> FloatArray:
    """Return how far out along the bare skin's direction the worn skin is, ``(k,)``.

    It is nan where that faces away, and where it stands over other skin: a brow seen from the lid beneath it.
    """
    hits = worn.first_hit(place + REACH_MM * outward, -outward, REACH_MM + DEPTH_MM)
    found = hits.face >= 0
    heights_mm = np.where(found, REACH_MM - np.where(found, hits.distance_mm, 0.0), 0.0)
    looking = np.einsum("kx,kx->k", worn.normals[np.maximum(hits.face, 0)], outward)
    heights_mm[found & (looking <= 0.0)] = np.nan
    high = np.flatnonzero(heights_mm > SURELY_OWN_MM)
    over_mm = base.clearance_mm(place[high] + heights_mm[high, None] * outward[high])
    heights_mm[high[~(over_mm >= OWN_SHARE * heights_mm[high])]] = np.nan
    return heights_mm


def packed(height_mm: FloatArray) -> npt.NDArray[np.uint8]:
    """Return heights ``(h, w)`` as pixels ``(h, w, 3)``: high byte, low byte, nothing."""
    steps = np.clip(np.round(np.nan_to_num(height_mm) / STEP_MM) + ZERO, 0, UNMEASURED - 1)
    whole = np.where(np.isnan(height_mm), UNMEASURED, steps).astype(np.int64)
    return np.stack([whole >> 8, whole & 255, np.zeros_like(whole)], axis=-1).astype(np.uint8)


def write_board(fitting: Fitting, place: Path, fault: bytes = b"") -> Job[list[Path]]:
    """Write a variant's pictures for the comparison page into its report's folder.

    Parameters
    ----------
    fitting
        The variant.
    place
        Its report's folder.
    fault
        The picture of what is wrong, which the small picture is cut from; ``b""`` takes the front.

    Raises
    ------
    UnwritableOutput
        When the folder cannot be written.
    ImportError
        Without Pillow.
    """
    contents: dict[str, bytes] = {}
    for picture in _pictures(fitting):
        yield Progress(len(contents), len(SHOWN) + 2, f"picture: {picture.words}")
        contents[f"{FOLDER}/{picture.name}.png"] = picture.png
    contents[f"{FOLDER}/thumb.jpg"] = _thumb(fault or contents[f"{FOLDER}/front.png"])
    contents[f"{FOLDER}/heights.js"] = _heights_script(place.name, height_maps(fitting), teeth_sizes(fitting.snapshot))
    contents[f"{FOLDER}/camera.json"] = json.dumps({"key": camera_key(fitting.snapshot)}).encode()
    return write_whole(place, contents)


def _pictures(fitting: Fitting) -> Iterator[Picture]:
    studio = Studio(fitting.snapshot, fitting.posed_parts, f"dryfit {VERSION}")
    views = board_views(fitting.snapshot)
    for view in views:
        yield studio.plain(view.name, "", Setting(), view)()
    if studio.posed("jaw", 1.0):
        yield studio.plain(OPEN, "", Setting("jaw", 1.0), views[0])()


def _thumb(png: bytes) -> bytes:
    from PIL import Image, ImageOps

    stream = io.BytesIO()
    ImageOps.fit(Image.open(io.BytesIO(png)).convert("RGB"), THUMB_SIZE).save(stream, "JPEG", quality=THUMB_QUALITY)
    return stream.getvalue()


def teeth_sizes(snapshot: Snapshot) -> dict[str, Any]:
    """Return what tells whether two variants have the same teeth, which heights over the skin do not show.

    For each role its shape's fingerprint and the sides of its box, mm: how wide, deep and tall.
    """
    found = {}
    for role in TEETH:
        parts = snapshot.with_role(role)
        if parts:
            points = np.concatenate([part.vertices_mm for part in parts])
            print_of = hashlib.sha256(np.round(points, 2).tobytes()).hexdigest()[:16]
            found[str(role)] = {"print": print_of, "size_mm": np.ptp(points, axis=0).round(2).tolist()}
    return found


def _heights_script(folder: str, maps: list[HeightMap], teeth: Mapping[str, Any]) -> bytes:
    """Return a script that hands the heights to the page: the only way a page opened from a disk may read pixels."""
    held: Mapping[str, Any] = {each.view.name: _data_uri(packed(each.height_mm)) for each in maps}
    return f"boardHeights({json.dumps(folder)}, {json.dumps(held)}, {json.dumps(teeth)});\n".encode()


def _data_uri(pixels: npt.NDArray[np.uint8]) -> str:
    from PIL import Image

    stream = io.BytesIO()
    Image.fromarray(pixels).save(stream, "PNG", optimize=True)
    return "data:image/png;base64," + base64.b64encode(stream.getvalue()).decode("ascii")
