"""A small studio: a soft key light, a weaker fill, a rim light from behind, and a sky."""

import numpy as np

from ...model.arrays import FloatArray
from .shot import Shot

KEY, FILL, BEHIND = (-0.55, 0.55, 0.75), (0.75, 0.10, 0.60), (0.55, 0.60, -0.70)
"""Directions to the lights as right, up, toward the viewer: placed about the camera, as in a portrait."""
KEY_LIGHT, FILL_LIGHT, RIM_LIGHT, SKY_LIGHT, GROUND_LIGHT = 0.72, 0.20, 0.22, 0.34, 0.16
RAKING, RAKING_SHARE = (-0.93, 0.30, 0.20), 0.15
"""A light that grazes what is looked at shows the least step; less of it comes from all round."""
WRAP = 0.25
"""How far soft light reaches round an edge, as a share."""
EXPOSURE = 1.02
GLOSS_SQUARINGS = 5
"""The highlight's power is 2 to this, 32."""
PAINTED_FLOOR = 0.62
"""Painted surfaces keep at least this share of their colour in shadow, so that the scale can be read off them."""


def studio_light(shot: Shot, openness: FloatArray, raking: bool = False) -> FloatArray:
    """Return how brightly each sample is lit, ``(s,)``, about 1 where it faces the key light.

    Parameters
    ----------
    shot
        The samples.
    openness
        Share of the surroundings each sample sees, ``(s,)``.
    raking
        Whether the key light grazes what is looked at.
    """
    upright = shot.normal @ shot.viewpoint.up
    key = _wrapped(shot.normal @ _direction(shot, RAKING if raking else KEY)) * (0.35 + 0.65 * openness)
    fill = _wrapped(shot.normal @ _direction(shot, FILL)) * openness
    facing = np.clip(-np.einsum("sx,sx->s", shot.normal, shot.ray), 0.0, 1.0)
    rim = np.clip(shot.normal @ _direction(shot, BEHIND), 0.0, 1.0) * (1 - facing) ** 2
    sky = openness * (GROUND_LIGHT + (SKY_LIGHT - GROUND_LIGHT) * (0.5 + 0.5 * upright))
    light: FloatArray = EXPOSURE * (KEY_LIGHT * key + FILL_LIGHT * fill + RIM_LIGHT * rim + sky)
    return light


def painted_light(light: FloatArray) -> FloatArray:
    """Return gentler light for painted samples: shape stays visible, colour stays readable."""
    return PAINTED_FLOOR + (1.0 - PAINTED_FLOOR) * np.clip(light, 0.0, 1.05)


def gloss(shot: Shot, openness: FloatArray) -> FloatArray:
    """Return the highlight of the key light, ``(s,)``, after Blinn 1977 (half vector to a power)."""
    half = _direction(shot, KEY) - shot.ray
    length = np.sqrt(np.einsum("sx,sx->s", half, half))
    cosine = np.clip(np.einsum("sx,sx->s", shot.normal, half) / np.maximum(length, 1e-12), 0.0, 1.0)
    for _ in range(GLOSS_SQUARINGS):
        cosine = cosine * cosine
    return cosine * openness


def _direction(shot: Shot, about_camera: tuple[float, float, float]) -> FloatArray:
    view = shot.viewpoint
    direction = np.stack([view.right, view.up, view.toward]).T @ np.array(about_camera)
    unit: FloatArray = direction / np.linalg.norm(direction)
    return unit


def _wrapped(cosine: FloatArray) -> FloatArray:
    return np.clip((cosine + WRAP) / (1 + WRAP), 0.0, 1.0)
