"""Two slabs of teeth between two round lips that a jaw key moves straight down: every figure in closed form."""

import numpy as np

from dryfit.model.snapshot import Motion, Part, Snapshot

from .pieces import block

DROP_MM = 30.0
LIP_RADIUS_MM = 5.0
LIP_Y_MM, LIP_Z_MM = -90.0, 11.0
LIP_HALF_MM = 40.0
SEAL_MM = 0.05
UPPER_LOW, UPPER_HIGH = (-15.0, -78.0, 8.0), (15.0, -74.0, 16.0)
LOWER_TOP_MM = 14.0
MEET_MM = LOWER_TOP_MM - UPPER_LOW[2]
"""How far the lower slab has to go down before the two are clear of each other: 6 mm, at t = 0.2."""


def slabs(narrower_mm=0.0, beside_mm=0.0, steps=1, name="slabs"):
    """Return the scene.

    Parameters
    ----------
    narrower_mm
        How much less the lower slab is wide than the upper one, half of it at either end; 0 leaves their walls flush.
    beside_mm
        How far the lower slab stands behind the place where it overlaps the whole depth of the upper one.
    steps
        Into how many parts each side of a slab is cut.
    """
    low = np.array([UPPER_LOW[0] + narrower_mm / 2.0, UPPER_LOW[1] + beside_mm, 2.0])
    high = np.array([UPPER_HIGH[0] - narrower_mm / 2.0, UPPER_HIGH[1] + beside_mm, LOWER_TOP_MM])
    upper, lower = block(UPPER_LOW, UPPER_HIGH, steps), block(low, high, steps)
    skin, sinks = _lips()
    down = np.array([0.0, 0.0, -DROP_MM])
    jaw = Motion(
        "jaw",
        np.array([0.0, 1.0]),
        {
            "Head": np.stack([skin[0], skin[0] + np.outer(sinks, down)]),
            "Lower": np.stack([lower[0], lower[0] + down]),
        },
    )
    parts = (Part("Head", "base", *skin), Part("Upper", "upper_teeth", *upper), Part("Lower", "lower_teeth", *lower))
    return Snapshot(name, parts=parts, landmarks=_marks(), motions={"jaw": jaw})


def opening_mm(t):
    """Return how far the lips are apart at ``t``, exactly."""
    return SEAL_MM + DROP_MM * t


def _lips():
    """Return two tubes across as one mesh, and which vertices ``(n,)`` sink."""
    around, rings = 48, 21
    angle = np.arange(around) * 2.0 * np.pi / around
    ring = np.stack([0.0 * angle, np.cos(angle), np.sin(angle)], axis=1) * LIP_RADIUS_MM
    places = np.linspace(-LIP_HALF_MM, LIP_HALF_MM, rings)
    vertices, faces, sinks = [], [], []
    for low, sign in enumerate((1.0, -1.0)):
        middle = np.array([0.0, LIP_Y_MM, LIP_Z_MM + sign * (LIP_RADIUS_MM + 0.5 * SEAL_MM)])
        tube = np.concatenate([*(ring + [x, 0, 0] for x in places), [[places[0], 0, 0], [places[-1], 0, 0]]]) + middle
        vertices.append(tube)
        faces.append(_tube_faces(around, rings) + low * len(tube))
        sinks.append(np.full(len(tube), float(low)))
    return (np.concatenate(vertices), np.concatenate(faces)), np.concatenate(sinks)


def _tube_faces(around, rings):
    here = np.arange(around)
    after = (here + 1) % around
    faces = [np.stack([after, here, 0 * here + rings * around], axis=1)]
    last = (rings - 1) * around
    faces.append(np.stack([here + last, after + last, 0 * here + rings * around + 1], axis=1))
    for start in range(0, last, around):
        c, d = here + start, after + start
        faces += [np.stack([c, d, d + around], axis=1), np.stack([c, d + around, c + around], axis=1)]
    return np.concatenate(faces)


def _marks():
    marks = {
        "sellion": (0, -85, 75), "gnathion": (0, -85, -35), "subnasale": (0, -95, 32), "pronasale": (0, -110, 42),
        "stomion_superius": (0, LIP_Y_MM, LIP_Z_MM), "stomion_inferius": (0, LIP_Y_MM, LIP_Z_MM),
        "labiale_superius": (0, LIP_Y_MM - LIP_RADIUS_MM, LIP_Z_MM + LIP_RADIUS_MM),
        "labiale_inferius": (0, LIP_Y_MM - LIP_RADIUS_MM, LIP_Z_MM - LIP_RADIUS_MM),
    }  # fmt: skip
    for side, sign in (("left", 1), ("right", -1)):
        marks[f"tragion_{side}"] = (sign * 70, 0, 50)
        marks[f"exocanthion_{side}"] = (sign * 45, -70, 68)
        marks[f"cheilion_{side}"] = (sign * 22, LIP_Y_MM, LIP_Z_MM)
    return {name: np.array(place, float) for name, place in marks.items()}
