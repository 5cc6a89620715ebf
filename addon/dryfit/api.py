"""The Python door: load, check, save. Importable without Blender."""

import hashlib
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from .checks.landmark_proposal import Proposal
from .checks.landmark_proposal import propose_landmarks as propose
from .checks.runner import run_checks
from .model.admission import admit_part, admit_size
from .model.adopting import settled
from .model.brief import Brief
from .model.brief_reading import read_brief
from .model.errors import MissingRole, TooManyBases, UnreadableFile
from .model.progress import drain
from .model.report import Report
from .model.snapshot import Role, Snapshot
from .model.snapshot_file import load_saved_snapshot, save_snapshot

__all__ = ["brief_for", "check", "load_base", "load_brief", "load_snapshot", "propose_landmarks", "save_snapshot"]

BRIEF_NAME = "brief.toml"
BLENDER_READS = (".blend", ".obj", ".ply", ".stl", ".glb", ".gltf", ".fbx", ".usd", ".usda", ".usdc", ".usdz")
READS = (".npz", *BLENDER_READS)
"""Endings of the files that can be read."""


def load_brief(path: str | Path) -> Brief:
    """Read a brief; see ``dryfit.model.brief_reading.read_brief`` for what it raises."""
    return read_brief(path)


def brief_for(path: str | Path, given: str | Path | None = None) -> Brief:
    """Return the brief for a file: the one given, else ``brief.toml`` beside the file, else the defaults.

    Raises
    ------
    InputError
        When the brief cannot be read.
    """
    chosen = brief_path_for(path, given)
    return read_brief(chosen) if chosen else Brief()


def brief_path_for(path: str | Path, given: str | Path | None = None) -> Path | None:
    """Return the path of the brief for a file: the one given, else ``brief.toml`` beside the file, else None."""
    beside = Path(path).parent / BRIEF_NAME
    return Path(given) if given else (beside if beside.is_file() else None)


def load_snapshot(path: str | Path, brief: Brief | str | Path | None = None) -> Snapshot:
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
    source = Path(path)
    if not source.is_file():
        raise UnreadableFile(str(path), "there is no such file")
    brief = brief if isinstance(brief, Brief) else brief_for(source, brief)
    suffix = source.suffix.lower()
    if suffix == ".npz":
        snapshot = load_saved_snapshot(source)
    elif suffix in BLENDER_READS:
        from .scene.reading import read_file

        snapshot = read_file(source, brief)
    else:
        known = ", ".join(READS)
        raise UnreadableFile(str(path), f"'{suffix}' is not a kind of file Dryfit reads ({known})")
    landmarks = brief.over_landmarks(snapshot.landmarks)
    return replace(snapshot, source=str(path), sha256=_sha256(source), landmarks=landmarks)


def load_base(path: str | Path, brief: Brief | str | Path | None = None) -> Snapshot:
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
    source = Path(path)
    if not source.is_file():
        raise UnreadableFile(str(path), "there is no such file")
    brief = brief if isinstance(brief, Brief) else brief_for(source, brief)
    snapshot = _only_base(_saved_or_scene(source, brief), source)
    landmarks = brief.over_landmarks(snapshot.landmarks)
    admit_part(snapshot.base)
    admit_size(snapshot.base)
    return replace(snapshot, source=str(path), landmarks=landmarks)


def _saved_or_scene(source: Path, brief: Brief) -> Snapshot:
    if source.suffix.lower() == ".npz":
        return load_saved_snapshot(source)
    if source.suffix.lower() not in BLENDER_READS:
        raise UnreadableFile(str(source), f"no kind of file Dryfit reads ({', '.join(READS)})")
    from .scene.reading import read_performer

    return read_performer(source, brief)


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


def propose_landmarks(snapshot: Snapshot) -> Proposal:
    """Propose every landmark on a snapshot's base, each with the error to reckon with; nothing is confirmed by it.

    Parameters
    ----------
    snapshot
        What ``load_base`` or ``load_snapshot`` returned.

    Raises
    ------
    NoFaceFound
        When no face is found on the base.
    """
    return drain(propose(snapshot))


def check(snapshot: Snapshot, brief: Brief | str | Path | None = None, only: Sequence[str] | None = None) -> Report:
    """Measure a snapshot and return the report.

    Parameters
    ----------
    snapshot
        What ``load_snapshot`` returned, or one made from arrays.
    brief
        A brief, its path, or None for the figures that the design's own file states, else the defaults.
    only
        Ids of the checks to run; None means all.

    Raises
    ------
    InputError
        When the snapshot cannot be measured at all.
    UnknownCheck
        When ``only`` names no check.
    """
    stated = brief if isinstance(brief, Brief) else read_brief(brief) if brief else Brief()
    chosen, noted = settled(stated, snapshot, explicit=brief is not None)
    return drain(run_checks(noted, chosen, only))


def _sha256(path: Path) -> str:
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()
