"""What makes a motion, in words: shape keys with their values, a hinge, or the jaw's way to a side or forward."""

from ..model.brief import ExcursionBrief, HingeBrief, MotionBrief, Way
from ..performer.motion.excursion import AMOUNTS_MM

WAY_WORDS = {Way.LEFT: "to the left", Way.RIGHT: "to the right", Way.AHEAD: "forward"}


def made_of(motion: MotionBrief) -> str:
    """Return what makes a motion, with its figures."""
    if motion.hinge is not None:
        return _hinge_words(motion.hinge)
    if motion.excursion is not None:
        return _excursion_words(motion.excursion)
    if motion.bone is not None:
        bone, (start, end) = motion.bone, motion.bone.rotation_deg
        return f"bone {bone.name} of {bone.armature}, {start:g}° to {end:g}° about {bone.axis}"
    if motion.property is not None:
        control, (start, end) = motion.property, motion.property.values
        return f"{control.name} of {control.object}, {start:g} to {end:g}"
    if motion.frames is not None:
        return f"animation, frames {motion.frames[0]:g} to {motion.frames[1]:g}"
    keys = ", ".join(f"{key} {start:g} to {end:g}" for key, (start, end) in motion.keys.items())
    return keys or "no shape key"


def icon_of(motion: MotionBrief) -> str:
    """Return the icon that goes with the words."""
    if motion.hinge is not None:
        return "DRIVER_ROTATIONAL_DIFFERENCE"
    if motion.is_of_rig():
        return "BONE_DATA"
    return "ORIENTATION_LOCAL" if motion.excursion is not None else "SHAPEKEY_DATA"


def _hinge_words(hinge: HingeBrief) -> str:
    axis = ", axis stated" if hinge.axis_left_mm else ""
    return f"hinge, opens {hinge.open_deg:g}°{axis}"


def _excursion_words(excursion: ExcursionBrief) -> str:
    if excursion.amount_mm is None:
        amount = f"{AMOUNTS_MM[excursion.way]:g} mm (published mean)"
    else:
        amount = f"{excursion.amount_mm:g} mm"
    return f"lower jaw {WAY_WORDS[excursion.way]} by {amount}, teeth parted {excursion.part_mm:g} mm"
