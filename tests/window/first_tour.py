"""A first-time user with a scan and a sculpt, no rig, no landmarks, no documentation: a picture at every step.

Every step presses what the sidebar shows, until each check is answered or has its next step beside it.
"""

import sys
from pathlib import Path

sys.path[:0] = ["/srv/addon", "/srv"]
import bpy
import driving as drive

import dryfit
from dryfit.checks.registry import CHECKS
from dryfit.sitting.next_steps import first_steps, steps_for
from dryfit.sitting.words.window_words import CODE, window_words

SCENE = Path("/srv/demo/first/first.blend")


def bench():
    return bpy.context.scene.dryfit


def head():
    return bpy.data.objects["Head Scan"]


def sculpts():
    return [item for item in bpy.data.objects if item.name.startswith("Sculpt")]


def choose(items):
    with drive.in_view():
        bpy.ops.object.select_all(action="DESELECT")
        for item in items:
            item.select_set(True)
        bpy.context.view_layer.objects.active = items[0]


def prepare():
    bpy.ops.wm.open_mainfile(filepath=str(SCENE), load_ui=False)


def tour():
    _, area, _ = drive.viewport()
    area.spaces.active.clip_start = 0.001
    area.spaces.active.shading.type = "SOLID"
    yield from drive.open_sidebar()
    area.spaces.active.show_region_toolbar = True
    choose([head()])
    look_at_the_head()
    yield from drive.settled()
    drive.picture("first-01-opened")
    assert [step.words for step in first_steps(bpy.context.scene)] == ["Make Selected the Base"]
    with drive.in_view():
        assert bpy.ops.dryfit.assign_role(role="base") == {"FINISHED"}
    choose(sculpts())
    yield from drive.settled()
    drive.picture("first-02-base")
    with drive.in_view():
        assert bpy.ops.dryfit.assign_role(role="appliance") == {"FINISHED"}
    yield from drive.settled()
    drive.picture("first-03-piece")
    with drive.in_view():
        bpy.ops.dryfit.check_fit("INVOKE_DEFAULT")
    yield 0.5
    drive.picture("first-04-measuring")
    yield from drive.until(lambda: bench().verdict, drive.PATIENCE, "measured")
    yield from drive.settled()
    drive.picture("first-05-next-steps")
    answered_or_one_click()
    with drive.in_view():
        for item in sculpts():
            bpy.ops.dryfit.assign_material(part=item.name, material="silicone")
        bpy.ops.dryfit.lock_base()
        bpy.ops.dryfit.propose_landmarks("INVOKE_DEFAULT")
    yield 0.5
    drive.picture("first-06-proposing")
    yield from drive.until(
        lambda: any(item.get("dryfit_landmark") for item in bpy.data.objects), drive.PATIENCE, "proposed"
    )
    yield from drive.settled()
    drive.picture("first-07-proposed")
    with drive.in_view():
        bpy.ops.dryfit.go_to_landmark(landmark="cheilion_left")
    yield from drive.settled()
    drive.picture("first-08-one-landmark")
    with drive.in_view():
        bpy.ops.dryfit.confirm_landmarks()
        bpy.ops.dryfit.check_fit("INVOKE_DEFAULT")
    yield 1.0
    yield from drive.until(
        lambda: not bench().stale and len(bench().checks) == len(CHECKS), drive.PATIENCE, "measured again"
    )
    yield from drive.settled()
    drive.picture("first-09-verdict")
    answered_or_one_click()
    with drive.in_view():
        bpy.ops.dryfit.step_finding(step=1)
    yield from drive.settled()
    assert bench().paint, "the first pick paints"
    drive.picture("first-10-finding")
    picked = bench().picked
    choose([head()])
    look_at_the_head()
    with drive.in_view():
        bpy.ops.object.select_all(action="DESELECT")
        bpy.ops.dryfit.show_poses(motion="jaw")
    bench().t = 0.6
    yield from drive.settled()
    drive.picture("first-11-jaw")
    bpy.ops.dryfit.stop_poses()
    yield 0.5
    assert bench().picked == picked
    with drive.in_view():
        bpy.ops.dryfit.go_to_finding()
    yield 0.5
    item = bench().findings[bench().picked]
    item.subject.location.y += 0.002
    yield from drive.settled()
    drive.picture("first-12-moved")
    assert bench().verdict == "not_checked", bench().verdict


def look_at_the_head():
    with drive.in_view():
        bpy.ops.view3d.view_axis(type="FRONT")
        bpy.ops.view3d.view_selected()
        bpy.ops.view3d.view_orbit(angle=0.4, type="ORBITLEFT")


def answered_or_one_click():
    """Every check has an answer, or its next step beside it; no word of it is for a terminal."""
    for row in bench().checks:
        said = window_words(row.reason)
        print(
            row.name, row.status, "|", said, "|", [s.words for s in steps_for(bpy.context.scene, row.name, row.reason)]
        )
        assert not CODE.search(said), said
        if row.status == "not_checked":
            assert steps_for(bpy.context.scene, row.name, row.reason), (row.name, row.reason)


dryfit.register()
prepare()
drive.play(tour)
