"""A room as JSON, as arrays and as a cage: what others script against."""

from __future__ import annotations

import io
import json
import math
import zipfile
from functools import cache
from importlib import resources
from typing import TYPE_CHECKING, Any

import numpy as np

from ..model.arrays import BoolArray, FloatArray
from ..model.errors import DryfitError
from ..model.limits import Limits, described_limits
from ..model.version import VERSION
from ..rooms.rims import SuggestedRim
from ..rooms.room import Region, Room
from ..rooms.skin import REACH_MM
from ..rooms.stop import Stop
from ..rooms.teeth import LONGEST_MM, ToothRoom

if TYPE_CHECKING:
    from collections.abc import Mapping

SCHEMA = "dryfit.room/1"
EPOCH = (1980, 1, 1, 0, 0, 0)


class InvalidRoom(DryfitError):
    """A room that does not have the layout of ``dryfit.room/1``."""

    def __init__(self, where: str, why: str) -> None:
        super().__init__(f"The room is not a {SCHEMA}: at {where or 'the top'}: {why}")


@cache
def room_schema() -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) that ships with the package. Do not change the returned value."""
    text = resources.files(__package__).joinpath("room_schema.json").read_text(encoding="utf-8")
    schema: dict[str, Any] = json.loads(text)
    return schema


def validate_room(values: Mapping[str, Any]) -> bool:
    """Hold a room's values against the schema; False where the ``jsonschema`` package is missing.

    Raises
    ------
    InvalidRoom
        Naming the place and what is wrong with it.
    """
    try:
        import jsonschema
    except ImportError:
        return False
    first = jsonschema.exceptions.best_match(jsonschema.Draft202012Validator(room_schema()).iter_errors(values))
    if first is not None:
        raise InvalidRoom(first.json_path.removeprefix("$").lstrip("."), first.message)
    return True


def room_values(room: Room, limits: Limits, sha256: str = "") -> dict[str, Any]:
    """Return a room as plain values for JSON; ``null`` stands for what cannot be told."""
    described = described_limits(limits)
    sculpted = room.told | (room.why >= 0) & (room.why != room.not_skin)
    return {
        "schema": SCHEMA,
        "dryfit": VERSION,
        "variant": {"name": room.name, "source": room.source, "sha256": sha256},
        "reach_mm": REACH_MM,
        "skin": {
            "vertices": len(room.vertices_mm),
            "faces": len(room.faces),
            "sculpted": int(sculpted.sum()),
            "known": int(room.told.sum()),
        },
        "stops": [_stop(room, number, stop, described) for number, stop in enumerate(room.stops)],
        "regions": [_region(region) for region in room.regions],
        "teeth": [_tooth(tooth) for tooth in room.teeth.teeth],
        "slabs": [_tooth(tooth) for tooth in room.teeth.slabs],
        "teeth_unknown": room.teeth.why,
        "edges": {"allowed_share": _share(room, room.edges.allowed & sculpted), "unknown": room.edges.why},
        "rims": [_rim(rim) for rim in room.rims],
        "weight": [
            {
                "material": left.material,
                "density_g_cm3": _number(left.density_g_cm3),
                "mass_g": _number(left.mass_g),
                "moment_mass_g": _number(left.moment_mass_g),
                "volume_cm3": _number(left.volume_cm3),
                "room_cm3": _number(left.room_cm3),
                "unknown": left.why,
            }
            for left in room.weights
        ],
        "unknown": [
            {"why": why, "share": _share(room, room.why == number)}
            for number, why in enumerate(room.reasons)
            if (room.why == number).any()
        ],
        "notes": list(room.notes),
        "limits": {name: described[name] for name in sorted({stop.limit for stop in room.stops if stop.limit})},
    }


def room_json(values: Mapping[str, Any]) -> str:
    """Return the values as text, the same for the same values."""
    return json.dumps(values, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def _stop(room: Room, number: int, stop: Stop, described: Mapping[str, Any]) -> dict[str, Any]:
    own = room.stopped_by == number
    return {
        "id": stop.id,
        "check": stop.check,
        "words": stop.words,
        "limit": stop.limit,
        "limit_value": described[stop.limit]["value"] if stop.limit else None,
        "together": stop.together,
        "share": _share(room, own),
        "least_mm": _number(room.room_mm[own].min()) if own.any() else None,
        "unknown": stop.why,
    }


def _region(region: Region) -> dict[str, Any]:
    return {
        "name": region.name,
        "least_mm": _number(region.least_mm),
        "usual_mm": _number(region.usual_mm),
        "most_mm": _number(region.most_mm),
        "stop": region.stop,
        "stop_at_most": region.at_most,
        "unknown_share": _number(region.unknown_share),
    }


def _tooth(tooth: ToothRoom) -> dict[str, Any]:
    return {
        "name": tooth.name,
        "part": tooth.part,
        "longer_mm": _number(tooth.longer_mm),
        "stop": tooth.stop,
        "closing_mm": _number(min(tooth.closing_mm, LONGEST_MM)) if not math.isnan(tooth.closing_mm) else None,
        "tissue_mm": _number(min(tooth.tissue_mm, LONGEST_MM)) if not math.isnan(tooth.tissue_mm) else None,
        "cover_mm": _number(min(tooth.cover_mm, LONGEST_MM)) if not math.isnan(tooth.cover_mm) else None,
    }


def _rim(rim: SuggestedRim) -> dict[str, Any]:
    return {
        "name": rim.name,
        "drawn_mm": [[_number(number) for number in point] for point in rim.drawn_mm],
        "rim_mm": [None if np.isnan(point).any() else [_number(number) for number in point] for point in rim.rim_mm],
        "furthest_mm": _number(rim.furthest_mm),
        "kept_share": _number(rim.kept_share),
        "lost_share": _number(rim.lost_share),
        "unknown": rim.why,
    }


def _number(value: float) -> float | None:
    return round(float(value), 4) if math.isfinite(value) else None


def _share(room: Room, chosen: BoolArray) -> float:
    """Return the share of all vertices, which a page may add up."""
    return round(float(chosen.sum()) / max(len(chosen), 1), 6)


def room_npz(room: Room) -> bytes:
    """Return the arrays as an ``.npz``, without a time in it: the same room gives the same bytes."""
    arrays = {
        "vertices_mm": room.vertices_mm,
        "faces": room.faces.astype(np.int32),
        "outward": room.outward,
        "room_mm": room.room_mm,
        "stopped_by": room.stopped_by.astype(np.int32),
        "stops": np.array([stop.id for stop in room.stops]),
        "why": room.why.astype(np.int32),
        "reasons": np.array(room.reasons),
        "edge_allowed": room.edges.allowed,
        "stretch": room.edges.stretch,
    }
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, array in arrays.items():
            content = io.BytesIO()
            np.lib.format.write_array(content, np.ascontiguousarray(array), allow_pickle=False)
            packed.writestr(zipfile.ZipInfo(f"{name}.npy", EPOCH), content.getvalue(), zipfile.ZIP_DEFLATED)
    return stream.getvalue()


def cage_ply(room: Room) -> bytes:
    """Return the cage as a binary PLY in millimetres: the faces whose room is known, at its height."""
    faces = room.faces[room.told[room.faces].all(axis=1)]
    used, compact = np.unique(faces, return_inverse=True)
    points: FloatArray = room.cage_mm[used]
    header = (
        "ply\nformat binary_little_endian 1.0\ncomment dryfit cage: millimetres, the height that forms may reach\n"
        f"element vertex {len(used)}\nproperty float x\nproperty float y\nproperty float z\nproperty float room_mm\n"
        f"element face {len(faces)}\nproperty list uchar int vertex_indices\nend_header\n"
    )
    vertices = np.column_stack([points, room.room_mm[used]]).astype("<f4")
    rows = np.zeros(len(faces), dtype=[("count", "u1"), ("corners", "<i4", 3)])
    rows["count"], rows["corners"] = 3, compact.reshape(-1, 3)
    return header.encode() + vertices.tobytes() + rows.tobytes()
