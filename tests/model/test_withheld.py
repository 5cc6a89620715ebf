"""What is withheld cannot be asked for, is no part of a value's content, and stays withheld."""

from dataclasses import replace

import pytest

from dryfit.model.brief import Brief
from dryfit.model.content import Contents
from dryfit.model.limits import Limits
from dryfit.model.snapshot import Snapshot
from dryfit.model.withheld import Withheld, is_withheld, withholding


def test_what_is_withheld_cannot_be_asked_for_and_the_rest_is_as_it_was():
    limits = Limits(contact_mm=0.07)
    some = withholding(limits, {"lip_seal_mm"})
    assert isinstance(some, Limits)
    assert some.contact_mm == 0.07
    with pytest.raises(Withheld, match="lip_seal_mm"):
        _ = some.lip_seal_mm
    assert is_withheld(some, "lip_seal_mm")
    assert not is_withheld(some, "contact_mm")
    assert not is_withheld(limits, "lip_seal_mm")


def test_a_default_is_no_way_round():
    with pytest.raises(Withheld):
        _ = withholding(Snapshot("plain"), {"source"}).source


def test_what_is_withheld_twice_stays_so():
    both = withholding(withholding(Snapshot("plain"), {"cameras"}), {"notes"})
    for name in ("cameras", "notes"):
        with pytest.raises(Withheld, match=name):
            getattr(both, name)
    assert both.name == "plain"


def test_content_tells_of_the_rest_alone():
    contents, names = Contents(), {"lip_seal_mm"}
    one, other = Limits(lip_seal_mm=0.1), Limits(lip_seal_mm=0.3)
    assert contents.of(one) != contents.of(other)
    assert contents.of(withholding(one, names)) == contents.of(withholding(other, names))
    assert contents.of(withholding(one, names)) != contents.of(withholding(replace(other, contact_mm=0.1), names))
    assert contents.of(withholding(one, names)) != contents.of(withholding(one, {"contact_mm"}))


def test_a_field_that_is_none_is_refused():
    with pytest.raises(ValueError, match="lips"):
        withholding(Brief(), {"lips"})
