"""A sphere as the base, a cap worn on it, and a report about them, made by hand so that every figure is known."""

import numpy as np

from dryfit.checks.check import Check, LeadingFigure
from dryfit.geometry import Surface
from dryfit.model.exceptions import WrittenException
from dryfit.model.finding import Bound, Curve, Field, Finding, Place, Severity, Status
from dryfit.model.limits import Limits, described_limits
from dryfit.model.report import BaseIdentity, CheckResult, Report, VariantIdentity
from dryfit.model.snapshot import Motion, Part, Snapshot
from shapes import icosphere

LANDMARKS = {
    "tragion_left": [100.0, 0, 0],
    "tragion_right": [-100.0, 0, 0],
    "sellion": [0, 30.0, 95.0],
    "gnathion": [0, -80.0, 60.0],
    "vertex_top": [0, 100.0, 0],
    "cheilion_left": [25.0, -40.0, 85.0],
    "cheilion_right": [-25.0, -40.0, 85.0],
}
"""Left is +x, up +y, front +z."""


def cap(height_mm=4.0, dip_mm=1.5, level=5):
    """The part of a sphere with z > 50, lifted off the base, with a dip below it about the pole."""
    vertices, faces = icosphere(level)
    keep = (vertices[faces][:, :, 2] > 50).all(axis=1)
    used, faces = np.unique(faces[keep], return_inverse=True)
    points = vertices[used]
    flat = np.linalg.norm(points[:, :2], axis=1)
    lift = height_mm - (height_mm + dip_mm) * np.exp(-((flat / 15.0) ** 2))
    return points * (1 + lift / 100.0)[:, None], faces.reshape(-1, 3)


def worn_sphere(name="Warden, still sphere"):
    vertices, faces = icosphere(4)
    points, triangles = cap()
    head = Part("Head", "base", vertices, faces)
    piece = Part("Cap", "appliance", points, triangles, material="silicone")
    lowered = vertices - [0, 10.0, 0] * (vertices[:, 1:2] < -50)
    motion = Motion("jaw", [0, 1], {"Head": np.stack([vertices, lowered])})
    return Snapshot(name, "warden.npz", "", (head, piece), LANDMARKS, {"jaw": motion})


def key_framed(snapshot):
    """A poser that knows key frames only."""

    def posed(motion, t):
        moving = snapshot.motions.get(motion)
        return {} if moving is None else {name: moving.vertices_at(name, t) for name in moving.frames_mm}

    return posed


def clearance(snapshot):
    head, piece = snapshot.part("Head"), snapshot.part("Cap")
    values = Surface(head.vertices_mm, head.faces).clearance_mm(piece.vertices_mm)
    return Field("clearance", "Cap", values, "mm", "Clearance to the base", -5, 5, -0.2, diverging=True)


def finding(**changed):
    where = {"object": "Cap", "at_mm": (0, 0, 98.5), "region": "nose tip", "motion": "", "t": 0.0}
    where = {name: changed.pop(name, value) for name, value in where.items()}
    stated = {
        "severity": Severity.FAIL, "message": "Cap dips 1.50 mm below the base.", "place": Place(**where),
        "value": 1.5, "limit": 0.2, "unit": "mm", "elements": np.array([0, 1, 2]),
        "fix": "lift 400 mm² of the nose tip by up to 1.5 mm",
    }  # fmt: skip
    return Finding(**(stated | changed))


def result(check_id="additive", findings=(), status=Status.FAIL, **changed):
    stated = {
        "reason": "", "seconds": 0.25,
        "measures": {"max_depth_mm": 1.5, "subtractive_area_mm2": 400.0, "note": "worst at the nose"}, "curves": {},
        "judged": {"max_depth_mm": Bound(0.2, limit="additive_tolerance_mm")},
    }  # fmt: skip
    return CheckResult(id=check_id, status=status, findings=tuple(findings), **(stated | changed))


def report(snapshot=None, results=None, **changed):
    snapshot = snapshot or worn_sphere()
    if results is None:
        curve = Curve((0.0, 0.5, 1.0), (0.1, float("nan"), 2.0), "distance, mm", "thickness, mm")
        results = (
            result(findings=[finding()], fields=(clearance(snapshot),), curves={"thickness_by_distance": curve}),
            result("closure", status=Status.NOT_CHECKED, reason="There are no teeth.", measures={}),
        )
    stated = {
        "dryfit": "0.1.0",
        "variant": VariantIdentity(snapshot.name, snapshot.source, ""),
        "base": BaseIdentity("Head", "held", "ab" * 32, 0.0),
        "checks": tuple(results),
        "exceptions": (WrittenException("additive", "Cap", "nose tip", "it is a mask"),),
        "limits": described_limits(Limits()),
        "inputs": {
            "brief": "", "landmarks": sorted(LANDMARKS), "motions": ["jaw"], "notes": [],
            "parts": [{"name": "Cap", "role": "appliance", "material": "", "vertices": 3, "triangles": 1}],
        },
    }  # fmt: skip
    return Report(**(stated | changed))


def check(check_id="additive", **changed):
    stated = {
        "question": "Is the appliance everywhere outside the base?", "measure": None,
        "measured": (("max_depth_mm", "greatest depth below the base"),), "method": "Signed distance.",
        "limits": ("additive_tolerance_mm",), "blind_spots": "It cannot feel.", "caution": "Ask the performer.",
        "leading": (
            LeadingFigure("max_depth_mm", "deepest below the base", "additive_tolerance_mm"),
            LeadingFigure("subtractive_area_mm2", "area below the base"),
        ),
    }  # fmt: skip
    return Check(id=check_id, **(stated | changed))
