import numpy as np
import pytest

from dryfit.model.finding import Field
from dryfit.model.scale_colours import DIVERGING, PLAIN, colour_at, share_on, value_at
from dryfit.report.palette import (
    CARD,
    PAPER,
    RULE,
    SIGN_CONTRAST,
    STATUS_INKS,
    TEXT_CONTRAST,
    contrast_ratio,
    luminance,
    text_pairs,
)
from dryfit.report.pictures.colour_map import cividis, diverging, field_colours, from_hex, shares


@pytest.mark.parametrize(
    ("first", "second", "ratio"),
    [
        ("000000", "FFFFFF", 21.00),
        ("767676", "FFFFFF", 4.542),
        ("777777", "FFFFFF", 4.478),
        ("595959", "FFFFFF", 7.005),
        ("0000FF", "FFFFFF", 8.592),
        ("FF0000", "FFFFFF", 3.998),
    ],
)
def test_contrast_is_as_wcag_works_it_out(first, second, ratio):
    """WCAG 2.x definition of contrast ratio, worked by hand."""
    assert contrast_ratio(first, second) == pytest.approx(ratio, abs=6e-4)


@pytest.mark.parametrize("pair", text_pairs())
def test_letters_stand_out_from_their_ground(pair):
    assert contrast_ratio(*pair) >= TEXT_CONTRAST


@pytest.mark.parametrize("sign", [RULE, *STATUS_INKS.values()])
@pytest.mark.parametrize("ground", [PAPER, CARD])
def test_signs_and_rules_stand_out_from_their_ground(sign, ground):
    assert contrast_ratio(sign, ground) >= SIGN_CONTRAST


def test_cividis_is_the_published_one():
    colormaps = pytest.importorskip("matplotlib").colormaps
    shares = np.linspace(0, 1, 256)
    assert np.abs(cividis(shares) - colormaps["cividis"](shares)[:, :3]).max() < 2.5 / 255


@pytest.mark.parametrize(("stops", "full", "low"), [(PLAIN, cividis, 0.0), (DIVERGING, diverging, -1.0)])
def test_the_viewport_paints_in_the_colours_of_the_page(stops, full, low):
    """The stops agree to a step of a display; between them no channel is further off than an eye can tell (0.04)."""
    assert np.abs(np.array(stops) - full(np.linspace(low, 1.0, len(stops)))).max() <= 0.51 / 255
    shares = np.linspace(0.0, 1.0, 301)
    between = np.array([colour_at(stops, share) for share in shares])
    assert np.abs(between - full(low + (1.0 - low) * shares)).max() < 0.04


def test_viewport_and_page_place_a_value_alike():
    signed = Field("", "", np.zeros(3), "mm", "", low=-1.0, high=3.0, limit=0.0, diverging=True)
    plain = Field("", "", np.zeros(3), "mm", "", low=0.5, high=3.0, limit=0.0, diverging=False)
    for value in (-2.0, -1.0, -0.3, 0.0, 0.5, 1.2, 3.0, 9.0):
        page = (np.clip(shares(signed, value), -1.0, 1.0) + 1.0) / 2.0
        assert share_on(value, -1.0, 3.0, True) == pytest.approx(float(page))
        assert value_at(share_on(value, -1.0, 3.0, True), -1.0, 3.0, True) == pytest.approx(min(max(value, -1.0), 3.0))
        assert share_on(value, 0.5, 3.0, False) == pytest.approx(float(np.clip(shares(plain, value), 0.0, 1.0)))


def test_cividis_only_gets_lighter():
    light = [0.2126 * r + 0.7152 * g + 0.0722 * b for r, g, b in cividis(np.linspace(0, 1, 50)) ** 2.2]
    assert (np.diff(light) > 0).all()


def test_the_diverging_map_has_its_ends_and_a_light_colourless_middle():
    low, middle, high = diverging([-1, 0, 1])
    assert low == pytest.approx(from_hex("A03C00"), abs=0.01)
    assert high == pytest.approx(from_hex("6CA6DC"), abs=0.01)
    assert np.ptp(middle) < 0.01
    assert middle.mean() > 0.8


def test_the_diverging_map_gets_lighter_toward_the_middle_on_both_sides():
    def light(shares):
        return np.array([luminance("".join(f"{round(c * 255):02X}" for c in colour)) for colour in diverging(shares)])

    assert (np.diff(light(np.linspace(-1, 0, 20))) > 0).all()
    assert (np.diff(light(np.linspace(0, 1, 20))) < 0).all()


def test_the_ends_of_the_diverging_map_are_told_apart_in_grey():
    """A page printed without colour: one end is to the other as small letters must be to their ground, nearly."""
    ends = ["".join(f"{round(c * 255):02X}" for c in colour) for colour in diverging([-1, 1])]
    assert luminance(ends[1]) > 2.5 * luminance(ends[0])
    assert contrast_ratio(*ends) > 2.5


def test_a_field_is_painted_by_its_own_scale():
    plain = Field("thickness", "Cap", np.zeros(1), "mm", "Thickness", 0, 2)
    signed = Field("clearance", "Cap", np.zeros(1), "mm", "Clearance", -1, 4, diverging=True)
    assert field_colours(plain, [2.0, 9.0]) == pytest.approx(cividis([1, 1]))
    assert field_colours(signed, [-0.5, 0, 2]) == pytest.approx(diverging([-0.5, 0, 0.5]))
    assert np.isnan(field_colours(plain, [np.nan])).all()
