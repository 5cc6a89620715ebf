"""The unit that a measure's name carries: read here and nowhere else."""

import re

WITHIN = re.compile(r"_(n_cm|g_cm2|j_m2|cm2|mm2|mm3|mm|deg|fraction)(?=_|$)")
LAST = re.compile(r"_(g|count|t)$")
COUNTS = ("pairs", "moved_vertices", "moved_vertices_count", "stations")


def unit_of(measure: str) -> str:
    """Return the unit a measure's name carries (``mm``, ``mm2``, ``fraction`` ...), or ``""``."""
    if measure in COUNTS:
        return "count"
    stem = measure.split(".")[0]
    found = WITHIN.search(stem) or LAST.search(stem)
    return found[1] if found else ""
