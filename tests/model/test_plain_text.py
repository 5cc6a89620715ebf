"""What reaches a terminal: names from files are shown, never acted on."""

import json
import unicodedata

import pytest

from dryfit.model.plain_text import plain_line, plain_text

SHOWN = {*range(0x600, 0x606), 0x6DD, 0x70F, 0x890, 0x891, 0x8E2, 0x110BD, 0x110CD}
"""Signs of format that are drawn: they stand over numbers and words."""
HIEROGLYPHS = range(0x13430, 0x13456)
SHORTHAND = range(0x1BCA0, 0x1BCA4)


@pytest.mark.parametrize("kind", ["Cc", "Cf", "Zl", "Zp"])
def test_no_sign_that_is_not_drawn_passes(kind):
    signs = [chr(code) for code in range(0x110000) if unicodedata.category(chr(code)) == kind]
    assert signs
    passed = {ord(sign) for sign in signs if plain_text(sign) == sign}
    assert passed - SHOWN - {*HIEROGLYPHS} - {*SHORTHAND} == ({ord("\n"), ord("\t")} if kind == "Cc" else set())


def test_every_sign_that_is_drawn_passes():
    drawn = "".join(chr(code) for code in range(0x20, 0x3000) if unicodedata.category(chr(code))[0] in "LMNPSZ")
    drawn = drawn.replace("\u2028", "").replace("\u2029", "")
    assert plain_text(drawn) == drawn
    assert plain_text("été 塩 🌊 µm\n") == "été 塩 🌊 µm\n"


def test_signs_are_shown_as_numbers():
    assert plain_text("a\x1b[2J\u202eb\u200bc\U000e0041") == r"a\u001b[2J\u202eb\u200bc\udb40\udc41"


def test_a_line_is_one_line():
    assert plain_line("Brow\n\nunusable\tCheek\r") == r"Brow unusable Cheek\r"


def test_printed_json_means_the_same():
    values = {"name": "Brow\u202e\u200b\x9b\x1b[0m\U000e0041\n"}
    printed = plain_text(json.dumps(values, ensure_ascii=False))
    assert json.loads(printed) == values
    assert printed.isascii()
