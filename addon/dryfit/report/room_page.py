"""The page of a room, and everything that is written of one."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from pathlib import Path
from types import MappingProxyType
from typing import Any

from ..model.brief import Brief
from ..model.limits import described_limits
from ..model.progress import Job, Progress
from ..model.sentences import capital
from ..model.snapshot import Snapshot
from ..model.version import VERSION
from ..rooms.kinds import kinds_of
from ..rooms.room import Room
from . import palette
from .page import page_environment
from .pictures.studio import Picture
from .room_pictures import EDGE, SCALE_MM, room_pictures
from .room_values import cage_ply, room_json, room_npz, room_values, validate_room
from .room_words import ABOUT, said_mm, said_region, said_rim
from .verdict import SAFETY
from .whole_files import write_whole
from .wording import with_unit
from .writing import require_libraries, stated_time

PICTURES = 9


def write_room(
    room: Room,
    snapshot: Snapshot,
    brief: Brief,
    out_dir: str | Path,
    *,
    written: datetime | None = None,
    beside: Mapping[str, bytes] = MappingProxyType({}),
) -> Job[tuple[Path, ...]]:
    """Write ``room.json``, ``room.npz``, ``cage.ply`` and ``room.html`` into a folder; all of them or none.

    Parameters
    ----------
    room, snapshot, brief
        What was measured, on what, and against what.
    out_dir
        The folder; made when missing.
    written
        The time to state on the page; now when None, or ``SOURCE_DATE_EPOCH`` where that is set.
    beside
        Other files that belong to it, by their names.

    Yields
    ------
    Progress

    Raises
    ------
    InvalidRoom
        When the room does not have the layout of its schema. Nothing is written.
    UnwritableOutput
        When the folder cannot be written. Nothing is left half written.
    MissingLibraries
        Without Jinja2 or Pillow. Nothing is written.
    """
    require_libraries()
    values = room_values(room, brief.limits, snapshot.sha256)
    validate_room(values)
    pictures: list[Picture] = []
    for picture in room_pictures(room, snapshot):
        pictures.append(picture)
        yield Progress(len(pictures), PICTURES + 1, f"picture: {picture.words}")
    page = room_html(room, values, pictures, brief, written or stated_time())
    contents = {
        "room.json": room_json(values).encode(),
        "room.npz": room_npz(room),
        "cage.ply": cage_ply(room),
        "room.html": page.encode(),
        **beside,
    }
    files = write_whole(Path(out_dir), contents)
    yield Progress(1, 1, "written")
    return tuple(files)


def room_html(
    room: Room, values: Mapping[str, Any], pictures: Sequence[Picture], brief: Brief, written: datetime
) -> str:
    """Return the page as text; it holds its pictures and asks for nothing else.

    Raises
    ------
    ImportError
        Without Jinja2.
    """
    environment = page_environment()
    environment.filters["said_mm"] = said_mm
    by_name = {picture.name: picture for picture in pictures}
    kinds, _ = kinds_of(room)
    content = {
        "room": room,
        "name": capital(room.name),
        "version": VERSION,
        "written": written.strftime("%Y-%m-%d %H:%M UTC"),
        "palette": palette,
        "maps": [picture for name, picture in by_name.items() if name.startswith("room-")],
        "stop_maps": [picture for name, picture in by_name.items() if name.startswith("stops-")],
        "edge_maps": [picture for name, picture in by_name.items() if name.startswith("edges-")],
        "kinds": kinds,
        "edge_colour": EDGE,
        "scale_mm": SCALE_MM,
        "regions": [(region, said_region(region, room), room.words_of(region.stop)) for region in room.regions],
        "rims": [said_rim(rim) for rim in room.rims],
        "values": values,
        "limits": list(_limit_rows(values, brief)),
        "about": ABOUT,
        "safety": SAFETY,
    }
    return environment.get_template("room.html").render(content).lstrip() + "\n"


def _limit_rows(values: Mapping[str, Any], brief: Brief) -> Iterator[tuple[str, str, str]]:
    described = described_limits(brief.limits)
    for name in values["limits"]:
        entry = described[name]
        yield name, with_unit(float(entry["value"]), str(entry["unit"])), str(entry["reason"])
