"""What a brief says of the show stands in the head of a sheet and changes nothing that is measured."""

import pytest

from dryfit.model.brief_print import brief_print
from dryfit.model.brief_reading import parse_brief
from dryfit.model.errors import BadValue, UnknownKey

SHOW = '[show]\ntitle = "The Salt Orchard"\ncharacter = "Warden"\nrevision = "3"\ndecides = "The director"\n'


def test_the_show_is_read_and_leaves_the_print_as_it_is():
    brief = parse_brief(SHOW, "brief.toml")
    assert (brief.show.title, brief.show.revision, brief.show.performer) == ("The Salt Orchard", "3", "")
    assert brief_print(brief) == brief_print(parse_brief("", "brief.toml"))


def test_what_means_nothing_is_named():
    with pytest.raises(UnknownKey, match="titel"):
        parse_brief('[show]\ntitel = "x"\n', "brief.toml")
    with pytest.raises(BadValue, match="revision"):
        parse_brief("[show]\nrevision = 3\n", "brief.toml")
