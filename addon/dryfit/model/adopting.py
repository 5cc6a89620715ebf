"""A brief with a file's own figures over it, each checked as a brief's are."""

from collections.abc import Mapping
from dataclasses import fields, replace

from .brief import Brief
from .brief_reading import Table, admitted_material, read_limits
from .materials import Material
from .own_figures import OwnFigures
from .snapshot import Snapshot

FIGURES = tuple(entry.name for entry in fields(Material) if entry.type in (float, "float"))
"""The figures of a material that a file may state: every number it has."""


def adopt(brief: Brief, own: OwnFigures, source: str = "the file's own figures") -> Brief:
    """Return the brief with a file's own figures in place of its own.

    Parameters
    ----------
    brief
        What stands where the file states nothing.
    own
        The file's figures.
    source
        Names the file in complaints.

    Raises
    ------
    UnknownKey, BadValue
        Naming the first figure that means nothing.
    """
    if not own:
        return brief
    limits = read_limits(Table("limits", dict(own.limits), source), brief.limits)
    return replace(brief, limits=limits, materials={**brief.materials, **_materials(brief, own, source)})


def settled(brief: Brief, snapshot: Snapshot, explicit: bool = False) -> tuple[Brief, Snapshot]:
    """Return the brief to measure by, and the snapshot with a note on figures that its file states itself.

    Parameters
    ----------
    brief, snapshot
        What was read.
    explicit
        Whether the user named the brief: then it stands as it is, and the file's own figures do not count.

    Raises
    ------
    UnknownKey, BadValue
        Naming the first figure that means nothing.
    """
    own = snapshot.own
    if not own:
        return brief, snapshot
    if explicit:
        note = f"The file states its own figures; the brief that was named goes over them, not used: {own.words()}."
        return brief, replace(snapshot, notes=(*snapshot.notes, note))
    note = f"Figures changed in the file itself are used: {own.words()}."
    adopted = adopt(brief, own, snapshot.source or snapshot.name)
    return adopted, replace(snapshot, notes=(*snapshot.notes, note))


def _materials(brief: Brief, own: OwnFigures, source: str) -> Mapping[str, Material]:
    stated = {name: dict(figures) for name, figures in own.materials.items()}
    root = Table("materials", stated, source).only(tuple(brief.materials))
    return {name: _changed(brief.materials[name], root.inner(name).only(FIGURES)) for name in stated}


def _changed(material: Material, table: Table) -> Material:
    values = {name: table.number(name, 0.0) for name in table.values}
    source = f"changed in the file: {', '.join(values)}; the rest: {material.source}"
    return admitted_material(replace(material, **values, source=source), table)  # type: ignore[arg-type]
