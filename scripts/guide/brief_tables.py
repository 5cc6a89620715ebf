"""The tables of a brief as the reader lets them in: each key with what may stand there, its default and its words."""

import inspect
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import MISSING, Field, dataclass, fields
from typing import Any

from markdown_text import definitions, plain, table

from dryfit.model.brief import (
    BaseBrief,
    EdgesBrief,
    ExcursionBrief,
    HingeBrief,
    MotionBrief,
    Performer,
    RoomBrief,
    ShowBrief,
    TeethBrief,
    UnitsBrief,
    Views,
    WearBrief,
)
from dryfit.model.brief_reading import parse_brief
from dryfit.model.errors import BadValue, DryfitError
from dryfit.model.exceptions import WrittenException
from dryfit.model.materials import MATERIALS, Material
from dryfit.model.snapshot import LANDMARKS, Role
from dryfit.sitting.words.landmark_words import landmark_place, landmark_word

UNITS = {
    "_deg_per_mm": "degrees a mm", "_g_cm3": "g/cm³", "_percent": "%", "_years": "years", "hours": "hours",
    "_kpa": "kPa", "_deg": "degrees", "_mm": "mm",
}  # fmt: skip
"""How a key's name ends -> the unit it carries."""
PROBES = ("true", "-1e30", "1e30", '"?"', "[]")
"""Values that the reader answers with what it wants instead."""
ROLES: Mapping[Role, str] = {
    Role.BASE: "the performer's head scan; exactly one",
    Role.APPLIANCE: "a soft piece that is glued on and moves with the face",
    Role.UPPER_TEETH: "upper teeth, the performer's own or a denture; they stay with the skull",
    Role.LOWER_TEETH: "lower teeth; they go with the jaw",
    Role.HARDWARE: "whatever is rigid: cast, printed, a lens",
    Role.EYE_LEFT: "the left eyeball; left is the performer's left",
    Role.EYE_RIGHT: "the right eyeball",
    Role.IGNORE: "not part of the design: lights' helpers, cutters, a backdrop",
}
MATERIAL_HEADS = (
    ("density_g_cm3", "g/cm³"), ("shrink_percent", "shrinks, %"), ("max_strain", "breaks at"),
    ("min_edge_mm", "least edge, mm"), ("min_wall_mm", "least wall, mm"), ("stiffness_kpa", "kPa"),
)  # fmt: skip


@dataclass(frozen=True)
class BriefTable:
    """One table: where it stands, the values it is read into, and what must stand beside a key for it to be read."""

    where: str
    values: type
    needs: str = ""

    def entries(self) -> Iterator[Field[Any]]:
        """Yield the fields that are its keys."""
        yield from fields(self.values)


TABLES = {
    "base": BriefTable("base", BaseBrief),
    "units": BriefTable("units", UnitsBrief),
    "motions": BriefTable("motions.NAME", MotionBrief),
    "hinge": BriefTable("motions.jaw.hinge", HingeBrief),
    "excursion": BriefTable("motions.protrusion.excursion", ExcursionBrief),
    "materials": BriefTable("materials.NAME", Material, "density_g_cm3 = 1.0\nmax_strain = 1.0\n"),
    "views": BriefTable("views", Views),
    "performer": BriefTable("performer", Performer),
    "teeth": BriefTable("teeth", TeethBrief),
    "wear": BriefTable("wear", WearBrief),
    "edges": BriefTable("edges", EdgesBrief),
    "exceptions": BriefTable("exceptions", WrittenException),
    "show": BriefTable("show", ShowBrief),
    "room": BriefTable("room", RoomBrief),
}


def described(values: type) -> dict[str, str]:
    """Return what a class says of its attributes: name -> a sentence."""
    _, _, text = inspect.cleandoc(values.__doc__ or "").partition("Attributes\n----------\n")
    entries = re.findall(r"^(\S.*)\n((?:    .*\n?|\n(?=    ))+)", text + "\n", re.M)
    return {name.strip(): " ".join(words.split()) for names, words in entries for name in names.split(",")}


def wanted(asked: BriefTable, key: str) -> list[str]:
    """Return what the reader says a key must be, for values of every kind that it does not let in."""
    said = dict.fromkeys(filter(None, (_complaint(asked, key, probe) for probe in PROBES)))
    return list(said)


def _complaint(asked: BriefTable, key: str, probe: str) -> str:
    needs = "".join(f"{line}\n" for line in asked.needs.splitlines() if not line.startswith(f"{key} "))
    head = f"[[{asked.where}]]" if asked.values is WrittenException else f"[{asked.where}]"
    try:
        parse_brief(f"{head}\n{needs}{key} = {probe}\n")
    except BadValue as error:
        found = re.search(rf"\] {key} must be (.+?); it is ", str(error))
        return found[1] if found else ""
    except DryfitError:
        return ""
    return ""


def _table(name: str) -> Callable[[], str]:
    return lambda: _entries(TABLES[name])


def _entries(asked: BriefTable) -> str:
    says = described(asked.values)
    return definitions((f"`{entry.name}`", _words(asked, entry, says[entry.name])) for entry in asked.entries())


def _words(asked: BriefTable, entry: Field[Any], says: str) -> str:
    kinds = wanted(asked, entry.name)
    unit = next((unit for end, unit in UNITS.items() if entry.name.endswith(end)), "")
    allowed = "; ".join([kinds[0] + (f" of {unit}" if unit else ""), *kinds[1:]]) if kinds else "a table"
    return f"{plain(says)}\n  *{plain(allowed)}*; {_default(entry)}."


def _default(entry: Field[Any]) -> str:
    if entry.default is MISSING or (entry.default in ("", None, (), 0.0) and "_mm" not in entry.name):
        return "by default not stated" if entry.default is not MISSING else "no default"
    if isinstance(entry.default, float):
        return f"by default {entry.default:g}"
    return f"by default `{list(entry.default) if isinstance(entry.default, tuple) else str(entry.default)}`"


def _roles() -> str:
    return definitions((f"`{role}`", ROLES[role] + ".\n  *a list of strings*; by default none.") for role in Role)


def _landmarks() -> str:
    return table(
        ("key", "what", "where"), ([f"`{name}`", landmark_word(name), landmark_place(name)] for name in LANDMARKS)
    )


def _materials() -> str:
    heads = ("material", *(words for _, words in MATERIAL_HEADS), "mould, make")
    return table(heads, (_material(name, material) for name, material in MATERIALS.items()))


def _material(name: str, material: Material) -> Iterator[str]:
    yield f"`{name}`"
    for figure, _ in MATERIAL_HEADS:
        yield f"{getattr(material, figure):g}"
    yield f"{material.mould}, {material.make}"


PASSAGES: Mapping[str, Callable[[], str]] = {
    **{f"brief-{name}": _table(name) for name in TABLES},
    "roles": _roles,
    "landmark-names": _landmarks,
    "materials": _materials,
}
