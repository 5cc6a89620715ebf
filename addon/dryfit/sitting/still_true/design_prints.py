"""What a result was measured from, as a hash for each part: pose and frame do not count, the sculpt does.

A picture is rendered in any pose and at any frame; the design is the same. So the hashes are taken of what is stored,
not of what is shown: the mesh with its shape keys, modifiers, role, material and place, the landmarks, and the
figures it is held against. What animation and drivers set is left out, and so are the values of shape keys that a
motion poses; a key that no motion names is measured as it stands, so its value counts where it moves anything.

A part's hash is that of each of its ``ASPECTS``, with hyphens between.
"""

import json
from collections.abc import Iterable, Iterator, Mapping, Set
from dataclasses import dataclass, replace
from typing import Any

from ...model.brief import Brief, RoomBrief, TeethBrief
from ...model.brief_print import plain_values
from ...model.limits import Limits
from ...model.materials import Material
from ...model.snapshot import Role
from ...model.version import VERSION
from ...scene.cameras import camera_objects
from ...scene.instances import with_instanced
from ...scene.landmarks import LANDMARK
from ...scene.locking import FINGERPRINT, VERTICES
from ...scene.motions import posed_motions, stored_motions
from ...scene.posable_scene import MATERIAL
from ...scene.roles import ROLE, Played, played_roles, unmatched_roles
from ...scene.shown import seen_objects
from ..open_design import scene_brief
from .animated_paths import Posed, animated_paths, posed_by
from .digest import digest
from .looked_at import Known, beside_values
from .placing import place_values
from .setting_values import settings_of, stack_values
from .shape_prints import HELD, Shape, ShapePrints

MEASURED_FROM = "dryfit_measured_from"
ASPECTS = ("shape", "place", "role", "material", "marks", "modifiers", "key values")
LIMITS, MOTIONS, BRIEF, UNIT = "limits", "motions", "brief", "unit scale"
LANDMARKS, CAMERAS, LOCK, SEEN = "landmarks", "cameras", "the base's lock", "what else is seen"
DRYFIT = "the version of Dryfit"
RESERVED = (LIMITS, MOTIONS, BRIEF, UNIT, LANDMARKS, CAMERAS, LOCK, SEEN, DRYFIT)
"""What counts beside the parts; a part of such a name is told from it."""
ONLY_FOR = {LOCK: "base_lock", CAMERAS: "coverage"}
"""What counts for one check alone."""
BETWEEN = "-"
INSTANCING = ("instance_type", "use_instance", "instance_faces", "show_instancer", "hide_viewport")
"""How the names of the settings begin by which an object shows others or is shown."""
ON_NOTHING = b"[[]]"
"""What an object depends on that nothing animates, holds or shapes: left out, as files measured earlier have it."""
MARK = "dryfit_"
COUNTED = (ROLE, MATERIAL, LANDMARK, FINGERPRINT, VERTICES)
"""Marks of an object that count by themselves; every other one counts as it is."""


def design_prints(scene: Any, shapes: ShapePrints | None = None) -> dict[str, str]:
    """Return a hash of every part of the design, and of what else it is measured by.

    Parameters
    ----------
    shapes
        What is known of the parts' shapes; None reads every one.

    Raises
    ------
    InputError, OSError
        When roles or figures that the scene or its brief states cannot be read.
    """
    brief = scene_brief(scene)
    played = played_roles(scene.objects, brief)
    names = {each.object.session_uid: _counted_name(each.name) for each in played}
    reading = _Reading(
        shapes or ShapePrints(), posed_by(posed_motions(scene, brief), scene.objects), names, brief.materials
    )
    return {
        **{names[each.object.session_uid]: reading.part(each) for each in played},
        **_figure_prints(scene, brief),
        LANDMARKS: digest([*_landmark_pieces(scene, reading), _words([brief.landmarks, brief.proposed])]),
        SEEN: digest(_seen_pieces(scene, brief, reading)),
        CAMERAS: digest(f"{item.name} ".encode() + reading.standing(item) for item in camera_objects(scene.objects)),
        LOCK: digest(str(each.object.get(FINGERPRINT)).encode() for each in played if each.role is Role.BASE),
        DRYFIT: VERSION,  # what an earlier one let pass, this one may not
    }


def parts_of(played: Iterable[Played]) -> Iterator[str]:
    """Yield the names that parts count under in ``design_prints``."""
    for each in played:
        yield _counted_name(each.name)


def note_measured(scene: Any, checks: Iterable[str], prints: Mapping[str, str]) -> None:
    """Remember what the checks that were just run were measured from."""
    scene[MEASURED_FROM] = json.dumps({**measured_from(scene), **{check: dict(prints) for check in checks}})


def measured_from(scene: Any) -> dict[str, Mapping[str, str]]:
    """Return what each check was measured from; empty where nothing was noted."""
    try:
        values = json.loads(scene.get(MEASURED_FROM) or "{}")
    except (TypeError, ValueError):
        return {}
    return {check: dict(prints) for check, prints in values.items()} if isinstance(values, dict) else {}


def renamed_parts(scene: Any) -> dict[str, str]:
    """Return the names that parts were measured under and the ones they have now, where these are others."""
    named = {each.name: _counted_name(each.subject.name) for each in scene.dryfit.parts if each.subject is not None}
    return {_counted_name(before): now for before, now in named.items() if _counted_name(before) != now}


def changed_since(
    check: str, then: Mapping[str, str], now: Mapping[str, str], renamed: Mapping[str, str]
) -> tuple[str, ...]:
    """Return what differs for a check, came or went, sorted: ``CheekBark (shape, place)``.

    Parameters
    ----------
    then, now
        What it was measured from, and what the scene is made of now.
    renamed
        Earlier name -> present name: another name is no change.
    """
    present = {name: renamed[name] for name in then if name not in now and renamed.get(name, name) not in then}
    then = {present.get(name, name): value for name, value in then.items()}
    counted = [name for name in {*then, *now} if ONLY_FOR.get(name, check) == check]
    return tuple(sorted(_change(name, then, now) for name in counted if then.get(name) != now.get(name)))


def _change(name: str, then: Mapping[str, str], now: Mapping[str, str]) -> str:
    if name in RESERVED:
        return name
    if name not in now:
        return f"{name} (gone)"
    if name not in then:
        return f"{name} (new)"
    if now[name].startswith(HELD):
        return f"{name} (being sculpted)"
    before, after = then[name].split(BETWEEN), now[name].split(BETWEEN)
    pairs = zip(ASPECTS, before, after, strict=True) if len(before) == len(after) == len(ASPECTS) else ()
    differ = ", ".join(aspect for aspect, old, new in pairs if old != new)
    return f"{name} ({differ})" if differ else name


def _counted_name(part: str) -> str:
    """Return the name that a part counts under."""
    return f"object {part}" if part in RESERVED else part


@dataclass(frozen=True)
class _Reading:
    """What one look at a scene needs to know while it reads the parts.

    Attributes
    ----------
    shapes
        Hashes of shapes.
    posed
        What motions set.
    counted
        Blender's numbers for the objects that are parts, and their names; what hangs on one is not moved with it.
    materials
        The figures of each material.
    """

    shapes: ShapePrints
    posed: Posed
    counted: Mapping[int, str]
    materials: Mapping[str, Material]

    def part(self, each: Played) -> str:
        """Return a part's hash, aspect by aspect."""
        item, shape = each.object, self.shapes.of(each.object)
        material = str(item.get(MATERIAL) or "")
        held = shape.surface == HELD
        aspects = (
            shape.surface if held else digest([shape.surface.encode(), shape.weights.encode()]),
            self.place(item),
            digest([f"{each.role}{' own' if each.own else ''}".encode()]),
            digest([_words([material, self.materials.get(material)])]),
            digest([_words(_marks(item))]),
            digest([_words(stack_values("modifiers", item.modifiers, animated_paths(item))), self.beside(item)]),
            digest([_words(_key_values(item, self.posed.keys, shape))]),
        )
        return BETWEEN.join(aspects)

    def place(self, item: Any) -> str:
        """Return a hash of where an object stands, as far as it is stored; see ``placing``."""
        return digest([_words(place_values(item, self.counted))])

    def standing(self, item: Any) -> bytes:
        """Return where an object stands, and what that depends on beside what is stored with it, where it does."""
        beside = self.beside(item)
        return self.place(item).encode() + (beside if beside != ON_NOTHING else b"")

    def beside(self, item: Any) -> bytes:
        """Return what the object's shape and place depend on beside itself."""
        return _words(beside_values(item, Known(self.counted, lambda other: self.shapes.of(other).surface, self.posed)))


def _marks(item: Any) -> list[tuple[str, str]]:
    """Return what an object is marked with beside what counts by itself: whatever a reader may look for there."""
    marks = [(name, repr(value)) for name, value in item.items() if name.startswith(MARK) and name not in COUNTED]
    return sorted(marks)


def _key_values(item: Any, posed: Set[str], shape: Shape) -> list[tuple[str, float, str]]:
    """Return the values of the shape keys that shape a part at rest and that no motion or animation sets."""
    keys = getattr(item.data, "shape_keys", None)
    animated = animated_paths(keys)
    if keys is not None and not keys.use_relative:
        return [("absolute", 0.0 if "eval_time" in animated else round(keys.eval_time, 6), "")]
    free = [block for block in (keys.key_blocks if keys is not None else ()) if block.name in shape.keys - posed]
    return [
        (block.name, round(block.value, 6), block.vertex_group)
        for block in free
        if block.value and not block.mute and block.path_from_id("value") not in animated
    ]


def _figure_prints(scene: Any, brief: Brief) -> dict[str, str]:
    """Return hashes of what the design is held against; the figures of a material count with the parts made of it."""
    of_parts: dict[str, Any] = {"roles": {}, "teeth": TeethBrief(), "landmarks": {}, "motions": {}, "materials": {}}
    of_parts["proposed"], of_parts["room"] = {}, RoomBrief()  # what is settled of the room changes no check
    rest = replace(brief, source="", limits=Limits(), **of_parts)
    return {
        LIMITS: digest([_words(brief.limits)]),
        MOTIONS: digest([_words({**stored_motions(scene), **brief.motions})]),
        BRIEF: digest([_words(rest)]),
        UNIT: digest([repr(round(scene.unit_settings.scale_length, 9)).encode()]),
    }


def _landmark_pieces(scene: Any, reading: _Reading) -> Iterator[bytes]:
    """Yield name and place of each landmark, and what else it is marked with: that it was only proposed."""
    marks = [item for item in with_instanced(scene.objects) if item.get(LANDMARK)]
    for item in sorted(marks, key=lambda item: str(item[LANDMARK])):
        yield f"{item[LANDMARK]} ".encode() + reading.standing(item) + _words(_marks(item))


def _seen_pieces(scene: Any, brief: Brief, reading: _Reading) -> Iterator[bytes]:
    """Yield what is seen beside the parts: its name, shape, place and marks, and how it shows others.

    What the brief names and nothing is called belongs to it: it is seen nowhere.
    """
    for item in sorted(with_instanced(seen_objects(scene, scene.view_layers[0], brief)), key=lambda item: item.name):
        if item.session_uid not in reading.counted:
            modifiers = stack_values("modifiers", item.modifiers, animated_paths(item))
            marks = [*(str(item.get(name)) for name in COUNTED), *_marks(item)]
            shape = reading.shapes.of(item)
            words = _words([item.type, modifiers, settings_of(item, INSTANCING), _shown_by(item), marks])
            yield f"{item.name} {shape.surface} {shape.weights} ".encode() + reading.standing(item) + words
    lacking = [[each.role, each.entry] for each in unmatched_roles(list(scene.objects), brief)]
    yield from [_words(lacking)] if lacking else []


def _shown_by(item: Any) -> list[Any]:
    """Return the collection that an object instances, with where that begins."""
    shown = item.instance_collection
    return [] if shown is None else [shown.name_full, list(shown.instance_offset)]


def _words(value: Any) -> bytes:
    """Return a value as text, the same for the same value."""
    return json.dumps(plain_values(value), sort_keys=True).encode()
