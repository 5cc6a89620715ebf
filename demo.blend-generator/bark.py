"""The wardens' skin: bark plates and furrows that follow a grain, knots, and a crust of salt."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from .noise import gradient_noise, grains, layered_noise
from .outlines import View
from .ramps import smooth_step

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Knot:
    """A healed branch: a ringed boss with a hollow, at a place on the drawing, mm."""

    right_mm: float
    up_mm: float
    radius_mm: float
    height_mm: float


@dataclass(frozen=True)
class Bark:
    """How a piece is carved.

    Attributes
    ----------
    view
        The drawing that the grain is laid out on.
    pole_mm
        Point on it from which the grain spreads like branches.
    spread_mm
        Distance from the pole at which a furrow's width is as stated.
    full_mm
        Thickness the plates settle at, away from the rim.
    knots, salt, seed
        Bosses; how much of the surface carries salt, 0 to 1; which noise.
    """

    view: View
    pole_mm: tuple[float, float]
    spread_mm: float
    full_mm: float
    knots: tuple[Knot, ...] = ()
    salt: float = 0.5
    seed: int = 1

    def thickness_mm(self, points_mm: FloatArray, from_rim_mm: FloatArray) -> FloatArray:
        """Return the thickness over the base, without the rim's own, at points ``(n, 3)``.

        Parameters
        ----------
        points_mm
            On the base.
        from_rim_mm
            ``(n,)`` distance from the rim.
        """
        drawn = self.view.drawn(points_mm)[:, :2]
        across, along = self._grain(drawn)
        carved = self._plates(across, along)
        body = feathered_mm(from_rim_mm, self.full_mm) * carved
        inner = smooth_step(from_rim_mm, 4.0, 13.0)
        fibre = 0.16 * gradient_noise(across / 0.85, along / 11.0, self.seed + 31)
        body = body + inner * (fibre + self._salt(drawn, carved))
        for knot in self.knots:
            body = body + inner * self._boss(knot, drawn)
        return np.maximum(body, 0.0)

    def _grain(self, drawn: FloatArray) -> tuple[FloatArray, FloatArray]:
        away = drawn - np.array(self.pole_mm)
        radius = np.linalg.norm(away, axis=1)
        across = np.arctan2(away[:, 0], away[:, 1]) * self.spread_mm
        warp = layered_noise(across / 19.0, radius / 24.0, self.seed, 2)
        for knot in self.knots:
            across, warp = self._around(knot, drawn, across), warp
        return across + 3.2 * warp, radius

    def _around(self, knot: Knot, drawn: FloatArray, across: FloatArray) -> FloatArray:
        """Bend the grain around a knot, as wood grows around a branch."""
        away = drawn - [knot.right_mm, knot.up_mm]
        reach = np.exp(-((np.linalg.norm(away, axis=1) / (2.1 * knot.radius_mm)) ** 2))
        centre = np.array([knot.right_mm, knot.up_mm]) - np.array(self.pole_mm)
        offset = across - np.arctan2(centre[0], centre[1]) * self.spread_mm
        return across - np.tanh(offset / knot.radius_mm) * 0.75 * knot.radius_mm * reach

    def _plates(self, across: FloatArray, along: FloatArray) -> FloatArray:
        """Return the plates' height as a share of the full thickness, about 0.3 in furrows to 1.25."""
        furrow = np.abs(gradient_noise(across / 6.5, along / 34.0, self.seed + 7))
        check = np.abs(gradient_noise(across / 3.1, along / 15.0, self.seed + 11))
        break_line = np.abs(gradient_noise(across / 9.0 + along / 40.0, along / 9.5, self.seed + 13))
        swell = 1.0 + 0.22 * gradient_noise(across / 12.0, along / 27.0, self.seed + 17)
        deep = 0.36 + 0.64 * smooth_step(furrow, 0.015, 0.26)
        fine = 0.80 + 0.20 * smooth_step(check, 0.0, 0.20)
        cross = 0.84 + 0.16 * smooth_step(break_line, 0.0, 0.10)
        return swell * deep * fine * cross

    def _salt(self, drawn: FloatArray, carved: FloatArray) -> FloatArray:
        """Return the salt crust's height, mm: grains of two sizes, thickest in the furrows' lee."""
        where = layered_noise(drawn[:, 0] / 17.0, drawn[:, 1] / 13.0, self.seed + 41, 3)
        cover = smooth_step(where, 0.62 - self.salt, 1.05 - self.salt)
        coarse = 0.55 * grains(drawn[:, 0] / 2.3, drawn[:, 1] / 2.3, self.seed + 43)
        fine = 0.25 * grains(drawn[:, 0] / 1.25, drawn[:, 1] / 1.25, self.seed + 47)
        return cover * np.maximum(coarse, fine) * (1.15 - 0.35 * np.clip(carved, 0.0, 1.0))

    def _boss(self, knot: Knot, drawn: FloatArray) -> FloatArray:
        away = (drawn - [knot.right_mm, knot.up_mm]) / knot.radius_mm
        stray = 1.0 + 0.12 * layered_noise(drawn[:, 0] / 6.0, drawn[:, 1] / 6.0, self.seed + 53, 2)
        radius = np.linalg.norm(away, axis=1) * stray
        dome = np.exp(-(radius**2))
        rings = 0.13 * np.cos(2.0 * np.pi * radius / 0.30) * np.exp(-((radius / 0.95) ** 2))
        hollow = 0.75 * np.exp(-((radius / 0.27) ** 2))
        return knot.height_mm * (dome + rings - hollow)


FEATHER_MM = 10.0
"""Distance from the rim at which the feather is about 1 mm thick (6-15 mm: common practice, no source)."""


def feathered_mm(from_rim_mm: FloatArray, full_mm: float) -> FloatArray:
    """Return the feather: nothing at the rim, about 1 mm thick 10 mm inside, settling at ``full_mm``."""
    rise = 1.15 * (np.maximum(from_rim_mm, 0.0) / FEATHER_MM) ** 1.7
    settled: FloatArray = full_mm * np.tanh(rise / full_mm)
    return settled
