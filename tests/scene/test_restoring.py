"""A reading leaves the scene exactly as it found it, also when it fails half way."""

import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
from dryfit.model.brief_reading import parse_brief  # noqa: E402
from dryfit.scene import posable_scene  # noqa: E402
from dryfit.scene.reading import read_snapshot  # noqa: E402
from dryfit.scene.staging import staged  # noqa: E402

BRIEF = parse_brief(
    "[motions.jaw]\nkeys = { JawOpen = [0.0, 1.5] }\n[motions.blink]\nkeys = { Blink = [1.0, 0.0], Lid = [0.0, 1.0] }"
)


@pytest.fixture
def busy(scene, build):
    """A scene with a bit of everything that a reading touches."""
    head, teeth = build.sphere(), build.box("Teeth", "lower_teeth")
    jaw = build.key(head, "JawOpen", (0.0, 0.0, -0.03), value=0.4)
    build.key(head, "Blink", (0.0, 0.002, 0.0), value=0.6).mute = True
    jaw.slider_min, jaw.slider_max = -0.5, 0.75
    head.show_only_shape_key, head.active_shape_key_index = True, 2
    follower = build.key(teeth, "JawOpen", (0.0, 0.0, -0.03))
    build.drive(follower, "var * 0.5", jaw.id_data, 'key_blocks["JawOpen"].value')
    lid = build.key(teeth, "Lid", (0.0, 0.01, 0.0))
    teeth["opening"] = 0.25
    build.drive(lid, "var", teeth, '["opening"]')
    head.scale = (1.0, -1.2, 1.0)
    hidden = build.box("Hidden")
    build.hide_all(hidden)
    build.empty("Chin", "gnathion")
    build.camera("ShotCam", (0.0, -2.0, 0.0))
    scene.frame_set(7)
    bpy.context.view_layer.objects.active = head
    head.select_set(True)
    return head


def stand_on(mode):
    if mode != "OBJECT":
        bpy.ops.object.mode_set(mode=mode)


@pytest.mark.parametrize("mode", ["OBJECT", "EDIT", "SCULPT", "WEIGHT_PAINT", "VERTEX_PAINT"])
def test_everything_is_as_it_was(busy, state, mode):
    stand_on(mode)
    before = state()
    snapshot = read_snapshot(bpy.context, BRIEF)
    assert set(snapshot.motions) == {"jaw", "blink"}
    assert snapshot.motions["jaw"].moves("Teeth")
    assert state() == before
    assert busy.mode == mode


@pytest.mark.parametrize("fails_at", [1, 2, 4, 9, 15])
@pytest.mark.parametrize("mode", ["OBJECT", "EDIT", "SCULPT"])
def test_everything_is_as_it_was_when_reading_fails_half_way(busy, state, mode, fails_at, monkeypatch):
    stand_on(mode)
    before = state()
    calls = []
    honest = posable_scene.world_vertices_mm

    def failing(*arguments):
        calls.append(arguments)
        if len(calls) == fails_at:
            raise OSError("torn cable")
        return honest(*arguments)

    monkeypatch.setattr(posable_scene, "world_vertices_mm", failing)
    with pytest.raises(OSError, match="torn cable"):
        read_snapshot(bpy.context, BRIEF)
    assert len(calls) == fails_at
    assert state() == before


def test_a_value_that_was_set_and_not_keyed_survives(scene, build, state):
    head = build.sphere()
    jaw, smile = build.key(head, "JawOpen", (0.0, 0.0, -0.03)), build.key(head, "Smile", (0.01, 0.0, 0.0))
    for block in (jaw, smile):
        for frame in (1, 10):
            block.value = frame / 10.0
            block.keyframe_insert("value", frame=frame)
    scene.frame_set(5)
    jaw.value, smile.value = 0.9, 0.7
    before = state()
    snapshot = read_snapshot(bpy.context, parse_brief("[motions.jaw]\nkeys = { JawOpen = [0.0, 1.0] }"))
    assert snapshot.base.vertices_mm[:, 0].mean() == pytest.approx(7.0, abs=1e-3)
    assert (jaw.value, smile.value) == (pytest.approx(0.9), pytest.approx(0.7))
    assert state() == before


def test_a_value_beyond_its_slider_survives(build, state):
    block = build.key(build.sphere(), "JawOpen", (0.0, 0.0, -0.03))
    block.slider_max = 5.0
    block.value = 4.0
    block.slider_max = 1.0
    kept = block.value
    before = state()
    read_snapshot(bpy.context, parse_brief("[motions.jaw]\nkeys = { JawOpen = [0.0, 1.0] }"))
    assert block.value == kept
    assert state() == before


def test_a_scene_read_twice_gives_the_same(busy):
    first, second = read_snapshot(bpy.context, BRIEF), read_snapshot(bpy.context, BRIEF)
    for part, again in zip(first.parts, second.parts, strict=True):
        assert part.vertices_mm.tobytes() == again.vertices_mm.tobytes()
        assert part.faces.tobytes() == again.faces.tobytes()


def test_an_edit_in_progress_is_read(build):
    """What was moved in Edit mode and not yet left is what is measured."""
    import bmesh

    item = build.box()
    bpy.context.view_layer.objects.active = item
    bpy.ops.object.mode_set(mode="EDIT")
    edited = bmesh.from_edit_mesh(item.data)
    for vertex in edited.verts:
        vertex.co.x += 0.01
    bmesh.update_edit_mesh(item.data)
    assert read_snapshot(bpy.context).part("Piece").vertices_mm[:, 0].mean() == pytest.approx(10.0, abs=1e-3)


@pytest.mark.parametrize("override", [False, True])
def test_a_linked_head_is_posed_and_left_alone(build, state, tmp_path, override):
    head = build.sphere()
    build.key(head, "JawOpen", (0.0, 0.0, -0.03), value=0.4)
    library = tmp_path / "performer.blend"
    bpy.ops.wm.save_as_mainfile(filepath=str(library))
    bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)
    with bpy.data.libraries.load(str(library), link=True) as (_, wanted):
        wanted.objects = ["Head"]
    (head,) = wanted.objects
    build.link(head.override_create() if override else head)
    before = state()
    snapshot = read_snapshot(bpy.context, parse_brief("[motions.jaw]\nkeys = { JawOpen = [0.0, 1.0] }"))
    frames = snapshot.motions["jaw"].frames_mm["Head"]
    assert (frames[1] - frames[0]).mean(axis=0) == pytest.approx([0.0, 0.0, -30.0], abs=1e-3)
    assert state() == before


def test_a_stage_leaves_no_scene_behind_when_its_objects_cannot_be_shown(build, state):
    build.sphere()
    build.box()
    before = state()
    with pytest.raises(ZeroDivisionError), staged(bpy.context.scene, (1 / 0 for _ in range(1))):
        pass
    assert state() == before
