"""Coverage against a closed formula: a plate for a tooth, seen through a slit between two plates for lips."""

import numpy as np
import pytest
from mouth_shapes import FRONT, box, joined, landmarks

from dryfit.checks.coverage import CHECK
from dryfit.checks.fitting import Fitting
from dryfit.model.brief import Brief, Views
from dryfit.model.progress import drain
from dryfit.model.snapshot import Camera, Part, Snapshot

TOOTH_Z = 95.0
DISTANCE = 2000.0


def slit(height_mm, half_width=15.0):
    """Four thin boxes round an opening ``2 * half_width`` wide, their front face at ``FRONT``."""
    low, high = -height_mm / 2, height_mm / 2
    thin = FRONT - 1e-3
    return joined(
        box([-60, high, thin], [60, 70, FRONT]),
        box([-60, -70, thin], [60, low, FRONT]),
        box([-60, low, thin], [-half_width, high, FRONT]),
        box([half_width, low, thin], [60, high, FRONT]),
    )


def looked_at(height_mm, brief, tooth=None, appliance=None, **more):
    tooth = tooth or box([-40, -20, TOOTH_Z - 2], [40, 20, TOOTH_Z])
    parts = [Part("Head", "base", *slit(height_mm)), Part("Upper", "upper_teeth", *tooth)]
    if appliance is not None:
        parts.append(Part("Lip", "appliance", *appliance))
    snapshot = Snapshot("s", parts=tuple(parts), landmarks=landmarks(), **more)
    return drain(CHECK.measure(Fitting(snapshot, brief), brief))


def scale(angle_deg):
    """How much larger the slit is on the tooth's plane than in its own, seen from a distance."""
    eye = FRONT + DISTANCE * np.cos(np.radians(angle_deg))
    return (eye - TOOTH_Z) / (eye - FRONT)


@pytest.mark.parametrize("height_mm", [2.0, 6.0, 11.0])
@pytest.mark.parametrize("angle_deg", [0.0, 30.0, -60.0])
def test_visible_area_through_a_slit(height_mm, angle_deg):
    brief = Brief(views=Views(angles_deg=(angle_deg,), distance_mm=DISTANCE))
    outcome = looked_at(height_mm, brief)
    wanted = 30.0 * height_mm * scale(angle_deg) ** 2
    assert outcome.measures["exposed_area_mm2"] == pytest.approx(wanted, rel=0.01)
    assert outcome.measures["display_height_mm"] == pytest.approx(height_mm * scale(angle_deg), abs=0.2)


def test_worst_view_and_each_view():
    outcome = looked_at(4.0, Brief(views=Views(angles_deg=(-30.0, 0.0, 30.0))))
    figures = outcome.measures
    assert figures["exposed_area_mm2"] == max(figures[f"exposed_area_mm2_view_{name}"] for name in ("-30", "0", "+30"))
    assert figures["display_height_mm_view_+30"] == pytest.approx(figures["display_height_mm_view_-30"], abs=0.1)


def test_camera_sees_what_the_same_turn_sees():
    eye = (0.0, 0.0, FRONT + DISTANCE)
    views = Views(angles_deg=(0.0,), cameras=("Shot",))
    figures = looked_at(5.0, Brief(views=views), cameras=(Camera("Shot", eye),)).measures
    assert figures["exposed_area_mm2_view_Shot"] == pytest.approx(figures["exposed_area_mm2_view_0"], rel=1e-9)


def test_tall_display_is_a_finding_with_what_to_do():
    outcome = looked_at(8.1, Brief(views=Views(angles_deg=(0.0,))))
    (finding,) = outcome.findings
    assert finding.severity == "fail"
    assert finding.remedy == "extend"
    over = finding.value - 3.5
    assert finding.fix == f"lengthen the upper lip by {over:.1f} mm or shorten the upper teeth 'Upper' by {over:.1f} mm"
    assert "da Motta" in finding.message
    assert len(finding.elements)
    assert looked_at(3.0, Brief(views=Views(angles_deg=(0.0,)))).findings == ()


def test_longer_lip_hides_what_the_bare_base_shows():
    lip = box([-20, -2.0, FRONT], [20, 10.0, FRONT + 1])
    figures = looked_at(8.0, Brief(views=Views(angles_deg=(0.0,))), appliance=lip).measures
    assert figures["bare_display_height_mm"] == pytest.approx(8.0 * scale(0), abs=0.2)
    assert figures["display_height_mm"] == pytest.approx(2.0 * scale(0), abs=0.2)


def test_marked_teeth_are_measured_one_by_one():
    left, right = box([1, -20, 94.99], [9, 20, 95]), box([-9, -20, 94.99], [-1, 0, 95])
    vertices, faces = joined(left, right)
    areas = {"dryfit_tooth_21": np.arange(16) < 8, "dryfit_tooth_11": np.arange(16) >= 8}
    parts = (Part("Head", "base", *slit(6.0)), Part("Upper", "upper_teeth", vertices, faces, areas=areas))
    brief = Brief(views=Views(angles_deg=(0.0,)))
    figures = drain(CHECK.measure(Fitting(Snapshot("s", parts=parts, landmarks=landmarks()), brief), brief)).measures
    assert figures["exposed_area_mm2_tooth_21"] == pytest.approx(8 * 6 * scale(0), rel=0.02)
    assert figures["exposed_area_mm2_tooth_11"] == pytest.approx(8 * 3 * scale(0), rel=0.03)
    assert figures["display_height_mm_tooth_11"] == pytest.approx(3.0, abs=0.2)


def test_what_cannot_be_measured_says_so():
    parts = (Part("Head", "base", *slit(6.0)), Part("Lip", "appliance", *box([0, 0, 110], [5, 5, 111])))
    outcome = drain(CHECK.measure(Fitting(Snapshot("s", parts=parts, landmarks=landmarks()), Brief()), Brief()))
    assert "upper_teeth" in outcome.reason
    parts = (parts[0], Part("Upper", "upper_teeth", *box([0, 0, 90], [5, 5, 91])))
    outcome = drain(CHECK.measure(Fitting(Snapshot("s", parts=parts), Brief()), Brief()))
    assert "landmarks" in outcome.reason
    brief = Brief(views=Views(cameras=("Lost",)))
    outcome = drain(CHECK.measure(Fitting(Snapshot("s", parts=parts, landmarks=landmarks()), brief), brief))
    assert "Lost" in outcome.reason
