"""Lay one surface on another of the same kind in any pose: similarity and trimmed closest points from many starts.

Pairs run both ways, from the template to the scan and from the scan to the template, because either may reach beyond
the other: a scan cropped to a face, or one with shoulders. A pair whose closest point lies on an open border says
nothing and is left out.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ..model.arrays import BoolArray, FloatArray
from .areas import areas_mm2
from .coarse import coarse_surface
from .even_turns import even_turns
from .plane_fit import slid_onto_planes
from .rows import row_sums
from .sampling import sample_surface
from .similarity import Similarity, fit_similarity
from .surface import OPEN_BORDER, Closest, Surface

KEEP = 0.8
"""Share of the pairs that each fit keeps, the nearest: trimmed closest points."""
FACING = 0.5
"""Least cosine, either way round, between the normals of a pair."""
CAP_MM = 20.0
"""Distances count up to this when two poses are compared."""
LEAST_PAIRS = 12
COARSE_MM = 5.0
"""Where to start is looked for on a scan this coarse."""


@dataclass(frozen=True)
class Cloud:
    """Points of a surface with their unit normals, ``(k, 3)`` each."""

    points_mm: FloatArray
    normals: FloatArray

    def thinned(self, count: int) -> "Cloud":
        """Return at most about ``count`` of the points, evenly taken."""
        step = max(len(self.points_mm) // count, 1)
        return Cloud(self.points_mm[::step], self.normals[::step])


def surface_cloud(surface: Surface, count: int, only: BoolArray | None = None) -> Cloud:
    """Return about ``count`` points evenly over a surface, in an order of which every n-th is even too.

    Parameters
    ----------
    surface
        The surface.
    count
        How many, about.
    only
        ``(m,)`` faces to take; None means all.
    """
    faces = surface.faces if only is None else surface.faces[only]
    normals = surface.normals if only is None else surface.normals[only]
    spacing = float(np.sqrt(areas_mm2(surface.vertices_mm[faces]).sum() / count))
    samples = sample_surface(surface.vertices_mm, faces, spacing)
    points = samples.points(surface.vertices_mm, faces)
    chosen = _by_area(samples.area_mm2, count)
    return Cloud(points[chosen], normals[samples.face[chosen]])


def _by_area(area_mm2: FloatArray, count: int) -> np.ndarray:
    """Return ``count`` sample numbers drawn in proportion to area, shuffled; the same ones every time."""
    random = np.random.default_rng(7)
    size = min(count, len(area_mm2))
    return random.choice(len(area_mm2), size=size, replace=False, p=area_mm2 / area_mm2.sum())


@dataclass(frozen=True)
class Pairs:
    """Points of the template and where on the scan they are drawn to.

    Attributes
    ----------
    before_mm
        ``(k, 3)`` on the template, in its own place.
    after_mm
        ``(k, 3)`` on the scan.
    normals
        ``(k, 3)`` of the scan there.
    distance_mm
        ``(k,)`` between the two as posed; inf where the pair says nothing.
    """

    before_mm: FloatArray
    after_mm: FloatArray
    normals: FloatArray
    distance_mm: FloatArray

    def only(self, chosen: BoolArray) -> "Pairs":
        """Return the chosen pairs, ``(k,)``."""
        return Pairs(*(values[chosen] for values in vars(self).values()))


@dataclass(frozen=True)
class Laid:
    """A template laid on a scan.

    Attributes
    ----------
    pose
        From the template to the scan.
    misfit_mm
        Mean distance of the better share of the points, both ways; distances count up to ``CAP_MM``.
    """

    pose: Similarity
    misfit_mm: float


def best_poses(
    template: Surface, scan: Surface, telling: BoolArray, scale_range: tuple[float, float] = (0.75, 1.3)
) -> list[Laid]:
    """Return the poses that lay a template on a scan, the best first, no two within 20 degrees of each other.

    Parameters
    ----------
    template, scan
        The two surfaces, mm.
    telling
        ``(m,)`` the template's faces that tell one pose from another (for a head, the face).
    scale_range
        Least and largest scale; two equal numbers where the scale is known.
    """
    rough = SurfaceFit(template, coarse_surface(scan, COARSE_MM), telling, scale_range)
    fine = SurfaceFit(template, scan, telling, scale_range)
    laid = [fine.refined(each.pose, 900, 12) for each in rough.searched()[:3]]
    return list(apart(sorted(laid, key=_misfit)))


class SurfaceFit:
    """A template and a scan to lay it on.

    Parameters
    ----------
    template, scan
        The two surfaces, mm.
    telling
        ``(m,)`` the template's faces that tell one pose from another (for a head, the face).
    scale_range
        Least and largest scale; two equal numbers where the scale is known.
    """

    def __init__(
        self, template: Surface, scan: Surface, telling: BoolArray, scale_range: tuple[float, float] = (0.75, 1.3)
    ) -> None:
        self.template, self.scan, self.scale_range = template, scan, scale_range
        whole, face = surface_cloud(template, 900), surface_cloud(template, 900, telling)
        self.face = face
        self.mine = Cloud(
            np.stack([whole.points_mm, face.points_mm], axis=1).reshape(-1, 3),
            np.stack([whole.normals, face.normals], axis=1).reshape(-1, 3),
        )
        self.theirs = surface_cloud(scan, 1800)
        self.template_normals, self.scan_normals = template.normals, scan.normals

    def searched(self, starts: int = 160) -> list[Laid]:
        """Return the poses that fit, the best first, no two within 20 degrees of each other.

        Parameters
        ----------
        starts
            How many even turns to try.
        """
        first = [self.started(turn) for turn in even_turns(starts)]
        laid = sorted((self.refined(pose, 150, 5, sliding=False) for pose in first), key=_misfit)[:24]
        laid = sorted((self.refined(each.pose, 300, 6) for each in laid), key=_misfit)
        laid = [self.refined(each.pose, 900, 10) for each in list(apart(laid))[:5]]
        return list(apart(sorted(laid, key=_misfit)))

    def started(self, turn: FloatArray) -> Similarity:
        """Return the pose that turns the template so and puts the middles on each other."""
        middle, target = self.mine.points_mm.mean(axis=0), self.theirs.points_mm.mean(axis=0)
        scale = float(np.clip(1.0, *self.scale_range))
        return Similarity(scale, turn, target - scale * turn @ middle)

    def refined(self, pose: Similarity, count: int, rounds: int, sliding: bool = True) -> Laid:
        """Return a pose after some rounds of trimmed closest points on about ``count`` points a side.

        Parameters
        ----------
        pose
            Where to start.
        count, rounds
            How many points and how often.
        sliding
            Whether points may slide over the scan (fast, near the answer) or are drawn to one place (safe, far off).

        Notes
        -----
        Trimmed closest points: Chetverikov et al. 2005, Image and Vision Computing 23:299,
        doi 10.1016/j.imavis.2004.05.007.
        """
        mine, theirs = self.mine.thinned(count), self.theirs.thinned(count)
        for _ in range(rounds):
            pairs = joined(kept(self.forth(pose, mine)), kept(self.back(pose, theirs)))
            if len(pairs.before_mm) < LEAST_PAIRS:
                break
            if sliding:
                pose = slid_onto_planes(pose, pairs.before_mm, pairs.after_mm, pairs.normals, self.scale_range)
            else:
                pose = fit_similarity(pairs.before_mm, pairs.after_mm, scale_range=self.scale_range)
        return Laid(pose, self.misfit_mm(pose, count))

    def forth(self, pose: Similarity, mine: Cloud) -> "Pairs":
        """Return template points with the scan's points nearest to them."""
        placed = pose.apply(mine.points_mm)
        near = self.scan.closest(placed)
        normals = self.scan_normals[near.face]
        good = says_something(near, pose.turn(mine.normals), normals)
        return Pairs(mine.points_mm, near.point, normals, np.where(good, near.distance_mm, np.inf))

    def back(self, pose: Similarity, theirs: Cloud) -> "Pairs":
        """Return the template's points nearest to points of the scan, with those points."""
        inverse = pose.inverse
        near = self.template.closest(inverse.apply(theirs.points_mm))
        good = says_something(near, inverse.turn(theirs.normals), self.template_normals[near.face])
        return Pairs(
            near.point, theirs.points_mm, theirs.normals, np.where(good, near.distance_mm * pose.scale, np.inf)
        )

    def misfit_mm(self, pose: Similarity, count: int = 900) -> float:
        """Return the mean distance of the better 80 % of the telling points and of what of the scan lies over them."""
        there = self.forth(pose, self.face.thinned(count)).distance_mm
        near = self.template.closest(pose.inverse.apply(self.theirs.thinned(count).points_mm))
        back_mm = near.distance_mm[near.feature != OPEN_BORDER] * pose.scale
        return 0.5 * (_trimmed_mean(there) + _trimmed_mean(back_mm))


def says_something(near: Closest, normals: FloatArray, met_normals: FloatArray) -> BoolArray:
    """Mark the closest points, ``(k,)``, whose two normals ``(k, 3)`` agree and that lie on no open border."""
    facing = np.abs(row_sums(normals * met_normals)) > FACING
    return np.asarray(facing & (near.feature != OPEN_BORDER))


def kept(pairs: Pairs) -> Pairs:
    """Return the nearest share of the pairs that say something."""
    valid = np.isfinite(pairs.distance_mm)
    reach_mm = np.quantile(pairs.distance_mm[valid], KEEP) if valid.any() else -1.0
    return pairs.only(pairs.distance_mm <= reach_mm)


def joined(one: Pairs, other: Pairs) -> Pairs:
    """Return both lists of pairs as one."""
    ends = zip(vars(one).values(), vars(other).values(), strict=True)
    return Pairs(*(np.concatenate(both) for both in ends))


def apart(laid: list[Laid], angle_deg: float = 20.0) -> Iterator[Laid]:
    """Yield poses in order, leaving out those within an angle of an earlier one."""
    seen: list[Laid] = []
    for each in laid:
        if all(each.pose.angle_to_deg(other.pose) > angle_deg for other in seen):
            seen.append(each)
            yield each


def _trimmed_mean(distance_mm: FloatArray) -> float:
    if not len(distance_mm):
        return CAP_MM
    capped = np.sort(np.minimum(distance_mm, CAP_MM))
    return float(capped[: max(int(KEEP * len(capped)), 1)].mean())


def _misfit(laid: Laid) -> float:
    return laid.misfit_mm
