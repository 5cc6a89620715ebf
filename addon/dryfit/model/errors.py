"""What can be wrong with an input: every error says what, where, how many and what to do."""

from .sentences import quoted


class DryfitError(Exception):
    """Anything Dryfit itself raises. The command line turns it into exit code 2."""


class InputError(DryfitError):
    """The input cannot be used as it is."""


class MissingRole(InputError):
    """No object carries a role that is needed."""

    def __init__(self, role: str, source: str) -> None:
        super().__init__(
            f"{source}: no object has the role '{role}'. "
            f'Set object["dryfit_role"] = "{role}" on one object, or name it under [roles] in the brief.'
        )


class TooManyBases(InputError):
    """More than one object claims to be the performer's scan."""

    def __init__(self, names: list[str], source: str) -> None:
        super().__init__(
            f"{source}: {len(names)} objects have the role 'base' ({', '.join(names)}). "
            "Keep one base and set the others to 'ignore'."
        )


class NoFaces(InputError):
    """A mesh that has to be measured has no faces."""

    def __init__(self, name: str, vertices: int) -> None:
        super().__init__(
            f"'{name}' has {vertices} vertices and no faces, so it has no surface to measure. "
            "Export or join the faces, or set its role to 'ignore'."
        )


class NotFiniteCoordinates(InputError):
    """Coordinates that are not numbers."""

    def __init__(self, name: str, bad: int, total: int) -> None:
        super().__init__(
            f"'{name}': {bad} of {total} vertices have coordinates that are not finite numbers. "
            "Delete those vertices or export the mesh again."
        )


class BadFaceIndex(InputError):
    """Faces that name vertices that do not exist."""

    def __init__(self, name: str, bad: int, vertices: int) -> None:
        super().__init__(f"'{name}': {bad} faces name a vertex outside 0..{vertices - 1}. Export the mesh again.")


class ZeroArea(InputError):
    """A mesh whose every face has no area."""

    def __init__(self, name: str, faces: int) -> None:
        super().__init__(f"'{name}': all {faces} faces have zero area. Export the mesh again.")


class ImplausibleSize(InputError):
    """A head that cannot be a head in the stated unit."""

    def __init__(self, name: str, size_mm: float, guess: str) -> None:
        super().__init__(
            f"'{name}' is {size_mm:.4g} mm across; a head scan is 100 to 600 mm. {guess} "
            "Nothing was rescaled: units are never guessed. Correct the scene's unit scale, "
            "or [units] mesh_files in the brief."
        )


class PieceInAnotherUnit(InputError):
    """A piece that would sit on the base in another unit, and does not in the stated one."""

    def __init__(self, name: str, size_mm: float, base_mm: float, guess: str) -> None:
        super().__init__(
            f"'{name}' is {size_mm:.4g} mm across on a base of {base_mm:.4g} mm and does not sit on it. {guess} "
            "Nothing was rescaled: units are never guessed. Export it in the unit of the base, "
            "or correct [units] mesh_files in the brief."
        )


class SameName(InputError):
    """Two parts under one name, which no finding could tell apart."""

    def __init__(self, names: list[str], source: str) -> None:
        super().__init__(f"{source}: {len(names)} names are used twice ({', '.join(names)}). Rename one part of each.")


class MisfitFrames(InputError):
    """Key frames or areas made for another mesh than the part they belong to."""

    def __init__(self, name: str, what: str, found: int, vertices: int) -> None:
        super().__init__(
            f"'{name}': {what} is made for {found} vertices, but the part has {vertices}. Save the design again."
        )


class LandmarkNowhere(InputError):
    """Landmarks without a place."""

    def __init__(self, names: list[str], source: str) -> None:
        super().__init__(
            f"{source}: {len(names)} landmarks have coordinates that are no finite numbers, or over 1 km from the "
            f"origin ({', '.join(names)}). "
            "Place them again."
        )


class UnknownKey(InputError):
    """A key of the brief that means nothing."""

    def __init__(self, where: str, key: str, nearest: str, source: str) -> None:
        hint = f" Did you mean '{nearest}'?" if nearest else ""
        what = f"[{quoted(where)}] has no key" if where else "there is no table or key"
        super().__init__(f"{source}: {what} '{quoted(key)}'.{hint}")


class BadValue(InputError):
    """A value of the brief of the wrong kind or out of range."""

    def __init__(self, where: str, key: str, wanted: str, got: object, source: str) -> None:
        place = f"[{quoted(where)}] {quoted(key)}" if where else quoted(key)
        super().__init__(f"{source}: {place} must be {wanted}; it is {quoted(repr(got))}.")


class UnitsNotStated(InputError):
    """A mesh file without a unit, and no brief that states one."""

    def __init__(self, source: str) -> None:
        super().__init__(
            f"{source}: this kind of file carries no unit and none is stated. "
            'Add to the brief: [units] mesh_files = "mm" (or "cm", "m", "in"). Units are never guessed.'
        )


class UnreadableFile(InputError):
    """A file that cannot be opened as what its name says."""

    def __init__(self, source: str, why: str) -> None:
        super().__init__(f"{source}: cannot be read: {why}")


class UnwritableOutput(InputError):
    """A place where nothing can be written."""

    def __init__(self, place: str, why: str, advice: str = "Choose another folder with --out.") -> None:
        super().__init__(f"{place}: cannot be written: {why}. {advice}")


class MissingKey(InputError):
    """A motion names a shape key no object has."""

    def __init__(self, motion: str, key: str, available: list[str]) -> None:
        have = ", ".join(available) if available else "none"
        super().__init__(f"[motions.{motion}] names the shape key '{key}', which no object has. Keys found: {have}.")
