"""Designs from files: which brief goes with a file, and what stands in the file, ready to be measured.

Importable without Blender, which is asked only for files that it alone can read.
"""

from dataclasses import replace
from pathlib import Path

from .model.admission import admit_part, admit_size
from .model.brief import Brief
from .model.brief_file import brief_for
from .model.errors import InputError, MissingRole, TooManyBases, UnreadableFile
from .model.file_content import held_still
from .model.size_limit import require_light
from .model.snapshot import Role, Snapshot
from .model.snapshot_file import load_saved_snapshot
from .performer.indexed_bases import IndexedBases
from .performer.tried_on import Design, design_of

SAVED = ".npz"
BLENDER_READS = (".blend", ".obj", ".ply", ".stl", ".glb", ".gltf", ".fbx", ".usd", ".usda", ".usdc", ".usdz")
READS = (SAVED, *BLENDER_READS)
"""Endings of the files that can be read."""

Stated = Brief | str | Path | None
"""A brief, its path, or None for the ``brief.toml`` beside the file, if there is one."""


def load_design(
    path: str | Path,
    brief: Stated = None,
    *,
    explicit: bool | None = None,
    bases: IndexedBases | None = None,
    most_triangles: int = 0,
) -> Design:
    """Read a design from a file, ready to be measured.

    Parameters
    ----------
    path
        As for ``load_snapshot``.
    brief
        A brief, its path, or None for the ``brief.toml`` beside the file, if there is one.
    explicit
        Whether the brief goes over figures that the file states itself; None: it does where one was passed.
    bases
        Bases that were indexed for other designs; None where there are no others.
    most_triangles
        A heavier design is refused; 0 means any number.

    Raises
    ------
    InputError
        When the file or its brief cannot be used; the message says what, where and what to do.
    """
    stated = _brief_of(path, brief)
    snapshot = load_snapshot(path, stated)
    require_light(snapshot, most_triangles)
    return design_of(snapshot, stated, explicit=brief is not None if explicit is None else explicit, bases=bases)


def load_snapshot(path: str | Path, brief: Stated = None) -> Snapshot:
    """Read a design from a file.

    Parameters
    ----------
    path
        ``.npz`` (needs numpy only), ``.blend`` or a mesh file (both need the ``bpy`` module).
    brief
        A brief, its path, or None for the ``brief.toml`` beside the file, if there is one.

    Raises
    ------
    InputError
        When the file cannot be used; the message says what, where and what to do.
    """
    source = _require_file(path)
    stated = _brief_of(source, brief)
    with held_still(source) as digest:
        snapshot = _with_base(source, stated)
    return replace(stated.with_landmarks(snapshot), source=str(path), sha256=digest)


def load_head(path: str | Path, brief: Stated = None) -> Snapshot:
    """Read a head from a file: a design with all that is worn, or the performer alone.

    Parameters
    ----------
    path
        A design, or a head scan by itself.
    brief
        A brief, its path, or None for the ``brief.toml`` beside the file, if there is one.

    Raises
    ------
    InputError
        When the file is neither; the message says why it is no design.
    """
    try:
        return load_snapshot(path, brief)
    except InputError as no_design:
        try:
            return load_base(path, brief)
        except InputError:
            raise no_design from None


def load_base(path: str | Path, brief: Stated = None) -> Snapshot:
    """Read the performer alone from a file: the base with eyes and teeth, and the landmarks it already has.

    Parameters
    ----------
    path
        A head scan by itself, or a design that holds its base.
    brief
        A brief, its path, or None for the ``brief.toml`` beside the file, if there is one.

    Raises
    ------
    InputError
        When the file cannot be used or holds no base.
    """
    source = _require_file(path)
    stated = _brief_of(source, brief)
    snapshot = _only_base(_performer(source, stated), source)
    admit_part(snapshot.base)
    admit_size(snapshot.base)
    return replace(stated.with_landmarks(snapshot), source=str(path))


def _require_file(path: str | Path) -> Path:
    source = Path(path)
    if source.is_dir():
        raise UnreadableFile(str(path), "it is a folder; all its designs are checked with: dryfit batch FOLDER")
    if not source.is_file():
        raise UnreadableFile(str(path), "there is no such file")
    return source


def _brief_of(path: str | Path, brief: Stated) -> Brief:
    return brief if isinstance(brief, Brief) else brief_for(path, brief)


def _with_base(source: Path, brief: Brief) -> Snapshot:
    """Return what a file holds, on the brief's base where it brings none."""
    if _is_saved(source):
        saved = load_saved_snapshot(source)
        if saved.with_role(Role.BASE) or not brief.base.file:
            return saved
        from .scene.reading import on_base

        return on_base(saved, source, brief)
    from .scene.reading import read_file

    return read_file(source, brief)


def _performer(source: Path, brief: Brief) -> Snapshot:
    if _is_saved(source):
        return load_saved_snapshot(source)
    from .scene.reading import read_performer

    return read_performer(source, brief)


def _is_saved(source: Path) -> bool:
    """Tell whether a file is a saved snapshot, not one for Blender to read.

    Raises
    ------
    UnreadableFile
        When it is neither.
    """
    suffix = source.suffix.lower()
    if suffix not in READS:
        raise UnreadableFile(str(source), f"'{suffix}' is not a kind of file Dryfit reads ({', '.join(READS)})")
    return suffix == SAVED


def _only_base(snapshot: Snapshot, source: Path) -> Snapshot:
    """Return the snapshot with one base: the one marked so, else its only part."""
    if not snapshot.with_role(Role.BASE) and len(snapshot.parts) == 1:
        return replace(snapshot, parts=(replace(snapshot.parts[0], role=Role.BASE),))
    bases = [part.name for part in snapshot.with_role(Role.BASE)]
    if not bases:
        raise MissingRole("base", str(source))
    if len(bases) > 1:
        raise TooManyBases(bases, str(source))
    return snapshot
