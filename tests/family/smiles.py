"""Motions of skin over a mandible that stays where it is: smiles of any strength, a pull of the corners, blinks."""

import numpy as np

from dryfit.model.snapshot import Motion

PULL_REACH_MM = 38.0
BLINK = ("eyeBlinkLeft", "eyeBlinkRight")
SMILE = ("mouthSmileLeft", "mouthSmileRight")


def smile(head, strength=1.0):
    """Return the head's stored smile, ``strength`` times, as a motion of the skin alone."""
    return _of_skin("smile", head, strength * head.shaped(*SMILE))


def pull(head, corner_mm=12.0, share_of_chin=0.5):
    """Return a smile that draws the corners back and up by ``corner_mm`` and, less, all the skin of lips and chin.

    Muscles that stretch the lips draw the skin of the chin along, all of it much the same way: it looks as if the bone
    below had moved, which it has not.
    """
    moved = np.zeros_like(head.vertices_mm)
    for side in ("left", "right"):
        corner = head.vertices_mm[head.marks[f"cheilion_{side}"]]
        away = np.linalg.norm(head.vertices_mm - corner, axis=1) / (PULL_REACH_MM * head.size)
        moved += np.outer(np.exp(-4.0 * away**2), [0.35 * np.sign(corner[0]), 0.5, 0.6])
    chin = head.vertices_mm[head.marks["gnathion"]]
    near = np.exp(-2.0 * (np.linalg.norm(head.vertices_mm - chin, axis=1) / (PULL_REACH_MM * head.size)) ** 2)
    moved += np.outer(share_of_chin * near * np.where(head.outer, 1.0, 0.5), [0.0, 0.3, 0.8])
    return _of_skin("smile", head, corner_mm * moved)


def blink(head):
    """Return both eyes shut, as a motion of the skin alone."""
    return _of_skin("blink", head, head.shaped(*BLINK))


def half_blink(head, share=0.4):
    """Return lids that by themselves never shut, as a motion of the skin alone."""
    return _of_skin("blink", head, share * head.shaped(*BLINK))


def _of_skin(name, head, moved_mm):
    return Motion(name, np.array([0.0, 1.0]), {"Head": np.stack([head.vertices_mm, head.vertices_mm + moved_mm])})
