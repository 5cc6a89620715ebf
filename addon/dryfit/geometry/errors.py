"""What can be wrong with arrays handed to the geometry, by name."""


class GeometryError(ValueError):
    """Arrays that no surface question can be asked of."""


class NoSurface(GeometryError):
    """There is no face with an area."""

    def __init__(self, face_count: int) -> None:
        super().__init__(
            f"no surface: {face_count} faces, none with an area; give at least one triangle whose corners "
            "are not in line"
        )


class BadFaces(GeometryError):
    """Faces that are not triangles over the given vertices."""

    def __init__(self, reason: str) -> None:
        super().__init__(f"faces cannot be used: {reason}")


class BadShape(GeometryError):
    """An array whose shape or type is not the one asked for."""

    def __init__(self, name: str, wanted: str, found: str) -> None:
        super().__init__(f"{name} must be {wanted}, not {found}")


class NotFinite(GeometryError):
    """Coordinates that are infinite or not a number."""

    def __init__(self, name: str, bad_rows: int, rows: int, first: int) -> None:
        super().__init__(
            f"{name}: {bad_rows} of {rows} rows are not finite (the first is row {first}); remove or repair them"
        )
