"""Generic classes of material: how heavy, how it shrinks, stretches and thins, and where each figure comes from.

Every figure is editable under ``[materials.NAME]`` in the brief. None is a maker's data sheet: ask the shop.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

SOLID, SKINNED, FOAM = "solid", "skinned", "foam"
"""How a soft piece is made up: one rubber through and through; soft under a stiffer skin, as an encapsulated gel or
thick paint; full of air, so that it gives in volume."""
RIGID_MOULD, FLEXIBLE_MOULD = "rigid", "flexible"
"""What a piece is cast in: gypsum, resin or fibreglass; or rubber held in a rigid jacket, which is peeled off it."""
MAKES = (SOLID, SKINNED, FOAM)
OF_MOULD, OF_PIECE = "mould", "piece"
"""What a shrinkage is a share of: the mould's length (piece = mould x (1 - s)), or the piece's (a shrink rule)."""


@dataclass(frozen=True)
class Material:
    """A generic class of material.

    Attributes
    ----------
    density_g_cm3
        Density.
    shrink_percent
        Linear shrinkage from mould to piece.
    max_strain
        Stretch the piece survives, as a fraction (2.0 = three times its length); 0 marks a rigid material.
    min_edge_mm
        Thinnest edge it can be cast or printed with; 0 means not known.
    min_wall_mm
        Thinnest wall, away from edges, that survives at all; below it a piece fails.
    safe_wall_mm
        Wall that every source agrees on. Between the two a rigid part is to be reviewed, and a soft one where it is a
        thin sheet rather than a groove. 0 means none stated.
    forgiven_stretch
        Strain that a casting bears while it is drawn over an undercut; 0 where rigid.
    draft_deg
        Draft a rigid casting wants in a rigid mould, degrees.
    shrink_of
        ``mould``: pattern = piece / (1 - s). ``piece``: pattern = piece x (1 + s), as a shrink rule is ruled.
    process
        How it is usually made.
    source
        Where the figures come from, figure by figure.
    shrink_least_percent, shrink_most_percent
        Least and most linear shrinkage that is told of the material; both 0 where none is but ``shrink_percent``.
    make
        ``solid``, ``skinned`` or ``foam``: what a squeeze does to it.
    mould
        ``rigid``, or ``flexible``: a rubber mould in a jacket.
    """

    density_g_cm3: float
    shrink_percent: float = 0.0
    max_strain: float = 0.0
    min_edge_mm: float = 0.0
    min_wall_mm: float = 0.0
    safe_wall_mm: float = 0.0
    forgiven_stretch: float = 0.0
    draft_deg: float = 0.0
    shrink_of: str = OF_MOULD
    process: str = ""
    source: str = "stated in the brief"
    shrink_least_percent: float = 0.0
    shrink_most_percent: float = 0.0
    make: str = SOLID
    mould: str = RIGID_MOULD

    @property
    def rigid(self) -> bool:
        """Whether a casting of it gives way to nothing."""
        return self.max_strain == 0.0

    @property
    def shrink_range_percent(self) -> tuple[float, float]:
        """Least and most linear shrinkage to reckon with; a figure that was stated beyond them widens them."""
        least, most = self.shrink_least_percent, self.shrink_most_percent
        if most <= 0.0:
            return self.shrink_percent, self.shrink_percent
        return min(least, self.shrink_percent), max(most, self.shrink_percent)

    @property
    def pattern_factor(self) -> float:
        """What a pattern is scaled by so that the piece comes out at size.

        Raises
        ------
        ZeroDivisionError
            At a shrinkage of 100 % of the mould; a brief is refused before.
        """
        share = self.shrink_percent / 100.0
        return 1.0 + share if self.shrink_of == OF_PIECE else 1.0 / (1.0 - share)


PRACTICE = "edge, wall and forgiven stretch common practice, no source"

MATERIALS: Mapping[str, Material] = MappingProxyType(
    {
        "silicone": Material(
            1.07, 0.1, 4.0, 0.05, 0.15, 0.5, 0.2, process="cast, platinum cure",
            shrink_least_percent=0, shrink_most_percent=0.1,
            source="density from memory (1.07-1.15); shrinkage 0.1 % or less, data-sheet practice; stretch from "
            f"memory (Lewis & Castleberry 1980, J Prosthet Dent 43:426-432: 400-800 %); {PRACTICE}",
        ),
        "silicone_gel": Material(
            1.00, 0.1, 6.0, 0.05, 0.3, 0.8, 0.2, process="cast, encapsulated", make=SKINNED,
            shrink_least_percent=0, shrink_most_percent=0.1,
            source=f"density from memory (0.98-1.07); shrinkage as silicone; stretch from memory (600-1,000 %); "
            f"{PRACTICE}",
        ),
        "tin_silicone": Material(
            1.10, 1.0, 3.0, 0.1, 0.15, 0.5, 0.2, process="cast, condensation cure",
            shrink_least_percent=0.8, shrink_most_percent=1.2,
            source=f"density from memory; shrinkage 0.8-1.2 % (a lexicon page); stretch from memory; {PRACTICE}",
        ),
        "foam_latex": Material(
            0.15, 5.0, 2.0, 0.1, 0.3, 1.0, 0.15, process="foamed and baked", make=FOAM,
            shrink_least_percent=3, shrink_most_percent=10,
            source="density from memory (0.12-0.25); shrinkage from memory (3-10 %, mould and bake decide); stretch "
            f"from memory (200-500 %); {PRACTICE}",
        ),
        "gelatin": Material(
            1.20, 3.0, 1.0, 0.1, 0.5, 1.0, 0.1, process="melted and cast",
            shrink_least_percent=1, shrink_most_percent=5,
            source="density from memory (1.15-1.25); shrinkage from memory (1-5 %, drifts as water leaves); stretch "
            f"from memory (100-300 %); {PRACTICE}",
        ),
        "urethane": Material(
            1.06, 0.5, 3.0, 0.1, 0.3, 0.8, 0.15, process="cast",
            source="density from memory (1.02-1.10); shrinkage from memory; stretch from memory (300-800 %); "
            "" + PRACTICE,
        ),
        "acrylic": Material(
            1.18, 0.4, 0.0, 0.5, 1.0, 1.5, draft_deg=1.0, process="heat-cured in a flask",
            shrink_least_percent=0.2, shrink_most_percent=0.5,
            source="density from memory (1.17-1.20); shrinkage 0.2-0.5 % linear (texts); wall 1.0 of a snap-on tooth "
            "common practice, no source, 1.5 from memory (denture base 1.5-2.5 mm); draft a general rule for rigid "
            "moulds (1-3 degrees); edge common practice, no source",
        ),
        "bronze": Material(
            8.80, 1.3021, 0.0, 0.5, 1.0, 1.5, draft_deg=1.0,
            process="sand cast; of wax, its own shrinkage comes to it",
            shrink_of=OF_PIECE, shrink_least_percent=1.30, shrink_most_percent=1.57,
            source="density UNS C90300 0.318 lb/in3 (ASTM B505 sheets); shrinkage 5/32 in/ft added to a pattern for "
            "sand (Dooley, Applied Science for Metal Workers; other pattern tables 3/16; no figure for investment "
            "casting was found, and the wax's is not in it: ask the foundry); wall from memory (investment 1.0-1.5, "
            "sand 3-5 mm); "
            "draft a general rule for rigid moulds; edge common practice, no source",
        ),
        "bronze_c90500": Material(
            8.72, 1.3021, 0.0, 0.5, 1.0, 1.5, draft_deg=1.0,
            process="sand cast; of wax, its own shrinkage comes to it",
            shrink_of=OF_PIECE, shrink_least_percent=1.30, shrink_most_percent=1.57,
            source="density UNS C90500 0.315 lb/in3 (ASTM B505 sheets); the rest as bronze: shrinkage 5/32 in/ft, "
            "wall from memory, edge common practice, no source",
        ),
        "brass": Material(
            8.53, 1.5625, 0.0, 0.5, 1.0, 1.5, draft_deg=1.0,
            process="sand cast; of wax, its own shrinkage comes to it",
            shrink_of=OF_PIECE, shrink_least_percent=1.56, shrink_most_percent=1.83,
            source="density UNS C26000 from memory; shrinkage 3/16 to 7/32 in/ft added to a pattern for sand (pattern "
            "tables; no figure for investment casting was found); wall from memory; edge "
            "common practice, no source",
        ),
        "aluminium": Material(
            2.70, 1.5625, 0.0, 0.5, 1.0, 1.5, draft_deg=1.0,
            process="sand cast; of wax, its own shrinkage comes to it",
            shrink_of=OF_PIECE, shrink_least_percent=1.30, shrink_most_percent=1.83,
            source="density 6061 from memory; shrinkage 5/32-7/32 in/ft added to a pattern for sand, the middle "
            "(pattern tables; no figure for investment casting was found); wall from "
            "memory; edge common practice, no source",
        ),
        "printed_resin": Material(
            1.18, 0.0, 0.0, 0.3, 0.5, 1.0, process="printed, vat resin",
            source="density from memory (1.15-1.20 cured); shrinkage left to the printer's own scaling; wall "
            "0.5-1.0 mm (service-bureau tables, which differ by 2x); edge common practice, no source",
        ),
        "printed_pla": Material(
            1.24, 0.0, 0.0, 0.6, 0.8, 1.2, process="printed, filament",
            source="density from memory; shrinkage left to the printer's own scaling; wall 0.8-1.2 mm "
            "(service-bureau tables; 0.8 supported, 1.0 free); edge: embossed detail 0.6 mm (a bureau's page)",
        ),
        "printed_nylon": Material(
            1.01, 0.0, 0.0, 0.5, 0.7, 0.8, process="printed, sintered powder",
            source="density from memory; shrinkage left to the printer's own scaling; wall 0.7-0.8 mm "
            "(service-bureau tables); edge common practice, no source",
        ),
        "printed_metal": Material(
            7.9, 0.0, 0.0, 0.4, 0.4, 0.5, process="printed, metal powder bed",
            source="density of stainless steel from memory; shrinkage left to the printer's own scaling; wall "
            "0.4-0.5 mm (service-bureau tables); edge common practice, no source",
        ),
    }
)  # fmt: skip
"""Material classes known without a brief; a brief may replace or add to them."""
