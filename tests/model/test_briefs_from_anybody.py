"""Briefs as a stranger may send them: each costs one sentence that names the place, and no time."""

import os
import sys

import pytest

import shapes
from dryfit import check
from dryfit.checks.runner import ExceptionForNoCheck
from dryfit.model.brief_reading import parse_brief, read_brief
from dryfit.model.errors import BadValue, InputError, UnreadableFile
from dryfit.model.snapshot import Part, Snapshot

STRANGE = {
    "a number of 5,000 digits": (f"[limits]\ncontact_mm = {'9' * 5000}", "more than 4300 digits"),
    "100,000 brackets": ("a = " + "[" * 100_000, "nested too deep"),
    "a key of 20,000 parts": (".".join(["a"] * 20_000) + " = 1", "the key at line 1 has 20000 parts"),
    "a heading of 20,000 parts": ("[" + ".".join(["a"] * 20_000) + "]", "the key at line 1 has 20000 parts"),
    "a landmark beyond all": (
        "[landmarks]\nsellion = [1e308, 0.0, 0.0]",
        "[landmarks] sellion must be within 1e+06 mm",
    ),
    "a view from behind the screen": ("[views]\ndistance_mm = -5", "[views] distance_mm must be over zero"),
    "a view from nowhere": ("[views]\ndistance_mm = 0", "[views] distance_mm must be over zero"),
    "an infinite limit": ("[limits]\ncontact_mm = 1e308", "[limits] contact_mm must be from 0 up to 0.5 mm"),
}


@pytest.mark.parametrize("how", STRANGE)
def test_it_is_one_sentence_that_names_the_place(how):
    text, words = STRANGE[how]
    with pytest.raises(InputError) as met:
        parse_brief(text, "show.toml")
    said = str(met.value)
    assert said.startswith("show.toml: ") and words in said
    assert len(said) < 400 and "\n" not in said


def test_a_byte_order_mark_is_no_part_of_the_brief(tmp_path):
    path = tmp_path / "brief.toml"
    path.write_bytes(b"\xef\xbb\xbf[limits]\ncontact_mm = 0.04\n")
    assert read_brief(path).limits.contact_mm == 0.04


@pytest.mark.skipif(sys.platform == "win32", reason="pipes with a name are elsewhere there")
def test_a_pipe_is_not_waited_for(tmp_path):
    os.mkfifo(tmp_path / "brief.toml")
    with pytest.raises(UnreadableFile, match="no plain file"):
        read_brief(tmp_path / "brief.toml")


def test_a_huge_file_is_refused_by_its_size(tmp_path):
    path = tmp_path / "brief.toml"
    with path.open("wb") as file:
        file.truncate(10_000_000_000)
    with pytest.raises(UnreadableFile, match="10,000,000,000 bytes"):
        read_brief(path)


def test_long_lists_of_numbers_are_no_keys():
    numbers = ", ".join(["1.5"] * 200)
    text = f"[views]\nangles_deg = [{numbers}]\n[limits] # a.b.c\ncontact_mm = 0.04 # {'.' * 100}\n"
    assert len(parse_brief(text).views.angles_deg) == 200
    nested = f"[views]\nangles_deg = [\n{numbers},\n]\n"
    assert len(parse_brief(nested).views.angles_deg) == 200


def test_an_exception_for_no_check_is_refused_before_anything_is_measured():
    brief = parse_brief(
        '[[exceptions]]\ncheck = "lock"\nobject = "Brow"\nregion = ""\nreason = "agreed"\n', "show.toml"
    )
    vertices, faces = shapes.icosphere(3, 100.0)[:2]
    worn = Part("Brow", "appliance", vertices * 1.02, faces)
    with pytest.raises(ExceptionForNoCheck, match=r"show\.toml: \[exceptions\] check must be one of base_lock"):
        check(Snapshot("warden", parts=(Part("Scan", "base", vertices, faces), worn)), brief)


def test_a_table_where_a_number_belongs_is_named():
    with pytest.raises(BadValue, match=r"\[limits\] contact_mm must be a number"):
        parse_brief("[limits.contact_mm]\na = 1")


LONG = "angles_de" * 340


@pytest.mark.parametrize(
    "text",
    [f"[views]\n{LONG} = 1", f"{LONG} = 1", f"[motions.{LONG}]\n{LONG} = 1", f'[limits]\nundercut_mm = "{LONG}"',
     f"[views]\nangles_deg = [{'1,' * 2000}'x']", f"[materials.silicone]\n{LONG} = {{}}", f'[roles]\nbase = {{a="{LONG}"}}'],
)  # fmt: skip
def test_what_is_quoted_of_a_brief_is_cut_off_where_it_is_long(text):
    with pytest.raises(InputError) as refused:
        parse_brief(text)
    said = str(refused.value)
    assert len(said) < 600 and "letters)" in said and "\n" not in said
