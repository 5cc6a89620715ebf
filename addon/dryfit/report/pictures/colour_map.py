"""Colour maps that colour-blind eyes read too: cividis for amounts, a computed diverging map for signed values.

Cividis: Nunez, Anderton & Renslow 2018, PLoS ONE 13(7):e0199239 (table of 65 of its colours, linear between them).
Diverging: Moreland 2009, Diverging Color Maps for Scientific Visualization, ISVC, doi 10.1007/978-3-642-10520-3_9.
"""

from functools import cache

import numpy as np
import numpy.typing as npt

from ...model.arrays import FloatArray
from ...model.finding import Field

CIVIDIS = (
    "00224E 002554 00285B 002B62 002E6A 003070 043371 113570 1A386F 213B6E 273E6E 2D416D 32436D 36466C 3B496C "
    "3F4C6C 434E6C 47516C 4B546C 4F576C 52596D 565C6D 5A5F6E 5D626E 61656F 646770 686A71 6B6D72 6F7073 727374 "
    "757676 797877 7C7B78 807E78 848179 878478 8B8778 8F8A78 938D78 979077 9B9376 9F9676 A39A75 A79D74 ABA072 "
    "AFA371 B3A670 B7AA6E BBAD6C BFB06B C3B469 C8B766 CCBA64 D0BE61 D4C15F D9C55C DDC958 E1CC55 E6D051 EAD44C "
    "EFD748 F4DB42 F8DF3C FDE334 FEE838"
)
BELOW, ABOVE = "A03C00", "6CA6DC"
"""Ends of the diverging map: dark orange below zero, lighter blue above.

Both keep their place for red-green blindness, and printed in grey the one is far darker than the other.
"""
STEPS = 257
WHITE_D65 = np.array([0.95047, 1.0, 1.08883])
RGB_TO_XYZ = np.array(
    [[0.4124564, 0.3575761, 0.1804375], [0.2126729, 0.7151522, 0.0721750], [0.0193339, 0.1191920, 0.9503041]]
)
"""sRGB primaries, IEC 61966-2-1."""


def from_hex(text: str) -> FloatArray:
    """Return ``(3,)`` sRGB values in 0..1 of a colour like ``1F5FA8``."""
    return np.array([int(text[at : at + 2], 16) for at in (0, 2, 4)], dtype=np.float64) / 255.0


def cividis(share: npt.ArrayLike) -> FloatArray:
    """Return sRGB colours ``(k, 3)`` for shares in 0..1 of the scale; beyond it the end colours."""
    table = np.array([from_hex(text) for text in CIVIDIS.split()])
    return _along(table, share)


def diverging(share: npt.ArrayLike) -> FloatArray:
    """Return sRGB colours ``(k, 3)`` for shares in -1..1, orange below zero and blue above."""
    return _along(_diverging_table(), (np.asarray(share, dtype=np.float64) + 1.0) / 2.0)


def shares(field: Field, values: npt.ArrayLike) -> FloatArray:
    """Return where values lie on the field's scale: 0..1, or -1..1 about zero where it diverges; nan stays nan."""
    array = np.asarray(values, dtype=np.float64)
    if not field.diverging:
        return (array - field.low) / ((field.high - field.low) or 1.0)
    below, above = max(-field.low, 1e-12), max(field.high, 1e-12)
    return np.where(array < 0, array / below, array / above)


def field_colours(field: Field, values: npt.ArrayLike) -> FloatArray:
    """Return sRGB colours ``(k, 3)`` for values of a field; nan gives nan."""
    share = shares(field, values)
    colours = diverging(np.nan_to_num(share)) if field.diverging else cividis(np.nan_to_num(share))
    colours[np.isnan(share)] = np.nan
    return colours


def _along(table: FloatArray, share: npt.ArrayLike) -> FloatArray:
    at = np.clip(np.asarray(share, dtype=np.float64).reshape(-1), 0.0, 1.0) * (len(table) - 1)
    low = np.minimum(at.astype(np.int64), len(table) - 2)
    rest = (at - low)[:, None]
    blended: FloatArray = table[low] * (1.0 - rest) + table[low + 1] * rest
    return blended


@cache
def _diverging_table() -> FloatArray:
    half = STEPS // 2
    start, end = _to_msh(from_hex(BELOW)), _to_msh(from_hex(ABOVE))
    middle_m = max(start[0], end[0], 88.0)
    lower = [_from_msh(_msh_between(start, middle_m, step / half)) for step in range(half)]
    upper = [_from_msh(_msh_between(end, middle_m, step / half)) for step in range(half, -1, -1)]
    return np.array(lower + upper)


def _msh_between(end: FloatArray, middle_m: float, share: float) -> FloatArray:
    """Return the Msh colour a share of the way from an end to the unsaturated middle (Moreland's figure 5)."""
    hue_end = _adjusted_hue(end, middle_m)
    return np.array(
        [(1 - share) * end[0] + share * middle_m, (1 - share) * end[1], (1 - share) * end[2] + share * hue_end]
    )


def _adjusted_hue(end: FloatArray, middle_m: float) -> float:
    magnitude, saturation, hue = end
    if magnitude >= middle_m:
        return float(hue)
    spin = saturation * np.sqrt(middle_m**2 - magnitude**2) / (magnitude * np.sin(saturation))
    return float(hue + spin if hue > -np.pi / 3 else hue - spin)


def _to_msh(srgb: FloatArray) -> FloatArray:
    light, a, b = _to_lab(srgb)
    magnitude = float(np.sqrt(light**2 + a**2 + b**2))
    return np.array([magnitude, np.arccos(light / magnitude), np.arctan2(b, a)])


def _from_msh(msh: FloatArray) -> FloatArray:
    magnitude, saturation, hue = msh
    flat = magnitude * np.sin(saturation)
    return _from_lab(np.array([magnitude * np.cos(saturation), flat * np.cos(hue), flat * np.sin(hue)]))


def linear_light(srgb: npt.ArrayLike) -> FloatArray:
    """Return linear light for sRGB values in 0..1 (IEC 61966-2-1)."""
    array = np.asarray(srgb, dtype=np.float64)
    return np.where(array <= 0.04045, array / 12.92, ((array + 0.055) / 1.055) ** 2.4)


def display_values(linear: npt.ArrayLike) -> FloatArray:
    """Return sRGB values in 0..1 for linear light, clipped."""
    array = np.clip(np.asarray(linear, dtype=np.float64), 0.0, 1.0)
    return np.where(array <= 0.0031308, array * 12.92, 1.055 * array ** (1 / 2.4) - 0.055)


def _to_lab(srgb: FloatArray) -> FloatArray:
    ratio = RGB_TO_XYZ @ linear_light(srgb) / WHITE_D65
    x, y, z = np.where(ratio > 0.008856, np.cbrt(ratio), 7.787 * ratio + 16 / 116)
    return np.array([116 * y - 16, 500 * (x - y), 200 * (y - z)])


def _from_lab(lab: FloatArray) -> FloatArray:
    y = (lab[0] + 16) / 116
    root = np.array([lab[1] / 500 + y, y, y - lab[2] / 200])
    ratio = np.where(root**3 > 0.008856, root**3, (root - 16 / 116) / 7.787)
    return display_values(np.linalg.solve(RGB_TO_XYZ, ratio * WHITE_D65))
