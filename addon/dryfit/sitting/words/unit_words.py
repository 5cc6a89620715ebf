"""Units as they are written for a reader, in the sidebar and over the viewport."""

WORDS = {
    "mm2": "mm²",
    "mm3": "mm³",
    "deg": "°",
    "fraction": "of 1",
    "share": "of 1",
    "n_cm": "N·cm",
    "g/cm2": "g/cm²",
    "g_cm2": "g/cm²",
    "J/m2": "J/m²",
    "j_m2": "J/m²",
    "cm2": "cm²",
    "fraction of length": "of its length",
    "of the bare opening": "of bare",
    "of the ways out": "of ways out",
    "length / length at rest": "× rest",
}


def unit_word(unit: str) -> str:
    """Return a unit as it is written for a reader."""
    return WORDS.get(unit, unit)
