"""What can be wrong with a scene or a file that only Blender can read."""

from collections.abc import Iterable, Sequence

from ..model.errors import InputError

MOST_LISTED = 12
"""So many names of what there is stand in a complaint."""


class BlenderMissing(InputError):
    """Neither Blender nor its Python module is there."""

    def __init__(self) -> None:
        super().__init__(
            "Reading .blend and mesh files needs Blender. Install its Python module with "
            "pip install '.[blender]' in a clone of Dryfit, or run inside Blender: "
            "blender -b FILE --command dryfit check FILE. Saved .npz snapshots need neither."
        )


class OpenFileAtRisk(InputError):
    """Reading a file from disk would close what is open in a Blender window."""

    def __init__(self, source: str) -> None:
        super().__init__(
            f"{source}: reading a file from disk would close the one that is open in this window. "
            "Measure the open scene instead, or run blender in the background (blender -b)."
        )


class WritesWhenEvaluated(InputError):
    """A file that cannot be saved again without running what writes to disk."""

    def __init__(self, source: str, found: Iterable[str]) -> None:
        super().__init__(
            f"{source}: it was not written: saving it evaluates it, and {', '.join(found)} would write files of its "
            "own then. Open it in Blender and do it in the sidebar, or bake or remove the simulation."
        )


class ScriptedCamera(InputError):
    """A camera that is a program."""

    def __init__(self, name: str) -> None:
        super().__init__(
            f"The camera '{name}' is a program (OSL), which is not run for a file from disk. "
            "Name another one with --camera, or render in Blender's sidebar."
        )


class UnknownRole(InputError):
    """An object carries a role that does not exist."""

    def __init__(self, name: str, role: object, nearest: str, roles: Iterable[str]) -> None:
        hint = f" Did you mean '{nearest}'?" if nearest else ""
        super().__init__(f"'{name}' has the unknown role {role!r}.{hint} Roles: {', '.join(roles)}.")


class TwoRoles(InputError):
    """Two patterns of the brief, equally exact, give one object two roles."""

    def __init__(self, name: str, first: str, second: str, source: str) -> None:
        super().__init__(
            f"{source}: [roles] gives '{name}' two roles, {first} and {second}. "
            "Write the object's full name under the one that is meant."
        )


class TwoLandmarks(InputError):
    """Two objects claim to be the same landmark."""

    def __init__(self, landmark: str, names: list[str]) -> None:
        super().__init__(
            f"{len(names)} objects mark '{landmark}' ({', '.join(names)}). Keep one and remove "
            'the property "dryfit_landmark" from the others.'
        )


class BadStoredValue(InputError):
    """A property stored with the file does not hold what its name says."""

    def __init__(self, owner: str, name: str, why: str) -> None:
        super().__init__(f"'{owner}': the stored property '{name}' cannot be read: {why}. Set it again or delete it.")


class NoSuchObject(InputError):
    """The brief names an object that the file does not have."""

    def __init__(self, source: str, wanted: str, have: list[str]) -> None:
        super().__init__(
            f"{source}: [base] object = '{wanted}' is not there. Meshes found: {', '.join(have) or 'none'}."
        )


class BaseNotStated(InputError):
    """A file without a base, and no brief that names one."""

    def __init__(self, source: str) -> None:
        super().__init__(
            f'{source}: this file has no base. Add to the brief: [base] file = "performer.blend" '
            '(and object = "Head" where that file has several), or [roles] base = ["Head"].'
        )


class WhichBase(InputError):
    """A base file with several objects, none of them marked."""

    def __init__(self, source: str, have: list[str]) -> None:
        super().__init__(
            f"{source}: which of its {len(have)} meshes is the base is not stated "
            f"({', '.join(have) or 'none'}). "
            'Add to the brief: [base] object = "NAME".'
        )


class TopologyChanges(InputError):
    """A part has other faces in one pose than at rest, so its vertices cannot be followed."""

    def __init__(self, name: str, motion: str, t: float, rest: int, posed: int) -> None:
        super().__init__(
            f"'{name}' changes its topology in the motion '{motion}': {rest} vertices at rest, {posed} at "
            f"t = {t:g}{'' if rest != posed else ', joined differently'}. A modifier rebuilds it (remesh, "
            "boolean, decimate, geometry nodes): apply that modifier, or switch it off in the viewport."
        )


class AbsoluteKeys(InputError):
    """A motion names a key of a mesh whose keys follow a time instead of values."""

    def __init__(self, name: str, motion: str, key: str) -> None:
        super().__init__(
            f"[motions.{motion}] names '{key}' of '{name}', whose shape keys are absolute (they follow a "
            "time, not a value). Switch on Relative in its shape key panel."
        )


class KeyNotPosed(InputError):
    """A shape key did not take the value that a motion asks for."""

    def __init__(self, name: str, motion: str, key: str, wanted: float, got: float) -> None:
        super().__init__(
            f"[motions.{motion}] asks for '{key}' = {wanted:g} on '{name}', but it stays at {got:g}: "
            "values beyond -10 to 10 cannot be set, and an animation strip may hold the key. "
            "Mute that strip or change the value."
        )


class NoSuchControl(InputError):
    """A motion names an armature, bone, object or property that is not there."""

    def __init__(self, motion: str, kind: str, wanted: str, where: str, have: list[str], nearest: str) -> None:
        hint = f" Did you mean '{nearest}'?" if nearest else ""
        listed = ", ".join(have[:MOST_LISTED]) + (f" and {len(have) - MOST_LISTED} more" * (len(have) > MOST_LISTED))
        super().__init__(
            f"[motions.{motion}] names the {kind} '{wanted}', which is not in {where}.{hint} There: {listed or 'none'}."
        )


class NoNumber(InputError):
    """A motion names a property that cannot stand between two figures."""

    def __init__(self, motion: str, words: str) -> None:
        super().__init__(
            f"[motions.{motion}]: {words[0].lower()}{words[1:]} is no decimal number, so nothing lies between its two "
            "values. Make it a Float in its settings."
        )


class ControlNotPosed(InputError):
    """A bone or property of a rig did not take the figure that a motion asks for."""

    def __init__(self, motion: str, words: str, wanted: float, got: float) -> None:
        super().__init__(
            f"[motions.{motion}]: {words[0].lower()}{words[1:]} was set to {wanted:g} and stays at {got:g}: an "
            "animation strip may hold it. Mute that strip, or name the control that it leaves free."
        )


class NothingMoves(InputError):
    """A motion of a rig that moves nothing that has a role."""

    def __init__(self, motion: str) -> None:
        super().__init__(
            f"[motions.{motion}] moves no object that has a role: the rig may hang on other meshes, or be held by a "
            "constraint. Pose it in Blender and look what follows."
        )


class HeldBack(InputError):
    """A bone that turns by another angle than its motion asks for."""

    def __init__(
        self, motion: str, bone: str, wanted_deg: float, turned_deg: float, constraints: Sequence[str]
    ) -> None:
        held = f" by its constraints ({', '.join(constraints)})" if constraints else ""
        super().__init__(
            f"[motions.{motion}] turns the bone '{bone}' by {wanted_deg:.1f} degrees, and it turned by "
            f"{turned_deg:.1f}: it is held{held}. State rotation_deg as far as it goes, or the control that turns it."
        )
