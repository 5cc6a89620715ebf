"""The four fixes on the demonstration's wardens, each built with one known fault: one undo step, on a new shape key.

After a fix the check is run again: the finding is gone, or the operator says what remains. How deep, thick, short or
tall each fault was made is known from the generator, without Dryfit's checks.
"""

from dataclasses import dataclass

import numpy as np
import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
from dryfit.demo_door import build_demo  # noqa: E402
from dryfit.model.progress import drain  # noqa: E402
from dryfit.sitting.stored_report import finding_elements  # noqa: E402

pytestmark = pytest.mark.slow
FAULTS = [
    ("03-warden-hollow-cheek", "additive", "lift"),
    ("04-warden-thick-edge", "edge", "feather"),
    ("02-warden-tusks", "closure", "shorten"),
    ("05-warden-short-lips", "coverage", "extend"),
    ("05-warden-short-lips", "coverage", "shorten"),
]
AT_ONCE = ("lift", "feather")
"""Fixes that mend every place alike on the piece at once."""
MOST_ROUNDS = 3
ONE_STEP_ONLY = "coverage"
"""Teeth that stand before the lips stay in view from some side whatever is done: there only the one step is held."""


@pytest.fixture(scope="module")
def designs(tmp_path_factory):
    return tmp_path_factory.mktemp("wardens")


def opened(folder, name):
    path = folder / f"{name}.blend"
    if not path.exists():
        drain(build_demo(folder, name))
    bpy.ops.wm.open_mainfile(filepath=str(path))
    return bpy.context.scene


def positions(points):
    flat = np.empty(len(points) * 3, np.float32)
    points.foreach_get("co", flat)
    return flat


def shape(item):
    """The sculpt below all keys, and every key there is."""
    keys = item.data.shape_keys
    if keys is None:
        return positions(item.data.vertices), []
    return positions(keys.reference_key.data), [(block.name, block.value) for block in keys.key_blocks[1:]]


def open_faults(bench, check):
    """Places of the findings of a check that count; the tusks and the overhang are one each, or one a tooth."""
    return [
        place
        for place, item in enumerate(bench.findings)
        if item.check == check and item.remedy and not item.exception and item.severity != "info"
    ]


def worst(bench, check):
    return max((bench.findings[place].value for place in open_faults(bench, check)), default=0.0)


def sculpted_lip(scene):
    """An upper lip in silicone: the performer's own skin there, 0.3 mm out, its margin marked as a lip."""
    base = next(item for item in scene.objects if item.get("dryfit_role") == "base")
    mark = next(item for item in scene.objects if item.get("dryfit_landmark") == "stomion_superius")
    mesh, middle = base.data, base.matrix_world.inverted() @ mark.matrix_world.translation
    group = base.vertex_groups["dryfit_lip_upper"].index
    lip = {vertex.index for vertex in mesh.vertices if any(each.group == group for each in vertex.groups)}
    reach = 0.025 / scene.unit_settings.scale_length
    near = {
        vertex.index
        for vertex in mesh.vertices
        if vertex.index in lip
        or ((vertex.co - middle).length < reach and vertex.co.z > middle.z and vertex.co.y < middle.y)
    }
    faces = [list(face.vertices) for face in mesh.polygons if near.issuperset(face.vertices)]
    used = sorted({corner for face in faces for corner in face})
    place = {vertex: number for number, vertex in enumerate(used)}
    out = 0.0003 / scene.unit_settings.scale_length
    made = bpy.data.meshes.new("LipBark")
    points = [mesh.vertices[each].co + mesh.vertices[each].normal * out for each in used]
    made.from_pydata(points, [], [[place[corner] for corner in face] for face in faces])
    item = bpy.data.objects.new("LipBark", made)
    item["dryfit_role"], item.matrix_world = "appliance", base.matrix_world
    item.vertex_groups.new(name="dryfit_lip_upper").add([place[each] for each in used if each in lip], 1.0, "REPLACE")
    scene.collection.objects.link(item)
    bpy.context.view_layer.update()


@dataclass(frozen=True)
class Fault:
    """A piece, the vertices of it that findings were about, and the worst figure."""

    part: str
    places: frozenset
    value: float

    @classmethod
    def of(cls, bench, picked, everywhere=False):
        own = bench.findings[picked]
        alike = [item for item in bench.findings if (item.check, item.part) == (own.check, own.part) and item.remedy]
        chosen = [item for item in alike if item.severity != "info"] if everywhere else [own]
        places = np.concatenate([finding_elements(bench.id_data, own.check, item.name) for item in chosen])
        return cls(own.part, frozenset(places.tolist()), max(item.value for item in chosen))

    def is_where(self, other):
        return self.part == other.part and not self.places.isdisjoint(other.places)


def mend(bench, check, remedy):
    """Pick the worst open finding and mend it; return what it was about."""
    bench.picked = open_faults(bench, check)[0]
    everywhere = remedy in AT_ONCE
    where = Fault.of(bench, bench.picked, everywhere)
    assert bpy.ops.dryfit.mend_finding("EXEC_DEFAULT", True, remedy=remedy, everywhere=everywhere) == {"FINISHED"}
    return where


@pytest.mark.parametrize(("name", "check", "remedy"), FAULTS)
def test_a_fix_is_one_undo_step_on_a_new_key_and_what_remains_is_said(enabled, designs, capfd, name, check, remedy):
    scene = opened(designs, name)
    if remedy == "extend":
        sculpted_lip(scene)
    bpy.ops.dryfit.check_fit(only=check)
    before, listed = worst(scene.dryfit, check), len(scene.dryfit.findings)
    assert before > 0.0
    sculpt = {item.name: shape(item) for item in scene.objects if item.type == "MESH"}
    bpy.ops.ed.undo_push(message="before the fix")
    where = mend(scene.dryfit, check, remedy)
    mended_once(sculpt, remedy)
    what_remains_is_said(bpy.context.scene.dryfit, check, where, capfd.readouterr().out)
    bpy.ops.ed.undo()
    undone(sculpt, check, listed)
    if check == ONE_STEP_ONLY:
        return
    rounds = mended_until_gone(check, remedy)
    print(name, check, remedy, f"{before:.2f} to {worst(bpy.context.scene.dryfit, check):.2f} in {rounds}")
    assert not open_faults(bpy.context.scene.dryfit, check), "gone"


def mended_once(sculpt, remedy):
    items = [item for item in bpy.context.scene.objects if item.type == "MESH"]
    (mended,) = [item for item in items if shape(item)[1] != sculpt[item.name][1]]
    below, keys = shape(mended)
    assert np.array_equal(below, sculpt[mended.name][0]), "the sculpt below is untouched"
    assert keys == [*sculpt[mended.name][1], (f"dryfit {remedy} 1", 1.0)]


def what_remains_is_said(bench, check, where, said):
    """By the vertices that findings are about, not by their names; a figure that is said is one of the new list."""
    left = open_faults(bench, check)
    here = [place for place in left if Fault.of(bench, place).is_where(where)]
    assert ("Remaining: " in said) == bool(here), said
    assert ("The finding is gone" in said) == (not here), said
    if here:
        told = said.partition("Remaining: ")[2]
        assert any(told.startswith(bench.findings[place].message) for place in here), said
        assert max(bench.findings[place].value for place in here) < where.value, "less than before"
    elif left:
        assert f"{len(left)} other" in said, said


def undone(sculpt, check, listed):
    for item in bpy.context.scene.objects:
        if item.type == "MESH":
            assert np.array_equal(shape(item)[0], sculpt[item.name][0])
            assert shape(item)[1] == sculpt[item.name][1], "undone in one step"
    assert len(bpy.context.scene.dryfit.findings) == listed and open_faults(bpy.context.scene.dryfit, check)


def mended_until_gone(check, remedy):
    """Mend what is left, each fix on a key of its own; return in how many rounds."""
    for number in range(MOST_ROUNDS):
        bench = bpy.context.scene.dryfit
        if not open_faults(bench, check):
            return number
        mend(bench, check, remedy)
    return MOST_ROUNDS
