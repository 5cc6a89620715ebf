"""Build the demonstration: six designs, the performer, the brief and what the checks must find."""

import json
import os
from collections.abc import Iterator
from pathlib import Path

from ..model.errors import DryfitError, UnwritableOutput
from ..model.progress import Job, Progress
from ..model.snapshot_file import save_snapshot
from .expectations import expected_figures
from .performer import performer
from .wardens import DESIGNS, bare_parts

HERE = Path(__file__).parent
PERFORMER = "performer"


class BlenderModuleMissing(DryfitError):
    """Writing .blend files needs Blender's Python module."""

    def __init__(self) -> None:
        super().__init__(
            "Building the demo writes .blend files and needs Blender's Python module. "
            "With Python 3.11: pip install 'bpy==4.2.*' numpy==1.26.4. With 3.13: pip install 'bpy==5.2.*'. "
            "Without it, --snapshots writes the six designs as .npz."
        )


class NoSuchDesign(DryfitError):
    """A design was asked for that the demo has not."""

    def __init__(self, name: str) -> None:
        super().__init__(f"The demo has no design '{name}'. Designs: {', '.join((*DESIGNS, PERFORMER))}.")


def build_demo(out_dir: str | Path, only: str | None = None, snapshots: bool = False) -> Job[tuple[Path, ...]]:
    """Write the demonstration into a folder; what is there already is replaced, file by file.

    Parameters
    ----------
    out_dir
        The folder; it is made when missing.
    only
        Name of one design to write alone, ``performer`` for the bare head; None writes everything.
    snapshots
        True writes designs as ``.npz``, without Blender; each holds its performer.

    Yields
    ------
    Progress
        Which file is being made.

    Returns
    -------
    tuple of Path
        The files written.

    Raises
    ------
    BlenderModuleMissing
        When ``bpy`` cannot be imported.
    NoSuchDesign
        When ``only`` names no design.
    UnwritableOutput
        When the folder cannot be written.
    """
    names = chosen_designs(only)
    names = tuple(name for name in names if name != PERFORMER) if snapshots else names
    folder = Path(out_dir)
    written: list[Path] = []
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for number, name in enumerate(names):
            yield Progress(number, len(names) + 1, f"sculpting {name}")
            written.append(write_snapshot(folder, name) if snapshots else write_one(folder, name))
        yield Progress(len(names), len(names) + 1, "writing the brief and the expected figures")
        written.extend(write_beside(folder))
    except (OSError, RuntimeError) as error:
        raise UnwritableOutput(str(folder), str(error)) from error
    yield Progress(len(names) + 1, len(names) + 1, "finished")
    return tuple(written)


def chosen_designs(only: str | None) -> tuple[str, ...]:
    """Return the names to build.

    Raises
    ------
    NoSuchDesign
        When ``only`` is none of them.
    """
    known = (PERFORMER, *DESIGNS)
    if only is not None and only not in known:
        raise NoSuchDesign(only)
    return (only,) if only else known


def write_one(folder: Path, name: str) -> Path:
    """Write one design's .blend file.

    Raises
    ------
    BlenderModuleMissing
        When ``bpy`` cannot be imported.
    """
    try:
        from .blend_file import write_design
    except ModuleNotFoundError as error:
        raise BlenderModuleMissing from error
    meshes = bare_parts(performer()) if name == PERFORMER else DESIGNS[name]()
    return write_design(folder / f"{name}.blend", performer(), meshes)


def write_snapshot(folder: Path, name: str) -> Path:
    """Write one design as a snapshot, which needs no Blender."""
    from .variant_snapshots import variant_snapshot

    return save_snapshot(variant_snapshot(name), folder / f"{name}.npz")


def write_beside(folder: Path) -> Iterator[Path]:
    """Write the brief, the expected figures and the head's licence notice."""
    figures = json.dumps(expected_figures(), indent=1, ensure_ascii=False) + "\n"
    yield write_text(folder / "expected.json", figures)
    yield write_text(folder / "brief.toml", (HERE / "brief.toml").read_text(encoding="utf-8"))
    notice = "makehuman_head_cc0.LICENSE.txt"
    yield write_text(folder / notice, (HERE / "data" / notice).read_text(encoding="utf-8"))


def write_text(path: Path, text: str) -> Path:
    """Write a text file beside its place, then rename it."""
    beside = path.with_name(f".{path.name}.{os.getpid()}.part")
    beside.write_text(text, encoding="utf-8")
    beside.replace(path)
    return path
