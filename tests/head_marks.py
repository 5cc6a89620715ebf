"""A head's landmarks about a 100 mm sphere, Blender's axes: left +x, front -y, up +z."""

import numpy as np

from dryfit.model.brief import Brief
from dryfit.model.progress import drain
from dryfit.model.snapshot import Part, Snapshot
from dryfit.performer.fitting import Fitting

MARKS = {
    "tragion_left": (70.0, 0.0, 0.0),
    "tragion_right": (-70.0, 0.0, 0.0),
    "sellion": (0.0, -95.0, 30.0),
    "gnathion": (0.0, -95.0, -80.0),
}


def marks(*names):
    return {name: np.array(MARKS[name]) for name in names or MARKS}


def snapshot(base, *parts, landmarks=None, **more):
    """A base (vertices, faces) with parts (name, role, (vertices, faces), material) on it."""
    worn = [Part(name, role, *mesh, material) for name, role, mesh, material in parts]
    return Snapshot("test", parts=(Part("Scan", "base", *base), *worn), landmarks=landmarks or {}, **more)


def outcome(check, shot, brief=None):
    brief = brief or Brief()
    return drain(check.CHECK.measure(Fitting(shot, brief), brief))


def severities(found):
    return [str(finding.severity) for finding in found.findings]
