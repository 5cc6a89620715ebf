"""A mouth made of two cylinders, and things to put in it, all with closed formulas. +X left, +Y up, +Z front, mm."""

import numpy as np

from dryfit.model.brief import Brief, HingeBrief, MotionBrief
from dryfit.model.kept_answers import SHARED_MB, KeptAnswers
from dryfit.model.snapshot import Part, Snapshot
from dryfit.performer.fitting import Fitting
from dryfit.performer.indexed_bases import IndexedBases

RADIUS = 6.0
FRONT = 100.0
HALF_WIDTH = 20.0
NO_SLIDE = 1e12
KNOWN = IndexedBases(KeptAnswers(SHARED_MB))
"""Many things are put in one mouth: what is known of its lips serves the next, as in a batch."""


def tube(middle, half_length, radius, around=720, rings=10):
    """A closed cylinder along X, in rings."""
    angle = np.arange(around) * 2 * np.pi / around
    ring = np.stack([0 * angle, radius * np.cos(angle), radius * np.sin(angle)], axis=1)
    places = np.linspace(-half_length, half_length, rings)
    ends = np.array([[-half_length, 0, 0], [half_length, 0, 0]])
    vertices = np.concatenate([*(ring + [x, 0, 0] for x in places), ends]) + middle
    a = np.arange(around)
    b = (a + 1) % around
    faces = [
        [b, a, 0 * a + rings * around],
        [a + (rings - 1) * around, b + (rings - 1) * around, 0 * a + rings * around + 1],
    ]
    for start in range(0, (rings - 1) * around, around):
        c, d = a + start, b + start
        faces += [[d, c, c + around], [d, c + around, d + around]]
    return vertices, np.concatenate([np.stack(face, axis=1) for face in faces])


def joined(*meshes):
    starts = np.cumsum([0, *(len(vertices) for vertices, _ in meshes[:-1])])
    faces = np.concatenate([faces + start for (_, faces), start in zip(meshes, starts, strict=True)])
    return np.concatenate([vertices for vertices, _ in meshes]), faces


def box(low, high):
    """A closed box facing outward."""
    corners = np.array([[x, y, z] for x in (0, 1) for y in (0, 1) for z in (0, 1)])
    quads = np.array([[0, 1, 3, 2], [4, 6, 7, 5], [0, 4, 5, 1], [2, 3, 7, 6], [0, 2, 6, 4], [1, 5, 7, 3]])
    faces = np.concatenate([quads[:, [0, 1, 2]], quads[:, [0, 2, 3]]])
    return np.asarray(low) + corners * (np.asarray(high) - np.asarray(low)), faces


def peg(foot, tip, width=2.0, rings=8):
    """A four-sided spike with its square foot round ``foot`` and one vertex at ``tip``, in rings."""
    foot, tip = np.asarray(foot, float), np.asarray(tip, float)
    square = 0.5 * width * np.array([[1, 0, 1], [1, 0, -1], [-1, 0, -1], [-1, 0, 1]])
    share = np.arange(rings)[:, None, None] / rings
    vertices = ((1 - share) * (foot + square) + share * tip).reshape(-1, 3)
    vertices = np.concatenate([vertices, [tip, foot]])
    faces = []
    for ring in range(rings - 1):
        for side in range(4):
            a, b = 4 * ring + side, 4 * ring + (side + 1) % 4
            faces += [[a, b, b + 4], [a, b + 4, a + 4]]
    last = 4 * (rings - 1)
    for side in range(4):
        faces += [[last + side, last + (side + 1) % 4, 4 * rings], [(side + 1) % 4, side, 4 * rings + 1]]
    return vertices, np.array(faces)


def landmarks():
    marks = {
        "sellion": (0, 60, FRONT), "gnathion": (0, -45, FRONT),
        "stomion_superius": (0, 0, FRONT), "stomion_inferius": (0, 0, FRONT),
        "subnasale": (0, 22, FRONT), "labiale_superius": (0, RADIUS, FRONT + RADIUS),
        "labiale_inferius": (0, -RADIUS, FRONT + RADIUS),
    }  # fmt: skip
    for side, sign in (("left", 1), ("right", -1)):
        marks[f"tragion_{side}"] = (sign * 70, 35, 10)
        marks[f"exocanthion_{side}"] = (sign * 45, 55, 80)
        marks[f"cheilion_{side}"] = (sign * HALF_WIDTH, 0, FRONT)
        marks[f"alare_{side}"] = (sign * 16, 28, FRONT)
    return {name: np.array(place, float) for name, place in marks.items()}


def lips(gap_mm=0.1, half_length=45.0):
    """An upper and a lower cylinder, their facing lines ``gap_mm`` apart at x = 0, y = 0."""
    height = RADIUS + gap_mm / 2
    return joined(tube((0, height, FRONT), half_length, RADIUS), tube((0, -height, FRONT), half_length, RADIUS))


def mouth(*parts, gap_mm=0.1, name="mouth"):
    """Cylinder lips as the base, with more parts in the mouth."""
    return Snapshot(name, parts=(Part("Head", "base", *lips(gap_mm)), *parts), landmarks=landmarks())


def known_mouth(snapshot, brief):
    """A design on the mouth, of which is known what was worked out before."""
    return Fitting(snapshot, brief, KNOWN)


def hinge(open_deg=25.0, slide_deg_per_mm=NO_SLIDE, **more):
    return Brief(motions={"jaw": MotionBrief(hinge=HingeBrief(open_deg, slide_deg_per_mm, **more))})


def axis_yz():
    """Where the axis of ``landmarks()`` passes the midline: 12 mm from tragion toward the eye corner."""
    marks = landmarks()
    way = marks["exocanthion_left"] - marks["tragion_left"]
    return (marks["tragion_left"] + 12.0 * way / np.linalg.norm(way))[1:]


def turned_yz(point_yz, angle_deg):
    """A point of the lower jaw after opening by an angle about ``axis_yz()``."""
    angle = np.radians(angle_deg)
    y, z = np.asarray(point_yz) - axis_yz()
    return axis_yz() + [y * np.cos(angle) - z * np.sin(angle), y * np.sin(angle) + z * np.cos(angle)]
