"""The brief: every key known, every value checked, every limit explained."""

import pytest

from dryfit.model.brief_reading import parse_brief, read_brief
from dryfit.model.errors import BadValue, UnknownKey, UnreadableFile
from dryfit.model.limits import Limits
from dryfit.model.snapshot import Role

WHOLE = """
[base]
file = "performer.blend"
object = "Head"
[units]
mesh_files = "mm"
[roles]
appliance = ["Brow*", "Cheek*"]
[landmarks]
tragion_left = [72.1, -4.0, 12.5]
[motions.jaw]
keys = { JawOpen = [0.0, 1.0] }
[motions.chew]
hinge = { open_deg = 20.0 }
[limits]
additive_tolerance_mm = 0.3
[materials.silicone]
density_g_cm3 = 1.09
[views]
angles_deg = [-45, 0, 45]
[performer]
age_years = 43
[teeth]
own = ["Teeth*"]
[[exceptions]]
check = "coverage"
object = "Fangs"
reason = "the fangs are meant to show"
"""


def test_a_whole_brief_is_read():
    brief = parse_brief(WHOLE)
    assert brief.base.file == "performer.blend"
    assert brief.roles[Role.APPLIANCE] == ("Brow*", "Cheek*")
    assert brief.landmarks["tragion_left"] == (72.1, -4.0, 12.5)
    assert brief.motions["jaw"].keys == {"JawOpen": (0.0, 1.0)}
    assert brief.motions["chew"].hinge.open_deg == 20.0
    assert brief.limits.additive_tolerance_mm == 0.3
    assert brief.limits.rim_thickness_mm == Limits().rim_thickness_mm
    assert brief.materials["silicone"].density_g_cm3 == 1.09
    assert brief.materials["bronze"].density_g_cm3 == pytest.approx(8.8)
    assert brief.views.angles_deg == (-45.0, 0.0, 45.0)
    assert brief.performer.age_years == 43.0
    assert parse_brief("").performer.age_years is None
    assert parse_brief("[performer]\nsex = 'woman'").performer.sex == "woman"
    assert parse_brief("[teeth]\nshown = 'fangs'").teeth.says_shown("LowerFangs", "right lower canine")
    assert not parse_brief("[teeth]\nshown = ['canine']").teeth.says_shown("LowerFangs", "lower incisor")
    assert brief.teeth.says_own("TeethUpper") and not brief.teeth.says_own("Fangs")
    assert parse_brief("").teeth.own is None and not parse_brief("").teeth.says_own("TeethUpper")
    assert brief.exceptions[0].reason == "the fangs are meant to show"


@pytest.mark.parametrize(
    ("text", "key", "nearest"),
    [
        ("[limits]\nadditive_tolerence_mm = 1", "additive_tolerence_mm", "additive_tolerance_mm"),
        ("[limit]\nx = 1", "limit", "limits"),
        ("[landmarks]\ntragion_lft = [0, 0, 0]", "tragion_lft", "tragion_left"),
        ("[roles]\nuper_teeth = ['a']", "uper_teeth", "upper_teeth"),
        ("[motions.jaw]\nkey = {}", "key", "keys"),
        ("[performer]\nage = 40", "age", "age_years"),
        ("[teeth]\nowns = ['a']", "owns", "own"),
        ("[tooth]\nown = ['a']", "tooth", "teeth"),
        ("[materials.foam]\ndensity = 1.0", "density", "density_g_cm3"),
    ],
)
def test_an_unknown_key_is_named_with_the_nearest_one(text, key, nearest):
    with pytest.raises(UnknownKey, match=f"'{key}'.*'{nearest}'"):
        parse_brief(text)


@pytest.mark.parametrize(
    "text",
    [
        "[units]\nmesh_files = 'furlong'",
        "[limits]\nrim_thickness_mm = 'thin'",
        "[limits]\nrim_thickness_mm = -1",
        "[limits]\nrim_thickness_mm = nan",
        "[landmarks]\nsellion = [1, 2]",
        "[motions.jaw]\nkeys = { A = [0] }",
        "[motions.jaw]\nkeys = { A = [0, 1] }\nhinge = { open_deg = 20 }",
        "[motions.jaw]\nhinge = { open_deg = 0 }",
        "[motions.jaw]\nhinge = { axis_left_mm = [1, 2, 3] }",
        "[materials.foam]\ndensity_g_cm3 = 0",
        "[roles]\nbase = 'Head'",
        "[[exceptions]]\ncheck = 'coverage'",
        "[performer]\nage_years = 'young'",
        "[performer]\nage_years = 0",
        "[performer]\nage_years = 430",
        "[performer]\nsex = 'none'",
        "[teeth]\nshown = 3",
        "motions = 3",
    ],
)
def test_a_bad_value_is_refused(text):
    with pytest.raises(BadValue):
        parse_brief(text)


def test_what_is_no_toml_is_refused(tmp_path):
    with pytest.raises(UnreadableFile):
        parse_brief("[limits")
    with pytest.raises(UnreadableFile):
        read_brief(tmp_path / "absent.toml")
