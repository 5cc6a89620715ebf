"""How much larger a pattern is made so that the piece comes out at size, with the definition said."""

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


def _note(name: str, material: Material, parts: list[Part], fitting: Fitting) -> Finding:
    of_mould, of_piece = pattern_factors(material.shrink_percent)
    used, other = (of_piece, of_mould) if material.shrink_of == OF_PIECE else (of_mould, of_piece)
    words = ("1 + s, s of the piece", "1/(1 - s), s of the mould")
    used_words, other_words = words if material.shrink_of == OF_PIECE else words[::-1]
    return Finding(
        severity=Severity.INFO,
        message=(
            f"Scale moulds for {', '.join(part.name for part in parts)} by {used:.5f}: {name} shrinks "
            f"{material.shrink_percent:.4g} % ({used_words}), so 100 mm is made {100 * used:.2f} mm. Read the other "
            f"way ({other_words}) it would be {other:.5f}, {100 * other:.2f} mm: ask which one the shop means."
        ),
        place=fitting.place(parts[0].name, parts[0].vertices_mm.mean(axis=0)),
        value=used,
        unit="times",
    )
