"""Switching the extension off and on: nothing is left behind, and it works again."""

import re

import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
import dryfit  # noqa: E402
from dryfit.sitting import live  # noqa: E402
from dryfit.sitting.overlay import drawing  # noqa: E402
from dryfit.ui import wording  # noqa: E402
from dryfit.ui.registration import CLASSES  # noqa: E402


def handlers():
    lists = [getattr(bpy.app.handlers, name) for name in dir(bpy.app.handlers) if not name.startswith("_")]
    return [one for each in lists if isinstance(each, list) for one in each if "dryfit" in one.__module__]


def ours():
    return [name for name in dir(bpy.types) if name.startswith("DRYFIT_")]


def test_off_leaves_nothing_and_on_works_again_twice(checked):
    on = (len(handlers()), len(ours()), drawing())
    for _ in range(2):
        dryfit.unregister()
        assert (handlers(), ours(), drawing()) == ([], [], 0)
        assert not hasattr(bpy.types.Scene, "dryfit")
        assert not bpy.app.timers.is_registered(live._tick)
        assert "dryfit_report" in bpy.context.scene, "results stay in the file"
        dryfit.register()
        assert (len(handlers()), len(ours()), drawing()) == on
        assert bpy.ops.dryfit.check_fit(only="additive") == {"FINISHED"}


def test_off_takes_paint_and_preview_along(checked):
    before = [each.name for each in checked.piece.data.attributes]
    bpy.ops.dryfit.preview_paint()
    assert [each.name for each in checked.piece.data.attributes] != before
    dryfit.unregister()
    try:
        assert [each.name for each in checked.piece.data.attributes] == before
        assert bpy.context.view_layer.material_override is None
        assert "dryfit preview" not in bpy.data.materials
    finally:
        dryfit.register()


def test_names_labels_and_tooltips_follow_blenders_conventions():
    for each in CLASSES:
        assert re.fullmatch(r"DRYFIT_(OT|PT|UL|MT)_[a-z_]+", each.__name__)
        words = (each.__doc__ or "").strip()
        assert words
        if hasattr(each, "bl_idname") and each.__name__.startswith("DRYFIT_OT"):
            assert each.bl_idname == "dryfit." + each.__name__.removeprefix("DRYFIT_OT_")
            assert all(
                word[0].isupper() or word in ("to", "in", "on", "of", "as", "the") for word in each.bl_label.split()
            )
            assert words[0].isupper() and not words.endswith("."), each


def test_every_icon_exists_in_this_blender():
    known = set(bpy.types.UILayout.bl_rna.functions["label"].parameters["icon"].enum_items.keys())
    used = {*wording.SEVERITY_ICONS.values(), *wording.STATUS_ICONS.values(), *wording.ROLE_ICONS.values()}
    from pathlib import Path

    for path in Path(wording.__file__).parent.glob("*.py"):
        used |= set(re.findall(r'icon="([A-Z0-9_]+)"', path.read_text(encoding="utf8")))
    from dryfit.ui.mending import LABELS

    used |= {icon for _, icon in LABELS.values()} | {wording.ACCEPTED_ICON}
    assert used <= known, used - known


def test_another_language_changes_no_figure(design):
    view = bpy.context.preferences.view
    bpy.ops.dryfit.check_fit(only="additive")
    before = [(item.name, item.value) for item in design.bench.findings]
    languages = [item.identifier for item in view.bl_rna.properties["language"].enum_items]
    try:
        view.language = "de_DE" if "de_DE" in languages else "DEFAULT"
    except TypeError:
        pytest.skip("this Blender has no other language")
    try:
        bpy.ops.dryfit.check_fit(only="additive")
        assert [(item.name, item.value) for item in design.bench.findings] == before
    finally:
        view.language = "DEFAULT" if "DEFAULT" in languages else "en_US"
