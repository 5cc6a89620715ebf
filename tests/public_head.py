"""The stored CC0 head: its rest shape, its open shape, and its parts. +X left, +Y up, +Z front, mm."""

from functools import cache

import numpy as np

from dryfit.demo_door import PLACES, demo_module
from dryfit.model.snapshot import Part, Snapshot

DEMO = next(place for place in PLACES if (place / "__init__.py").is_file())
UPPER_MARGIN, LOWER_MARGIN = 520, 523
"""Vertices of the lips' inner margins at the midline."""


@cache
def public_head():
    stored = np.load(DEMO / "data" / "makehuman_head_cc0.npz")
    vertices = stored["V_mm"].astype(float)
    place = [str(name) for name in stored["morph_names"]].index("jawOpen")
    rows = slice(stored["morph_start"][place], stored["morph_start"][place + 1])
    opened = vertices.copy()
    opened[stored["morph_idx"][rows]] += stored["morph_delta"][rows] * float(stored["morph_unit_mm"])
    names = [str(name) for name in stored["part_names"]]
    quads = {name: stored["F"][stored["face_part"] == number].astype(int) for number, name in enumerate(names)}
    return vertices, opened, quads


def part_of(name):
    vertices, opened, quads = public_head()
    faces = np.concatenate([quads[name][:, :3], quads[name][quads[name][:, 3] >= 0][:, [0, 2, 3]]])
    used, compact = np.unique(faces, return_inverse=True)
    return vertices[used], opened[used], compact.reshape(-1, 3)


def open_landmarks():
    """Where a user could place the landmarks on the open shape: on the demo's own vertices, both sides alike."""
    _, opened, _ = public_head()
    performer = demo_module("performer")
    marks = {name: opened[vertex] for name, vertex in performer.MIDLINE_MARKS.items()}
    for name, vertex in performer.PAIRED_MARKS.items():
        marks |= {f"{name}_left": opened[vertex], f"{name}_right": opened[vertex] * [-1, 1, 1]}
    return marks


@cache
def sculpted_open():
    """The open shape as somebody would sculpt it: skin and both rows of teeth, nothing that moves."""
    rows = [(f"teeth_{which}", f"{which}_teeth") for which in ("upper", "lower")]
    parts = [Part(name, role, *part_of(name)[1:]) for name, role in (("skin", "base"), *rows)]
    return Snapshot("sculpted open", parts=tuple(parts), landmarks=open_landmarks())
