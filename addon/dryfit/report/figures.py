"""The few figures that stand for a check, each beside the limit it was held against."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from ..checks.check import Check
from ..model.report import CheckResult
from .wording import measure_name, measure_said, unit_of, with_unit

NAN = float("nan")


@dataclass(frozen=True)
class Key:
    """A measure worth the front page, in short words, with its limit's name; ``at_least`` where more is better."""

    measure: str
    words: str = ""
    limit: str = ""
    at_least: bool = False


KEYS: Mapping[str, tuple[Key, ...]] = MappingProxyType(
    {
        "base_lock": (Key("max_change_mm", "largest change"), Key("moved_vertices", "vertices that moved")),
        "additive": (
            Key("max_depth_mm", "deepest below the base", "additive_tolerance_mm"),
            Key("subtractive_area_mm2", "area below the base"),
            Key("max_thickness_mm", "thickest place"),
        ),
        "edge": (
            Key("rim_thickness_p95_mm", "rim thickness, 95 % is under", "rim_thickness_mm"),
            Key("rim_over_limit_mm", "length of rim over the limit"),
            Key("blend_width_median_mm", "width of the blend, median", "blend_width_mm", at_least=True),
        ),
        "closure": (
            Key("closes", "lips meet"),
            Key("residual_gap_mm", "gap left between the lips", "lip_seal_mm"),
            Key("max_opening_mm", "widest opening", "opening_mm", at_least=True),
        ),
        "coverage": (
            Key("display_height_mm", "height of tooth shown, worst view", "tooth_display_mm"),
            Key("exposed_area_mm2", "area of tooth shown, worst view"),
            Key("exposed_fraction", "share of the teeth shown"),
        ),
        "interference": (
            Key("hard_penetration_mm", "teeth and hardware in each other", "overlap_hard_mm"),
            Key("flesh_penetration_mm", "pressed into lips, skin or soft pieces", "overlap_flesh_mm"),
            Key("soft_penetration_mm", "worn pieces in each other", "overlap_soft_mm"),
        ),
        "thickness": (
            Key("min_interior_mm", "thinnest place inside the rim", "interior_mm", at_least=True),
            Key("thin_area_mm2", "area that is too thin"),
            Key("thick_area_mm2", "area that is too thick to move"),
        ),
        "strain": (
            Key("max_stretch", "largest stretch, times the length at rest"),
            Key("stretch_p99", "stretch that 99 % of the area stays under"),
            Key("rim_in_motion_mm", "length of rim on moving skin"),
        ),
        "blink": (
            Key("residual_gap_mm_left", "gap left between the left lids", "lid_gap_mm"),
            Key("residual_gap_mm_right", "gap left between the right lids", "lid_gap_mm"),
            Key("eye_clearance_mm", "nearest piece to an eye", "eye_clearance_mm", at_least=True),
        ),
        "sightline": (
            Key("horizontal_deg", "width of sight", "sight_width_deg", at_least=True),
            Key("up_deg", "sight upward"),
            Key("down_deg", "sight downward"),
        ),
        "airway": (
            Key("nostril_open_fraction_left", "left nostril left open", "nostril_open", at_least=True),
            Key("nostril_open_fraction_right", "right nostril left open", "nostril_open", at_least=True),
            Key("mouth_open_area_mm2", "opening of the mouth, wide open"),
        ),
        "load": (
            Key("mass_g", "everything worn", "head_mass_g"),
            Key("piece_mass_g", "heaviest piece", "piece_mass_g"),
            Key("moment_n_cm", "turning load on the neck", "head_moment_n_cm"),
        ),
        "release": (
            Key("undercut_area_mm2", "area of undercuts, best pull"),
            Key("undercut_overhang_mm", "largest overhang"),
            Key("give_used_fraction", "overhang, of what the casting gives"),
            Key("wall_min_mm", "thinnest wall"),
        ),
    }
)
FIRST_OF_OTHERS = 3


@dataclass(frozen=True)
class Figure:
    """One measured figure, ready to be said.

    Attributes
    ----------
    measure, words, value, unit
        Name, description, figure (nan or text allowed) and unit.
    limit
        What it is held against, in the same unit; nan where nothing.
    at_least
        True where a figure below the limit is the worse one.
    """

    measure: str
    words: str
    value: float | str
    unit: str
    limit: float = NAN
    at_least: bool = False

    @property
    def said(self) -> str:
        """The figure with its unit."""
        return measure_said(self.measure, self.value)

    @property
    def limit_said(self) -> str:
        """The limit in words, or ``""``."""
        if not math.isfinite(self.limit):
            return ""
        return f"{'at least' if self.at_least else 'at most'} {with_unit(self.limit, self.unit)}"

    @property
    def measurable(self) -> bool:
        """Whether the figure and its limit can be drawn on one strip."""
        return isinstance(self.value, int | float) and math.isfinite(self.value) and math.isfinite(self.limit)


def key_figures(result: CheckResult, limits: Mapping[str, Any], check: Check | None = None) -> tuple[Figure, ...]:
    """Return the figures for the check's row: those listed for it, or the first few it has."""
    keys: Sequence[Key] = KEYS.get(result.id, ())
    keys = [key for key in keys if key.measure in result.measures]
    if not keys:
        keys = [Key(measure) for measure in list(result.measures)[:FIRST_OF_OTHERS]]
    return tuple(_figure(key, result, limits, check) for key in keys)


def all_figures(result: CheckResult, check: Check | None = None) -> tuple[Figure, ...]:
    """Return every measure of a check, in its own order."""
    return tuple(_figure(Key(measure), result, {}, check) for measure in result.measures)


def _figure(key: Key, result: CheckResult, limits: Mapping[str, Any], check: Check | None) -> Figure:
    words = dict(check.measured) if check else {}
    return Figure(
        measure=key.measure,
        words=key.words or words.get(key.measure, measure_name(key.measure)),
        value=result.measures[key.measure],
        unit=unit_of(key.measure),
        limit=_limit(limits, key.limit),
        at_least=key.at_least,
    )


def _limit(limits: Mapping[str, Any], name: str) -> float:
    return float(limits[name]["value"]) if name in limits else NAN
