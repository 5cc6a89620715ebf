"""A brief with what a file states itself: figures over it, motions under it, each checked as a brief's are."""

from collections.abc import Iterator, Mapping
from dataclasses import fields, replace

from .brief import Brief
from .brief_reading import Table, admitted_material, motions_from, read_limits, retired_words
from .materials import Material
from .own_figures import OwnFigures
from .snapshot import OWNABLE, Snapshot

FIGURES = tuple(entry.name for entry in fields(Material) if entry.type in (float, "float"))
"""The figures of a material that a file may state: every number it has."""


def adopt(brief: Brief, own: OwnFigures, source: str = "the file's own figures") -> Brief:
    """Return the brief with a file's own figures in place of its own, and the file's motions where it has none.

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
    return replace(
        brief,
        limits=read_limits(Table("limits", dict(own.limits), source), brief.limits),
        materials={**brief.materials, **_materials(brief, own, source)},
        motions={**motions_from(dict(own.motions), source), **brief.motions},
        notes=(*brief.notes, *retired_words(own.limits, "The file")),
    )


def settled(brief: Brief, snapshot: Snapshot, explicit: bool = False) -> tuple[Brief, Snapshot]:
    """Return the brief to measure by, and the snapshot with notes on what its file states itself.

    Parameters
    ----------
    brief, snapshot
        What was read.
    explicit
        Whether the user named the brief: then its figures stand as they are, and the file's own do not count. The
        file's motions do, where the brief has none of that name.

    Raises
    ------
    UnknownKey, BadValue
        Naming the first figure that means nothing.
    """
    figures = replace(snapshot.own, motions={})
    unstated = {name: table for name, table in snapshot.own.motions.items() if name not in brief.motions}
    motions = OwnFigures(motions=unstated)
    notes = tuple(_notes(figures, motions, explicit))
    if not notes:
        return brief, snapshot
    used = motions if explicit else replace(figures, motions=unstated)
    adopted = adopt(brief, used, snapshot.source or snapshot.name)
    return adopted, replace(snapshot, notes=(*snapshot.notes, *notes))


def with_own_teeth(snapshot: Snapshot, brief: Brief) -> Snapshot:
    """Return the snapshot with the teeth and eyes marked as the performer's own that the brief says are."""
    parts = tuple(
        replace(part, own=part.own or (part.role in OWNABLE and brief.teeth.says_own(part.name)))
        for part in snapshot.parts
    )
    return replace(snapshot, parts=parts) if brief.teeth.own else snapshot


def _notes(figures: OwnFigures, motions: OwnFigures, explicit: bool) -> Iterator[str]:
    """Tell what of a file's own counts, and what does not."""
    if motions:
        yield f"Motions stated in the file itself are used: {motions.words()}."
    if figures and explicit:
        yield f"The file states its own figures; the brief that was named goes over them, not used: {figures.words()}."
    elif figures:
        yield f"Figures changed in the file itself are used: {figures.words()}."


def _materials(brief: Brief, own: OwnFigures, source: str) -> Mapping[str, Material]:
    stated = {name: dict(figures) for name, figures in own.materials.items()}
    root = Table("materials", stated, source).only(tuple(brief.materials))
    return {name: _changed(brief.materials[name], root.inner(name).only(FIGURES)) for name in stated}


def _changed(material: Material, table: Table) -> Material:
    values = {name: table.number(name, 0.0) for name in table.values}
    if "shrink_percent" in values:
        material = replace(material, shrink_least_percent=0.0, shrink_most_percent=0.0)
    source = f"changed in the file: {', '.join(values)}; the rest: {material.source}"
    return admitted_material(replace(material, **values, source=source), table)  # type: ignore[arg-type]
