"""What can be painted is what the checks say they may paint, and a pick paints its own check's value."""

import numpy as np
import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
from bench_scene import findings  # noqa: E402
from dryfit.checks.registry import CHECKS  # noqa: E402
from dryfit.model.finding import Field, Finding, Place, Severity, Status  # noqa: E402
from dryfit.model.report import BaseIdentity, CheckResult, Report, VariantIdentity  # noqa: E402
from dryfit.sitting.paintable import FIRST, FOUND, PAINTABLE, measured_by  # noqa: E402
from dryfit.sitting.painting import painted_now  # noqa: E402
from dryfit.sitting.picked_paint import paint_its_value  # noqa: E402
from dryfit.sitting.room.room_names import FIELDS as OF_ROOM  # noqa: E402
from dryfit.sitting.stored_report import finding_elements, store_report, stored_fields  # noqa: E402

PAINTERS = [check for check in CHECKS if check.painted]


def field(name, item, motion=""):
    return Field(name, item.name, np.linspace(0.0, 1.0, len(item.data.vertices)), "mm", name, 0.0, 1.0, motion=motion)


def found(on):
    return Finding(Severity.FAIL, "found", Place(on, (0.0, -100.0, 0.0), "chin"), 2.0, 1.0)


def measured(design, fields):
    """Store a report in which every check that paints says something is wrong on the piece."""
    results = tuple(
        CheckResult(check.id, Status.FAIL, "", 0.0, {}, (found("CheekBark"),), {}, tuple(fields(check)))
        for check in PAINTERS
    )
    identity = VariantIdentity("design", "", ""), BaseIdentity("Head", "unlocked", "", float("nan"))
    store_report(design.scene, Report("0.1.0", *identity, results))


def own_fields(design):
    """Every field a check may yield, the one on the base first: the order in the report must not decide."""

    def fields(check):
        names = [name for name, _ in check.painted]
        return [*(field(name, design.head) for name in names), *(field(name, design.piece) for name in names)]

    return fields


def paint_of(item):
    return {each.name for each in item.data.attributes if each.name.startswith("dryfit_")}


def test_the_sidebar_offers_exactly_what_the_checks_may_paint(design):
    items = design.bench.bl_rna.properties["painted"].enum_items
    declared = [name for check in CHECKS for name, _ in check.painted]
    of_room = [name for name, _ in OF_ROOM]
    assert [item.identifier for item in items] == [*declared, *of_room, FOUND] and set(declared) == PAINTABLE
    assert len(set(declared)) == len(declared), "no two checks paint a value of one name"
    assert len({item.value for item in items}) == len(declared) + len(of_room) + 1
    assert all(item.description and item.name for item in items)
    assert design.bench.painted == FIRST
    assert {name: measured_by(name).id for name in ("wall", "moved", "gap", "pair")} == {
        "wall": "thickness", "moved": "base_lock", "gap": "closure", "pair": "closure",
    }  # fmt: skip
    assert measured_by("weight") is None


def test_every_value_can_be_painted_and_taken_off_again(design):
    measured(design, own_fields(design))
    before = paint_of(design.piece)
    design.bench.paint = True
    for name in sorted(PAINTABLE):
        design.bench.painted = name
        assert {each.item for each in painted_now(design.scene)} == {design.head, design.piece}
        for item in (design.head, design.piece):
            assert paint_of(item) == {f"dryfit_{name}", "dryfit_measured"}, name
    design.bench.paint = False
    assert paint_of(design.piece) == paint_of(design.head) == before == set()


@pytest.mark.parametrize("check", PAINTERS, ids=lambda check: check.id)
def test_a_pick_paints_its_own_checks_value_on_its_own_piece(design, check):
    measured(design, own_fields(design))
    bench = design.bench
    bench.paint = True
    other = next(name for name in sorted(PAINTABLE) if measured_by(name) != check)
    bench.painted = other
    bench.picked = next(place for place, item in enumerate(bench.findings) if item.check == check.id)
    assert measured_by(bench.painted) == check
    assert design.piece in [each.item for each in painted_now(design.scene)]
    assert paint_of(design.piece) == {f"dryfit_{bench.painted}", "dryfit_measured"}


def test_a_pick_leaves_a_value_of_its_check_that_its_own_piece_does_not_have(design):
    """The lips' gap stays painted for a finding on the lip; one on the tooth paints what must go from the tooth."""
    measured(design, lambda check: [field("gap", design.head), field("excess", design.piece)])
    bench = design.bench
    bench.paint, bench.painted = True, "gap"
    finding = next(item for item in bench.findings if item.check == "closure")
    paint_its_value(bench, finding)
    assert bench.painted == "excess"
    bench.painted = "gap"
    finding.part = "Head"
    paint_its_value(bench, finding)
    assert bench.painted == "gap"
    finding.part = "Nowhere"
    paint_its_value(bench, finding)
    assert bench.painted == "gap", "where its own piece carries nothing, what its check painted elsewhere stays"


def test_a_pick_of_a_check_without_values_paints_where_it_was_found(checked):
    bench = checked.bench
    bench.picked = findings(bench, "lift")[0]
    forget_fields(checked.scene)
    bench.picked = -1
    bench.picked = findings(bench, "lift")[0]
    assert bench.paint and bench.painted == FOUND
    (painted,) = painted_now(checked.scene)
    finding = bench.findings[bench.picked]
    assert painted.item == checked.piece
    chosen = finding_elements(checked.scene, finding.check, finding.name)
    assert len(chosen) and np.array_equal(np.flatnonzero(np.isfinite(painted.values)), chosen)
    assert paint_of(checked.piece) == {f"dryfit_{FOUND}", "dryfit_measured"}
    bench.paint = False
    assert paint_of(checked.piece) == set()


def forget_fields(scene):
    """As if the checks measured no value over the surface."""
    scene["dryfit_fields"] = "[]"


def test_a_finding_without_a_place_paints_its_whole_piece(checked):
    bench = checked.bench
    forget_fields(checked.scene)
    bench.picked = findings(bench, "lift")[0]
    bench.findings[bench.picked].name = "additive-99"
    (painted,) = painted_now(checked.scene)
    assert np.isfinite(painted.values).all()


def test_the_first_pick_switches_paint_on_and_nobodys_choice_is_overruled(checked):
    bench = checked.bench
    assert not bench.paint
    bench.picked = 0
    assert bench.paint
    bench.paint = False
    bench.picked = 1
    assert not bench.paint, "switched off by hand, it stays off"


def test_a_click_on_a_measured_thickness_finding_paints_the_wall(design):
    """The real check: its values were once not among those that could be painted."""
    design.piece["dryfit_material"] = "silicone"
    bpy.ops.dryfit.check_fit(only="thickness")
    assert {(entry.name, entry.part) for entry in stored_fields(design.scene)} == {("wall", "CheekBark")}
    bench = design.bench
    bench.paint = True
    bench.picked = next(place for place, item in enumerate(bench.findings) if item.part == "CheekBark")
    assert bench.painted == "wall"
    assert "dryfit_wall" in paint_of(design.piece)


def test_a_click_on_a_base_that_moved_paints_how_far(design):
    bpy.ops.dryfit.lock_base()
    for vertex in design.head.data.vertices[:40]:
        vertex.co.z += 0.002
    bpy.ops.dryfit.check_fit(only="base_lock")
    bench = design.bench
    bench.paint = True
    bench.picked = next(place for place, item in enumerate(bench.findings) if item.severity != "info")
    assert bench.painted == "moved"
    assert "dryfit_moved" in paint_of(design.head)


def test_paint_takes_nobodys_own_attributes_off(design):
    mesh = design.piece.data
    for name in ("wall", "thickness", "dryfit_mine"):
        mesh.attributes.new(name, "FLOAT", "POINT")
    design.bench.paint = True
    design.bench.paint = False
    assert {"wall", "thickness", "dryfit_mine"} <= {each.name for each in mesh.attributes}
