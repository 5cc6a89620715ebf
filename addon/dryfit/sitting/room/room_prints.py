"""Is the room still true of the scene? It is measured on the bare head: what is sculpted over it changes nothing.

The weight that is left is another matter, for what is worn counts in it; it is told apart.
"""

from collections.abc import Iterator, Mapping
from typing import Any

from ...model.errors import InputError
from ...model.snapshot import Role
from ...scene.landmarks import RIM, rim_objects
from ...scene.roles import played_roles
from ..open_design import scene_brief
from ..still_true.design_prints import (
    BRIEF,
    LANDMARKS,
    LIMITS,
    MOTIONS,
    UNIT,
    changed_since,
    design_prints,
    measured_from,
    note_measured,
    parts_of,
    renamed_parts,
)
from ..still_true.digest import digest
from ..still_true.outdated import cause_words
from ..still_true.shape_prints import ShapePrints
from .room_names import CHECK, WEIGHT

HEAD = (Role.BASE, Role.UPPER_TEETH, Role.LOWER_TEETH, Role.EYE_LEFT, Role.EYE_RIGHT)
"""What a room is measured on; the rest is worn."""
MATERIALS = "figures of materials"
SETTLED = "drawn rims or the brief's [room]"
FIGURES = (LIMITS, MOTIONS, BRIEF, UNIT, LANDMARKS)


def note_room(scene: Any, prints: Mapping[str, str]) -> None:
    """Remember what the room was measured from.

    Raises
    ------
    InputError, OSError
        When the scene's roles cannot be read.
    """
    note_measured(scene, [CHECK], _of_head(scene, prints))
    note_measured(scene, [WEIGHT], _with_materials(scene, prints))


def room_outdated(scene: Any, shapes: ShapePrints | None = None) -> str:
    """Return why the room no longer holds, or ``""``; where the scene cannot be read, that.

    Parameters
    ----------
    shapes
        What is known of the parts' shapes; None reads every one.
    """
    return _outdated(scene, CHECK, shapes)


def weight_outdated(scene: Any, shapes: ShapePrints | None = None) -> str:
    """Return why the weight that is left no longer holds, or ``""``."""
    return _outdated(scene, WEIGHT, shapes)


def _outdated(scene: Any, what: str, shapes: ShapePrints | None) -> str:
    then = measured_from(scene).get(what)
    if then is None:
        return "Nobody noted what it was measured from"
    try:
        now = design_prints(scene, shapes)
        now = _of_head(scene, now) if what == CHECK else _with_materials(scene, now)
    except (InputError, OSError) as error:
        return f"Not known whether this still holds: {error}"
    changed = changed_since(what, then, now, renamed_parts(scene))
    return cause_words(changed) if changed else ""


def _with_materials(scene: Any, prints: Mapping[str, str]) -> dict[str, str]:
    """Add the figures of all materials, also of those that nothing is made of yet."""
    figures = sorted(scene_brief(scene).materials.items())
    return {**prints, MATERIALS: digest([repr(figures).encode()])}


def _of_head(scene: Any, prints: Mapping[str, str]) -> dict[str, str]:
    counted = {*FIGURES, *_head_parts(scene)}
    settled = digest([repr(scene_brief(scene).room).encode(), *_drawn(scene)])
    return {SETTLED: settled} | {name: value for name, value in prints.items() if name in counted}


def _drawn(scene: Any) -> Iterator[bytes]:
    """Yield what the lines look like that draw rims."""
    shapes = ShapePrints()
    for item in rim_objects(scene.objects):
        yield f"{item[RIM]} {item.name} {shapes.of(item).surface} {[*map(tuple, item.matrix_world)]}".encode()


def _head_parts(scene: Any) -> Iterator[str]:
    played = played_roles(scene.objects, scene_brief(scene))
    yield from parts_of(each for each in played if each.role in HEAD)
