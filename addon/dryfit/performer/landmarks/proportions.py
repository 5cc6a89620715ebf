"""Published ranges of distances between landmarks, to catch a point that cannot be where it is."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from ...model.arrays import FloatArray

FARKAS = "Farkas 1994, Anthropometry of the Head and Face, young adults, mean and 4 SD either way; from memory"

NARROW_EYES = (
    "; lower end widened to 18 mm, the project's own choice: read from images the same width is 24.2 mm on average "
    "(DeAngelis et al., Ophthalmic Plast Reconstr Surg, year not seen; 122 people of 22-90 years, scatter not seen)"
)


@dataclass(frozen=True)
class Proportion:
    """A distance between two landmarks of an adult, mm.

    Attributes
    ----------
    name
        What it is called.
    ends
        The two landmarks.
    low_mm, high_mm
        Nearly every adult lies between.
    source
        Where the range comes from.
    """

    name: str
    ends: tuple[str, str]
    low_mm: float
    high_mm: float
    source: str


PROPORTIONS = (
    Proportion("width of the mouth", ("cheilion_left", "cheilion_right"), 36.0, 67.0, FARKAS),
    Proportion(
        "width of the nose", ("alare_left", "alare_right"), 23.0, 53.0,
        FARKAS + "; upper end widened to the cohort of Maxillofac Plast Reconstr Surg 2019, s40902-019-0191-7, table 9",
    ),
    Proportion(
        "distance of the inner eye corners", ("endocanthion_left", "endocanthion_right"), 22.0, 52.0,
        "means of six populations 31.2 to 38.5 mm, SD up to 3.2: review of 67 studies, PMC9029890; mean and 4 SD",
    ),
    Proportion(
        "width of the left eye", ("endocanthion_left", "exocanthion_left"), 18.0, 40.0,
        FARKAS + NARROW_EYES,
    ),
    Proportion(
        "width of the right eye", ("endocanthion_right", "exocanthion_right"), 18.0, 40.0,
        FARKAS + NARROW_EYES,
    ),
    Proportion(
        "distance of the pupils", ("pupil_left", "pupil_right"), 48.0, 79.0,
        "means 61.9 and 64.5 mm: Zhuang & Bradtmiller 2005, J Occup Environ Hyg 2(11):567, table III, "
        "and SD 3.5; from memory",
    ),
    Proportion("height of the face", ("sellion", "gnathion"), 90.0, 148.0, FARKAS + " (taken from nasion)"),
    Proportion("height of the nose", ("sellion", "subnasale"), 34.0, 68.0, FARKAS + " (taken from nasion)"),
    Proportion("height of the lower face", ("subnasale", "gnathion"), 48.0, 91.0, FARKAS),
    Proportion(
        "width of the head at the ears", ("tragion_left", "tragion_right"), 112.0, 172.0,
        "mean 138 to 146 mm, SD 6, widened; from memory",
    ),
)  # fmt: skip


LEAST_SHARE, MOST_SHARE = 0.6, 1.35
"""Below and above these shares of a range no head is found, children's included."""
LIPS = ("stomion_superius", "stomion_inferius")


def unlike_adults(landmarks: Mapping[str, FloatArray]) -> Iterator[tuple[Proportion, float, bool]]:
    """Yield the proportions outside their range, the distance, mm, and whether no head at all has it.

    Distances to the chin may be longer by as much as the lips are apart: an open mouth lengthens the face.
    """
    open_mm = float(np.linalg.norm(landmarks[LIPS[0]] - landmarks[LIPS[1]])) if landmarks.keys() >= set(LIPS) else 0.0
    for each in PROPORTIONS:
        one, other = each.ends
        if one in landmarks and other in landmarks:
            distance_mm = float(np.linalg.norm(landmarks[one] - landmarks[other]))
            longer_mm = open_mm if "gnathion" in each.ends else 0.0
            if not each.low_mm <= distance_mm <= each.high_mm + longer_mm:
                beyond = distance_mm > MOST_SHARE * each.high_mm + longer_mm
                yield each, distance_mm, beyond or distance_mm < LEAST_SHARE * each.low_mm
