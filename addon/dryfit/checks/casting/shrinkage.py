"""How much larger a pattern is made so that the piece comes out at size, with the definition said."""

import math
from collections.abc import Iterator

from ...model.brief import Brief
from ...model.finding import Finding, Severity
from ...model.materials import OF_PIECE, Material
from ...model.snapshot import Part
from ...performer.fitting import Fitting


def pattern_factors(shrink_percent: float) -> tuple[float, float]:
    """Return what a pattern is scaled by under the two definitions of a linear shrinkage.

    Returns
    -------
    of_mould, of_piece
        1 / (1 - s), where s is a share of the mould's length; and 1 + s, as a shrink rule is ruled.

    Raises
    ------
    ZeroDivisionError
        At 100 %.

    Examples
    --------
    >>> [round(factor, 5) for factor in pattern_factors(100 * 3 / 16 / 12)]
    [1.01587, 1.01562]
    """
    share = shrink_percent / 100.0
    return 1.0 / (1.0 - share), 1.0 + share


def shrinkage_findings(parts: tuple[Part, ...], fitting: Fitting, brief: Brief) -> Iterator[Finding]:
    """Yield one note for each material that shrinks: the factor, what it is a factor of, and the other definition."""
    for name in dict.fromkeys(part.material for part in parts):
        material = brief.materials.get(name)
        if material is not None and material.shrink_percent > 0.0:
            yield _note(name, material, [part for part in parts if part.material == name], fitting)


def factor_places(spread: float) -> int:
    """Return to how many decimals a factor is said: as many as tell the ends of its range apart, 4 at most.

    Examples
    --------
    >>> [factor_places(spread) for spread in (0.08, 0.004, 0.001, 0.0)]
    [2, 3, 3, 4]
    """
    return 4 if spread <= 0.0 else min(max(math.ceil(-math.log10(spread) - 1e-9), 2), 4)


def _span(least: float, most: float, places: int | None) -> str:
    """Return a range in words, or one figure where both ends are said alike."""
    low, high = (f"{end:.4g}" if places is None else f"{end:.{max(places, 0)}f}" for end in (least, most))
    return low if low == high else f"{low} to {high}"


def _note(name: str, material: Material, parts: list[Part], fitting: Fitting) -> Finding:
    of_piece = material.shrink_of == OF_PIECE
    least, used, most = (
        pattern_factors(percent)[of_piece]
        for percent in (material.shrink_range_percent[0], material.shrink_percent, material.shrink_range_percent[1])
    )
    other = pattern_factors(material.shrink_percent)[not of_piece]
    words = ("1/(1 - s), s of the mould", "1 + s, s of the piece, added to the pattern")
    places = factor_places(most - least)
    made = f" ({material.process})" if material.process else ""
    return Finding(
        severity=Severity.INFO,
        message=(
            f"Scale moulds for {', '.join(part.name for part in parts)} by {_span(least, most, places)}: {name}{made} "
            f"shrinks {_span(*material.shrink_range_percent, None)} % ({words[of_piece]}), so 100 mm is made "
            f"{_span(100 * least, 100 * most, places - 2)} mm; start from {used:.{places}f} and cast a test bar. Read "
            f"the other way ({words[not of_piece]}) that would be {other:.{places}f}: ask which one the shop means."
        ),
        place=fitting.place(parts[0].name, parts[0].vertices_mm.mean(axis=0)),
        value=used,
        unit="times",
    )
