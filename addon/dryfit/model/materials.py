"""Generic classes of material: how heavy, how it shrinks, stretches and thins, and where each figure comes from.

Every figure is editable under ``[materials.NAME]`` in the brief. None is a maker's data sheet: ask the shop.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from .arrays import FloatArray

SOLID, SKINNED, FOAM = "solid", "skinned", "foam"
"""How a soft piece is made up: one rubber through and through; soft under a stiffer skin, as an encapsulated gel or
thick paint; full of air, so that it gives in volume."""
RIGID_MOULD, FLEXIBLE_MOULD = "rigid", "flexible"
"""What a piece is cast in: gypsum, resin or fibreglass; or rubber held in a rigid jacket, which is peeled off it."""
MAKES = (SOLID, SKINNED, FOAM)
OF_MOULD, OF_PIECE = "mould", "piece"
"""What a shrinkage is a share of: the mould's length (piece = mould x (1 - s)), or the piece's (a shrink rule)."""
MELTS, COVERED = "melts", "covered"
"""What becomes of an edge on the skin: dissolved or melted into it, or only covered over."""


NOT_STATED = 0.0
"""A density that nobody stated: what is made of it is not weighed."""


@dataclass(frozen=True)
class Material:
    """A generic class of material.

    Attributes
    ----------
    density_g_cm3
        Density; 0 means that none is stated.
    shrink_percent
        Linear shrinkage from mould to piece.
    max_strain
        Stretch the piece survives, as a fraction (2.0 = three times its length); 0 marks a rigid material.
    min_edge_mm
        Thinnest edge it can be cast or printed with; 0 means not known. An edge sculpted thinner comes out this thick
        or not at all.
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
    stiffness_kpa
        Young's modulus at small stretch, of the core where it is encapsulated; 0 means not known.
    skin_mm, skin_stiffness_kpa, skin_max_strain
        The skin that encapsulates a soft core, on each of its two faces: thickness, Young's modulus, stretch at which
        it breaks. 0 mm means that the piece is one material throughout.
    edge_work
        ``melts``: its edge can be dissolved into the skin; ``covered``: it can only be filled or stippled over.
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
    stiffness_kpa: float = 0.0
    skin_mm: float = 0.0
    skin_stiffness_kpa: float = 0.0
    skin_max_strain: float = 0.0
    edge_work: str = COVERED

    @property
    def breaks_at(self) -> float:
        """Stretch at which the first of it breaks, as a fraction: of an encapsulated piece, core or skin."""
        return min(self.max_strain, self.skin_max_strain) if self.skin_mm and self.skin_max_strain else self.max_strain

    @property
    def stiffness_known(self) -> bool:
        """Whether its stiffness is known, and its skin's where it has one."""
        return self.stiffness_kpa > 0.0 and (not self.skin_mm or self.skin_stiffness_kpa > 0.0)

    def film_n_m(self, thick_mm: FloatArray) -> FloatArray:
        """Return how a sheet of it resists being stretched, ``(k,)``, N/m: Young's modulus times thickness.

        Both skins of an encapsulated one count for what they are; a sheet thinner than both is skin throughout.

        Parameters
        ----------
        thick_mm
            Thickness of the whole sheet, ``(k,)``, mm; kPa times mm is N/m.
        """
        skins_mm = np.minimum(2.0 * self.skin_mm, thick_mm)
        resists: FloatArray = self.stiffness_kpa * (thick_mm - skins_mm) + self.skin_stiffness_kpa * skins_mm
        return resists

    def bending_kpa(self, thick_mm: FloatArray) -> FloatArray:
        """Return the Young's modulus of a uniform sheet that bends as one of this material does, ``(k,)``, kPa.

        Skins lie furthest from the middle, so they count by the cube: a layered plate about its own middle
        (Timoshenko & Woinowsky-Krieger 1959, Theory of Plates and Shells).
        """
        core = np.clip(1.0 - 2.0 * self.skin_mm / np.maximum(thick_mm, 1e-9), 0.0, 1.0) ** 3
        bends: FloatArray = self.stiffness_kpa * core + self.skin_stiffness_kpa * (1.0 - core)
        return bends

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
            f"memory (Lewis & Castleberry 1980, J Prosthet Dent 43:426-432: 400-800 %); {PRACTICE}"
            "; stiffness from memory (softened appliance silicone to Shore A 10: 100-400 kPa); edge can be "
            "filled, not dissolved: common practice, no source",
            stiffness_kpa=200.0,
        ),
        "silicone_gel": Material(
            1.00, 0.1, 6.0, 0.05, 0.3, 0.8, 0.2, process="cast, encapsulated", make=SKINNED,
            shrink_least_percent=0, shrink_most_percent=0.1,
            source=f"density from memory (0.98-1.07); shrinkage as silicone; stretch from memory (600-1,000 %); "
            f"{PRACTICE}"
            "; core's stiffness from memory (10-60 kPa); skin of cap plastic, some layers brushed into both "
            "halves of the mould: thickness and stiffness no source, ask the shop; it breaks at 200 % or more "
            "(a maker's page on polyvinyl butyral film); its edge melts under solvent: common practice, no "
            "source",
            stiffness_kpa=30.0, skin_mm=0.05, skin_stiffness_kpa=1000.0,
            skin_max_strain=2.0, edge_work=MELTS,
        ),
        "tin_silicone": Material(
            1.10, 1.0, 3.0, 0.1, 0.15, 0.5, 0.2, process="cast, condensation cure",
            shrink_least_percent=0.8, shrink_most_percent=1.2,
            source=f"density from memory; shrinkage 0.8-1.2 % (a lexicon page); stretch from memory; {PRACTICE}"
            "; stiffness from memory; edge can be filled, not dissolved: common practice, no source",
            stiffness_kpa=300.0,
        ),
        "foam_latex": Material(
            0.15, 5.0, 2.0, 0.1, 0.3, 1.0, 0.15, process="foamed and baked", make=FOAM,
            shrink_least_percent=3, shrink_most_percent=10,
            source="density from memory (0.12-0.25); shrinkage from memory (3-10 %, mould and bake decide); stretch "
            f"from memory (200-500 %); {PRACTICE}"
            "; stiffness of an open foam, (0.16)2 of rubber's 1.5 MPa (Gibson & Ashby 1997, Cellular Solids, "
            "from memory); edge can be stippled over, not dissolved: common practice, no source",
            stiffness_kpa=40.0,
        ),
        "gelatin": Material(
            1.20, 3.0, 1.0, 0.1, 0.5, 1.0, 0.1, process="melted and cast",
            shrink_least_percent=1, shrink_most_percent=5,
            source="density from memory (1.15-1.25); shrinkage from memory (1-5 %, drifts as water leaves); stretch "
            f"from memory (100-300 %); {PRACTICE}"
            "; stiffness of four parts water on one of gelatin, between 4 kPa (20 to 1) and 277 kPa (2 to 1): "
            "Bonavia 2025, arXiv 2512.20502 (abstract); edge melts under warm water: common practice, no source",
            stiffness_kpa=80.0, edge_work=MELTS,
        ),
        "urethane": Material(
            1.06, 0.5, 3.0, 0.1, 0.3, 0.8, 0.15, process="cast",
            source="density from memory (1.02-1.10); shrinkage from memory; stretch from memory (300-800 %); "
            f"{PRACTICE}; stiffness from memory; edge can be filled, not dissolved: common practice, no source",
            stiffness_kpa=300.0,
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
