"""From ``brief.toml`` to a ``Brief``: every key known, every value checked, here and nowhere else."""

import difflib
import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, fields, replace
from pathlib import Path
from typing import Any

from .brief import (
    EXCURSIONS,
    MM_PER_UNIT,
    BaseBrief,
    BoneBrief,
    Brief,
    EdgesBrief,
    ExcursionBrief,
    HingeBrief,
    MotionBrief,
    Performer,
    PropertyBrief,
    RoomBrief,
    ShowBrief,
    TeethBrief,
    UnitsBrief,
    Views,
    Way,
    WearBrief,
)
from .errors import BadValue, UnknownKey
from .exceptions import WrittenException
from .limit_basis import bounds_words, within_bounds
from .limits import ENTRIES, RETIRED, Limits
from .materials import (
    COVERED,
    FLEXIBLE_MOULD,
    MAKES,
    MATERIALS,
    MELTS,
    NOT_STATED,
    OF_MOULD,
    OF_PIECE,
    RIGID_MOULD,
    Material,
)  # fmt: skip
from .snapshot import FARTHEST_MM, LANDMARKS, Role
from .toml_text import parse_toml, toml_text

TABLES = (
    "base", "units", "roles", "landmarks", "motions", "limits", "materials", "views", "performer", "teeth",
    "wear", "edges", "exceptions", "show", "room",
)  # fmt: skip
PROPOSED = "proposed_mm"
"""Under ``[landmarks]``: which of them nobody confirmed, with the error to reckon with, mm."""


@dataclass(frozen=True)
class Table:
    """One table of the brief and where it stands, so that every complaint can name the place."""

    where: str
    values: Mapping[str, Any]
    source: str

    def only(self, allowed: tuple[str, ...]) -> "Table":
        """Return the table itself when every key is one of ``allowed``.

        Raises
        ------
        UnknownKey
            Naming the first key that is not, and the nearest one that is.
        """
        for key in self.values:
            if key not in allowed:
                nearest = difflib.get_close_matches(key, allowed, 1, cutoff=0.3)
                raise UnknownKey(self.where, key, nearest[0] if nearest else "", self.source)
        return self

    def inner(self, key: str) -> "Table":
        """Return the table under ``key``; an absent one is empty.

        Raises
        ------
        BadValue
            When the value is there and is no table.
        """
        value = self.values.get(key, {})
        if not isinstance(value, dict):
            raise BadValue(self.where, key, "a table", value, self.source)
        return Table(f"{self.where}.{key}" if self.where else key, value, self.source)

    def bad(self, key: str, wanted: str) -> BadValue:
        """Return the complaint about the value of ``key``."""
        return BadValue(self.where, key, wanted, self.values.get(key), self.source)

    def number(self, key: str, default: float) -> float:
        """Return a finite number.

        Raises
        ------
        BadValue
            When the value is no finite number.
        """
        value = self.values.get(key, default)
        if not is_number(value):
            raise self.bad(key, "a number")
        return float(value)

    def text(self, key: str, default: str = "") -> str:
        """Return a string.

        Raises
        ------
        BadValue
            When the value is no string.
        """
        value = self.values.get(key, default)
        if not isinstance(value, str):
            raise self.bad(key, "a string")
        return value

    def numbers(self, key: str, count: int | None = None) -> tuple[float, ...]:
        """Return a list of finite numbers, of a given length where ``count`` is given.

        Raises
        ------
        BadValue
            When it is anything else.
        """
        value = self.values[key]
        right = isinstance(value, list) and all(map(is_number, value)) and count in (None, len(value))
        if not right:
            raise self.bad(key, f"a list of {count if count else 'any'} numbers")
        return tuple(float(item) for item in value)

    def texts(self, key: str) -> tuple[str, ...]:
        """Return a list of strings.

        Raises
        ------
        BadValue
            When it is anything else.
        """
        value = self.values[key]
        if not (isinstance(value, list) and all(isinstance(item, str) for item in value)):
            raise self.bad(key, "a list of strings")
        return tuple(value)


def is_number(value: object) -> bool:
    """Tell whether a TOML value is a finite number."""
    return isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)


def read_brief(path: str | Path) -> Brief:
    """Read a brief from a TOML file.

    Raises
    ------
    UnreadableFile
        When the file is not there or is not TOML.
    UnknownKey, BadValue
        Naming the first key or value that means nothing.
    """
    return parse_brief(toml_text(path), str(path))


def parse_brief(text: str, source: str = "brief") -> Brief:
    """Parse a brief from TOML text; ``source`` names it in complaints.

    Raises
    ------
    UnreadableFile
        When the text is not TOML.
    UnknownKey, BadValue
        Naming the first key or value that means nothing.
    """
    root = Table("", parse_toml(text, source), source).only(TABLES)
    return Brief(
        source=source,
        base=_base(root.inner("base")),
        units=_units(root.inner("units")),
        roles=_roles(root.inner("roles")),
        landmarks=_landmarks(root.inner("landmarks")),
        proposed=_proposed(root.inner("landmarks").inner(PROPOSED)),
        motions=_each(root.inner("motions"), _motion),
        limits=read_limits(root.inner("limits"), Limits()),
        materials={**MATERIALS, **_each(root.inner("materials"), _material)},
        views=_views(root.inner("views")),
        performer=_performer(root.inner("performer")),
        teeth=_teeth(root.inner("teeth")),
        wear=_wear(root.inner("wear")),
        edges=_edges(root.inner("edges")),
        exceptions=_exceptions(root),
        notes=(*retired_words(root.inner("limits").values, "The brief"), *_unstated(root.inner("materials"))),
        show=_show(root.inner("show")),
        room=_room(root.inner("room")),
    )


def _each(table: Table, read: Callable[[Table], Any]) -> dict[str, Any]:
    return {name: read(table.inner(name)) for name in table.values}


def motions_from(values: object, source: str) -> dict[str, MotionBrief]:
    """Read motions from the content of a ``[motions]`` table; ``source`` names it in complaints.

    Raises
    ------
    UnknownKey, BadValue
        Naming the first key or value that means nothing.
    """
    return _each(Table("", {"motions": values}, source).inner("motions"), _motion)


def _base(table: Table) -> BaseBrief:
    table.only(("file", "object"))
    return BaseBrief(table.text("file"), table.text("object"))


def _units(table: Table) -> UnitsBrief:
    table.only(("mesh_files",))
    unit = table.text("mesh_files")
    if unit and unit not in MM_PER_UNIT:
        raise table.bad("mesh_files", "one of " + ", ".join(MM_PER_UNIT))
    return UnitsBrief(unit)


def _roles(table: Table) -> dict[Role, tuple[str, ...]]:
    table.only(tuple(Role))
    return {Role(name): table.texts(name) for name in table.values}


def _landmarks(table: Table) -> dict[str, tuple[float, float, float]]:
    table.only((*LANDMARKS, PROPOSED))
    points = {}
    for name in table.values:
        if name != PROPOSED:
            x, y, z = table.numbers(name, 3)
            if max(abs(x), abs(y), abs(z)) > FARTHEST_MM:
                raise table.bad(name, f"within {FARTHEST_MM:g} mm of the origin")
            points[name] = (x, y, z)
    return points


def _proposed(table: Table) -> dict[str, float]:
    errors_mm = {name: table.number(name, 0.0) for name in table.only(LANDMARKS).values}
    for name, error in errors_mm.items():
        if error < 0.0:
            raise table.bad(name, "zero or more")
    return errors_mm


MOTIONS_MADE_BY = ("keys", "hinge", "excursion", "bone", "property", "frames")


def _motion(table: Table) -> MotionBrief:
    table.only(MOTIONS_MADE_BY)
    if len(table.values) != 1:
        wanted = f"given, or one of {', '.join(MOTIONS_MADE_BY[1:])} in its place"
        raise BadValue(table.where, "keys", wanted, table.values.get("keys"), table.source)
    (made,) = table.values
    if made == "hinge":
        return MotionBrief(hinge=_hinge(table.inner(made)))
    if made == "excursion":
        return MotionBrief(excursion=_excursion(table.inner(made)))
    if made == "bone":
        return MotionBrief(bone=_bone(table.inner(made)))
    if made == "property":
        return MotionBrief(property=_property(table.inner(made)))
    if made == "frames":
        return MotionBrief(frames=_ends(table, made))
    keys = table.inner(made)
    ends = {}
    for name in keys.values:
        start, end = keys.numbers(name, 2)
        ends[name] = (start, end)
    return MotionBrief(keys=ends)


def _ends(table: Table, key: str) -> tuple[float, float]:
    """Return the figures at t = 0 and t = 1, which differ."""
    if key not in table.values:
        raise table.bad(key, "given: its figures at t = 0 and t = 1")
    start, end = table.numbers(key, 2)
    if start == end:
        raise table.bad(key, "two different numbers")
    return start, end


def _named(table: Table, key: str) -> str:
    name = table.text(key)
    if not name:
        raise table.bad(key, "given")
    return name


def _bone(table: Table) -> BoneBrief:
    table.only(tuple(entry.name for entry in fields(BoneBrief)))
    bone = BoneBrief(
        armature=_named(table, "armature"),
        name=_named(table, "name"),
        rotation_deg=_ends(table, "rotation_deg"),
        axis=table.text("axis", "X").upper(),
    )
    if bone.axis not in ("X", "Y", "Z"):
        raise table.bad("axis", "'X', 'Y' or 'Z', an axis of the bone")
    if max(map(abs, bone.rotation_deg)) > 180.0:
        raise table.bad("rotation_deg", "from -180 to 180")
    return bone


def _property(table: Table) -> PropertyBrief:
    table.only(tuple(entry.name for entry in fields(PropertyBrief)))
    values = _ends(table, "values") if "values" in table.values else PropertyBrief.values
    return PropertyBrief(_named(table, "object"), _named(table, "name"), values)


def _hinge(table: Table) -> HingeBrief:
    table.only(tuple(entry.name for entry in fields(HingeBrief)))
    plain = HingeBrief()
    points = {name: table.numbers(name, 3) for name in ("axis_left_mm", "axis_right_mm") if name in table.values}
    if len(points) == 1:
        raise table.bad("axis_left_mm", "given together with axis_right_mm")
    hinge = HingeBrief(
        open_deg=table.number("open_deg", plain.open_deg),
        slide_deg_per_mm=table.number("slide_deg_per_mm", plain.slide_deg_per_mm),
        slide_down_deg=table.number("slide_down_deg", plain.slide_down_deg),
        rest_deg=table.number("rest_deg", 0.0) if "rest_deg" in table.values else None,
        axis_offset_mm=table.number("axis_offset_mm", plain.axis_offset_mm),
        axis_left_mm=points.get("axis_left_mm", ()),
        axis_right_mm=points.get("axis_right_mm", ()),
    )
    if hinge.slide_deg_per_mm <= 0.0 or not 0.0 < hinge.open_deg <= 60.0:
        raise table.bad("open_deg", "over 0 and up to 60, with slide_deg_per_mm over 0")
    if hinge.rest_deg is not None and not 0.0 <= hinge.rest_deg <= 60.0:
        raise table.bad("rest_deg", "from 0 (closed in the scan) up to 60")
    return hinge


def _excursion(table: Table) -> ExcursionBrief:
    table.only(tuple(entry.name for entry in fields(ExcursionBrief)))
    name = table.where.split(".")[1]
    way = table.text("way") if "way" in table.values else None
    if way not in (*Way, None) or (way is None and name not in EXCURSIONS):
        raise table.bad("way", f"one of {', '.join(Way)}, unless the motion is named {', '.join(EXCURSIONS)}")
    stated = ExcursionBrief(
        way=EXCURSIONS[name] if way is None else Way(way),
        amount_mm=table.number("amount_mm", 0.0) if "amount_mm" in table.values else None,
        part_mm=table.number("part_mm", ExcursionBrief.part_mm),
    )
    if stated.amount_mm is not None and not 0.0 < stated.amount_mm <= 25.0:
        raise table.bad("amount_mm", "over 0 and up to 25")
    if not 0.0 <= stated.part_mm <= 20.0:
        raise table.bad("part_mm", "from 0 up to 20")
    return stated


def read_limits(table: Table, otherwise: Limits) -> Limits:
    """Return the limits of a table; one that it does not state is as in ``otherwise``, retired ones count no more.

    Raises
    ------
    UnknownKey, BadValue
        Naming the first key that means nothing, or the first value beyond its bounds and the bounds.
    """
    table.only((*ENTRIES, *RETIRED))
    values = {name: table.number(name, 0.0) for name in table.values if name not in RETIRED}
    for name, value in values.items():
        if not within_bounds(ENTRIES[name], value):
            raise table.bad(name, bounds_words(ENTRIES[name]))
    return replace(otherwise, **values)


def retired_words(stated: Iterable[str], source: str) -> tuple[str, ...]:
    """Return a sentence for each limit among some names that no longer counts; ``source`` says who states it."""
    return tuple(
        f"{source} states {name}, which no longer counts: {RETIRED[name]}." for name in stated if name in RETIRED
    )


def _material(table: Table) -> Material:
    table.only(tuple(entry.name for entry in fields(Material)))
    known = MATERIALS.get(table.where.removeprefix("materials."))
    known = known or Material(NOT_STATED)
    if "shrink_percent" in table.values:
        known = replace(known, shrink_least_percent=0.0, shrink_most_percent=0.0)
    words = ("shrink_of", "process", "source", "make", "mould", "edge_work")
    figures = {
        entry.name: table.number(entry.name, getattr(known, entry.name))
        for entry in fields(Material)
        if entry.name not in words
    }
    stated = f"stated in the brief: {', '.join(table.values)}; the rest: {known.source}"
    return admitted_material(
        Material(
            **figures,
            shrink_of=table.text("shrink_of", known.shrink_of),
            edge_work=table.text("edge_work", known.edge_work),
            process=table.text("process", known.process),
            make=table.text("make", known.make),
            mould=table.text("mould", known.mould),
            source=table.text("source", stated if known.density_g_cm3 else "stated in the brief"),
        ),
        table,
    )


def _unstated(table: Table) -> tuple[str, ...]:
    """Return a sentence for each new material whose stretch is not stated, which other checks take it by."""
    new = [name for name in table.values if name not in MATERIALS and "max_strain" not in table.inner(name).values]
    return tuple(f"[materials.{name}] states no max_strain: it was taken as rigid, and its stretch is not judged."
                 for name in new)  # fmt: skip


def admitted_material(material: Material, table: Table) -> Material:
    """Return the material itself when its figures can be; ``table`` names the place in complaints.

    Raises
    ------
    BadValue
        Naming the first figure that cannot be.
    """
    if material.density_g_cm3 <= 0.0 and "density_g_cm3" in table.values:
        raise table.bad("density_g_cm3", "over zero")
    if not 0.0 <= material.shrink_percent < 50.0:
        raise table.bad("shrink_percent", "from 0 up to 50")
    if not 0.0 <= material.shrink_least_percent <= material.shrink_most_percent < 50.0:
        raise table.bad("shrink_most_percent", "from shrink_least_percent up to 50")
    if material.mould not in (RIGID_MOULD, FLEXIBLE_MOULD):
        raise table.bad("mould", f"'{RIGID_MOULD}' or '{FLEXIBLE_MOULD}'")
    if material.make not in MAKES:
        raise table.bad("make", ", ".join(repr(make) for make in MAKES))
    if material.shrink_of not in (OF_MOULD, OF_PIECE):
        raise table.bad("shrink_of", f"'{OF_MOULD}' or '{OF_PIECE}'")
    if material.edge_work not in (MELTS, COVERED):
        raise table.bad("edge_work", f"'{MELTS}' or '{COVERED}'")
    for entry in fields(Material):
        value = getattr(material, entry.name)
        if isinstance(value, float) and value < 0.0:
            raise table.bad(entry.name, "zero or more")
    return material


def _views(table: Table) -> Views:
    table.only(tuple(entry.name for entry in fields(Views)))
    plain = Views()
    if table.number("distance_mm", plain.distance_mm) <= 0.0:
        raise table.bad("distance_mm", "over zero")
    return Views(
        angles_deg=table.numbers("angles_deg") if "angles_deg" in table.values else plain.angles_deg,
        cameras=table.texts("cameras") if "cameras" in table.values else plain.cameras,
        distance_mm=table.number("distance_mm", plain.distance_mm),
    )


SEXES = ("", "woman", "man")
"""Norms are published apart for women and men; what is not stated is held against those who show more."""


def _performer(table: Table) -> Performer:
    table.only(tuple(entry.name for entry in fields(Performer)))
    sex = table.text("sex")
    if sex not in SEXES:
        raise table.bad("sex", " or ".join(repr(each) for each in SEXES if each))
    if "age_years" not in table.values:
        return Performer(sex=sex)
    age_years = table.number("age_years", 0.0)
    if not 0.0 < age_years < 120.0:
        raise table.bad("age_years", "over 0 and below 120")
    return Performer(age_years, sex)


def _wear(table: Table) -> WearBrief:
    table.only(("hours",))
    if "hours" not in table.values:
        return WearBrief()
    hours = table.number("hours", 0.0)
    if not 0.0 < hours <= 24.0:
        raise table.bad("hours", "over 0 and up to 24")
    return WearBrief(hours)


def _show(table: Table) -> ShowBrief:
    names = tuple(entry.name for entry in fields(ShowBrief))
    table.only(names)
    return ShowBrief(**{name: table.text(name) for name in names})


def _teeth(table: Table) -> TeethBrief:
    table.only(("own", "shown"))
    shown = table.values.get("shown", ())
    named = (shown,) if isinstance(shown, str) and shown else table.texts("shown") if "shown" in table.values else ()
    return TeethBrief(table.texts("own") if "own" in table.values else None, named)


def _edges(table: Table) -> EdgesBrief:
    names = tuple(entry.name for entry in fields(EdgesBrief))
    table.only(names)
    return EdgesBrief(**{name: table.texts(name) for name in names if name in table.values})


def _room(table: Table) -> RoomBrief:
    table.only(("taken", "rims"))
    rims = table.inner("rims")
    lines = {name: _line(rims, name) for name in rims.values}
    return RoomBrief(table.texts("taken") if "taken" in table.values else (), lines)


def _line(table: Table, name: str) -> tuple[tuple[float, float, float], ...]:
    points = table.values[name]
    right = isinstance(points, list) and len(points) >= 2
    if not right or not all(isinstance(point, list) and len(point) == 3 for point in points):
        raise table.bad(name, "a list of two or more points of three numbers, mm")
    if not all(is_number(number) and abs(number) <= FARTHEST_MM for point in points for number in point):
        raise table.bad(name, f"points of numbers within {FARTHEST_MM:g} mm of the origin")
    return tuple((float(x), float(y), float(z)) for x, y, z in points)


def _exceptions(root: Table) -> tuple[WrittenException, ...]:
    entries = root.values.get("exceptions", [])
    if not isinstance(entries, list) or not all(isinstance(entry, dict) for entry in entries):
        raise root.bad("exceptions", "a list of tables, [[exceptions]]")
    return tuple(_exception(Table("exceptions", entry, root.source)) for entry in entries)


def _exception(table: Table) -> WrittenException:
    names = tuple(entry.name for entry in fields(WrittenException))
    table.only(names)
    exception = WrittenException(*(table.text(name) for name in names))
    for name in ("check", "reason"):
        if not getattr(exception, name).strip():
            raise table.bad(name, "given: an exception needs its check and a reason in writing")
    return exception
