"""Repeatable noise over the plane, the same on every machine.

Gradient noise after Perlin 1985, SIGGRAPH Computer Graphics 19(3):287-296, https://doi.org/10.1145/325165.325247;
cell noise after Worley 1996, SIGGRAPH, https://doi.org/10.1145/237170.237267. Lattice values come from an integer
hash instead of a table.
"""

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
UIntArray = npt.NDArray[np.uint64]


def lattice_share(column: npt.NDArray[np.int64], row: npt.NDArray[np.int64], seed: int) -> FloatArray:
    """Return a number in 0..1 for each lattice point, by integer hashing."""
    with np.errstate(over="ignore"):
        mixed = column.astype(np.uint64) * np.uint64(0x9E3779B97F4A7C15)
        mixed ^= row.astype(np.uint64) * np.uint64(0xC2B2AE3D27D4EB4F)
        mixed ^= np.uint64(seed) * np.uint64(0x165667B19E3779F9)
        for shift in (30, 27, 31):
            mixed = (mixed ^ (mixed >> np.uint64(shift))) * np.uint64(0xBF58476D1CE4E5B9)
    return (mixed >> np.uint64(11)).astype(np.float64) / 2.0**53


def gradient_noise(x: FloatArray, y: FloatArray, seed: int) -> FloatArray:
    """Return smooth noise of about -1..1 with features one unit wide; zero at whole numbers."""
    column, row = np.floor(x).astype(np.int64), np.floor(y).astype(np.int64)
    across, along = x - column, y - row
    ease_x, ease_y = (step**3 * (step * (step * 6.0 - 15.0) + 10.0) for step in (across, along))

    def corner(i: int, j: int) -> FloatArray:
        angle = 2.0 * np.pi * lattice_share(column + i, row + j, seed)
        return np.cos(angle) * (across - i) + np.sin(angle) * (along - j)

    low = corner(0, 0) * (1.0 - ease_x) + corner(1, 0) * ease_x
    high = corner(0, 1) * (1.0 - ease_x) + corner(1, 1) * ease_x
    return 1.5 * (low * (1.0 - ease_y) + high * ease_y)


def layered_noise(x: FloatArray, y: FloatArray, seed: int, layers: int = 3) -> FloatArray:
    """Return gradient noise with finer and fainter layers added, each half as wide and half as high."""
    return sum(
        (gradient_noise(x * 2.0**layer, y * 2.0**layer, seed + layer) * 0.5**layer for layer in range(layers)),
        start=np.zeros_like(x),
    )


def grains(x: FloatArray, y: FloatArray, seed: int, radius: float = 0.62) -> FloatArray:
    """Return round grains, 1 at their middle and 0 between them, about one to each unit square."""
    column, row = np.floor(x).astype(np.int64), np.floor(y).astype(np.int64)
    nearest = np.full(x.shape, np.inf)
    for i in (-1, 0, 1):
        for j in (-1, 0, 1):
            u = column + i + lattice_share(column + i, row + j, seed)
            v = row + j + lattice_share(column + i, row + j, seed + 101)
            nearest = np.minimum(nearest, (x - u) ** 2 + (y - v) ** 2)
    return np.clip(1.0 - nearest / radius**2, 0.0, None)
