"""Lids as shells of a ball that shut as a share of a turn."""

import numpy as np

from dryfit.model.snapshot import Motion, Part, Snapshot
from plates import FRAME_MARKS, ring
from shapes import icosphere

BALL_MM, LID_MM = 12.0, 12.6
OPEN_DEG, LOWER_DEG, SWEEP_DEG = 25.0, -15.0, 50.0
CENTRE = np.array([32.0, -95.0, 0.0])
APEX = CENTRE + [0, -BALL_MM, 0]
FRAMES = 41


def on_ball(radius, turn_deg, rise_deg):
    """Points at a radius, turned to the performer's left and risen, on a ball round the eye's middle."""
    turn, rise = np.radians(turn_deg), np.radians(rise_deg)
    unit = np.stack([np.cos(rise) * np.sin(turn), -np.cos(rise) * np.cos(turn), np.sin(rise)], axis=-1)
    return CENTRE + radius[..., None] * unit


def patch(radius, rises, columns=61, widest_deg=75.0):
    """A patch of rows at given radii and rises ``(rows,)``."""
    turns = np.linspace(-widest_deg, widest_deg, columns)
    shape = len(rises), columns
    points = on_ball(
        np.repeat(np.asarray(radius, float)[:, None], columns, axis=1),
        np.broadcast_to(turns, shape),
        np.repeat(np.asarray(rises, float)[:, None], columns, axis=1),
    ).reshape(-1, 3)
    i, j = (grid.ravel() for grid in np.meshgrid(np.arange(shape[0] - 1), np.arange(columns - 1), indexing="ij"))
    a = i * columns + j
    b, c, d = a + columns, a + columns + 1, a + 1
    return points, np.concatenate([np.stack([a, d, c], 1), np.stack([a, c, b], 1)])


SHARES = np.linspace(0.0, 1.0, 25)
WALL_STEPS = 7


def upper_lid(margin_deg):
    return patch(np.full(25, LID_MM), margin_deg + SHARES * (75.0 - margin_deg))


def lower_lid():
    """A lid with an edge that stands 3 mm out."""
    radius = np.concatenate([np.full(25, LID_MM), np.linspace(LID_MM, LID_MM + 3.0, WALL_STEPS)[1:]])
    rises = np.concatenate([-75.0 + SHARES * (LOWER_DEG + 75.0), np.full(WALL_STEPS - 1, LOWER_DEG)])
    return patch(radius, rises)


def face(*worn, eyeball=True, sweep_deg=SWEEP_DEG, groups=False, still=False):
    skull, skull_faces = icosphere(2, 60.0)
    above, below = upper_lid(OPEN_DEG), lower_lid()
    shift = len(skull), len(skull) + len(above[0])
    faces = np.concatenate([skull_faces, above[1] + shift[0], below[1] + shift[1]])
    frames_t = np.linspace(0.0, 1.0, FRAMES)
    frames = [np.concatenate([skull, upper_lid(OPEN_DEG - sweep_deg * t)[0], below[0]]) for t in frames_t]
    count = np.arange(len(frames[0]))
    areas = {
        "dryfit_lid_upper_left": ((count >= shift[0]) & (count < shift[1])).astype(float),
        "dryfit_lid_lower_left": (count >= shift[1]).astype(float),
    }
    marks = {name: np.array(at, float) for name, at in FRAME_MARKS.items()}
    marks |= {"pupil_left": APEX, "endocanthion_left": CENTRE + [-10, -6, 0], "exocanthion_left": CENTRE + [10, -6, 0]}
    parts = [Part("Scan", "base", frames[0], faces, areas=areas if groups else {})]
    if eyeball:
        ball, ball_faces = icosphere(4, BALL_MM)
        parts.append(Part("Eye", "eye_left", ball + CENTRE, ball_faces))
    parts += worn or [Part("Stud", "hardware", *ring((0, 0), (2, 2), [0, -200, 60], 12))]
    posed = {"Scan": np.stack(frames)}
    posed |= {part.name: np.stack([part.vertices_mm] * FRAMES) for part in worn if still}
    return Snapshot("lids", parts=tuple(parts), landmarks=marks, motions={"blink": Motion("blink", frames_t, posed)})


def gap_mm(upper_deg, lower_deg=LOWER_DEG):
    return LID_MM * (np.sin(np.radians(upper_deg)) - np.sin(np.radians(lower_deg)))
