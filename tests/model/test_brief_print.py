"""One hash for the same values, another for others."""

from dataclasses import replace

import pytest

from dryfit.model.brief import Brief, HingeBrief, MotionBrief, TeethBrief, Views
from dryfit.model.brief_print import brief_print
from dryfit.model.brief_reading import read_brief
from dryfit.model.exceptions import WrittenException
from dryfit.model.snapshot import Role


def test_the_same_values_give_the_same_hash_wherever_they_stand(tmp_path):
    for name, text in (
        ("a.toml", "[limits]\nrim_thickness_mm = 1\n"),
        ("b.toml", "# 1 mm\n[limits]\nrim_thickness_mm = 1.0"),
    ):
        (tmp_path / name).write_text(text)
    a, b = (read_brief(tmp_path / name) for name in ("a.toml", "b.toml"))
    assert brief_print(a) == brief_print(b) != brief_print(Brief())
    assert len(brief_print(a)) == 64


def test_an_exception_is_no_other_brief():
    assert brief_print(
        replace(Brief(), exceptions=(WrittenException("additive", "", "", "x", "", ""),))
    ) == brief_print(Brief())


@pytest.mark.parametrize(
    "change",
    [
        {"roles": {Role.BASE: ("Head",)}},
        {"landmarks": {"sellion": (0.0, 1.0, 2.0)}},
        {"motions": {"jaw": MotionBrief({"JawOpen": (0.0, 1.0)})}},
        {"motions": {"jaw": MotionBrief(hinge=HingeBrief(open_deg=20.0))}},
        {"limits": replace(Brief().limits, rim_thickness_mm=0.31)},
        {"materials": {**Brief().materials, "silicone": replace(Brief().materials["silicone"], density_g_cm3=1.2)}},
        {"views": Views(distance_mm=1500.0)},
        {"teeth": TeethBrief(("Teeth*",))},
    ],
)
def test_any_other_value_gives_another(change):
    assert brief_print(replace(Brief(), **change)) != brief_print(Brief())
