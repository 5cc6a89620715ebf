"""From Blender units to millimetres: the one place where it happens.

``mm = blender units x scale_length x 1000``, whatever unit the scene displays. Blender's own unit is the
metre times the scene's unit scale; a scene whose unit system is "None" shows bare numbers, and the same
rule holds for it, said in a note. Nothing is rescaled because it looks wrong.
"""

import numpy as np

from .blender import BlenderScene

MM_PER_METRE = 1000.0


def mm_per_unit(scene: BlenderScene) -> float:
    """Return the millimetres in one Blender unit of the scene.

    Blender stores the scale in single precision; its shortest decimal is what the user typed.
    """
    return float(str(np.float32(scene.unit_settings.scale_length))) * MM_PER_METRE


def unit_notes(scene: BlenderScene) -> tuple[str, ...]:
    """Return what to tell about the scene's units: something only where they are not displayed."""
    if scene.unit_settings.system != "NONE":
        return ()
    return (
        f"The scene's unit system is None; one Blender unit was taken as {mm_per_unit(scene):g} mm, "
        "its unit scale in metres. Set a unit system to see the sizes.",
    )
