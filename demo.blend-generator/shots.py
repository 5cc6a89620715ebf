"""Where the show's stills camera stands."""

SHOT_CAMERA_MM = (420.0, -1500.0, 60.0)
"""Three-quarter, a little above eye level, 1.6 m away."""
SHOT_TARGET_MM = (0.0, -20.0, -5.0)
SHOT_LENS_MM = 135.0
