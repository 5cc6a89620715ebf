"""What a picture says, written and read by other people's libraries."""

import numpy as np
import pytest
from PIL import Image, PngImagePlugin

from dryfit.model.errors import UnreadableFile
from dryfit.model.stamp import Stamp
from dryfit.report.pictures.image_stamp import read_stamp
from dryfit.report.pictures.picture import png_bytes

STAMP = Stamp("fail", "Wächter 樹", "2 fail", "12 of 13", file="ab" * 6, brief="cd" * 6, version="0.1.0")
PIXELS = np.zeros((4, 5, 3), np.uint8)


def test_our_own_picture_says_every_fact_under_its_name(tmp_path):
    (tmp_path / "own.png").write_bytes(png_bytes(PIXELS, "Front, at rest", "dryfit 0.1.0", STAMP.facts()))
    with Image.open(tmp_path / "own.png") as image:
        assert image.text["dryfit:verdict"] == "fail"
        assert image.text["dryfit:design"] == "Wächter 樹"
        assert {name.removeprefix("dryfit:") for name in image.text if name.startswith("dryfit:")} == set(STAMP.facts())
    assert read_stamp(tmp_path / "own.png") == STAMP


@pytest.mark.parametrize("kind", ["plain", "packed", "international"])
def test_a_note_in_a_png_of_another_program_is_read(tmp_path, kind):
    notes = PngImagePlugin.PngInfo()
    line = "Ida's  " + Stamp("review", "03-warden").line()
    if kind == "international":
        notes.add_itxt("Note", line, zip=True)
    else:
        notes.add_text("Note", line, zip=kind == "packed")
    Image.fromarray(PIXELS).save(tmp_path / "other.png", pnginfo=notes)
    assert read_stamp(tmp_path / "other.png") == Stamp("review", "03-warden")


@pytest.mark.parametrize("parts", [1, 2])
def test_a_note_in_an_exr_is_read(tmp_path, parts):
    OpenEXR = pytest.importorskip("OpenEXR", reason="needs the openexr package")
    channels = {"Y": np.zeros((4, 5), np.float32)}
    headers = [{"type": OpenEXR.scanlineimage, "name": f"part{number}"} for number in range(parts)]
    headers[-1]["Note"] = STAMP.line()
    file = OpenEXR.File([OpenEXR.Part(header, dict(channels)) for header in headers])
    file.write(str(tmp_path / "pass.exr"))
    assert read_stamp(tmp_path / "pass.exr") == STAMP


def test_a_picture_without_a_stamp_has_none(tmp_path):
    Image.fromarray(PIXELS).save(tmp_path / "bare.png")
    assert read_stamp(tmp_path / "bare.png") is None


@pytest.mark.parametrize("cut", [0, 7, 20, 60])
def test_what_is_no_whole_picture_is_refused(tmp_path, cut):
    whole = png_bytes(PIXELS, "Front", "dryfit 0.1.0", STAMP.facts())
    (tmp_path / "cut.png").write_bytes(whole[:cut])
    with pytest.raises(UnreadableFile, match=r"cut.png.*no whole PNG or EXR"):
        read_stamp(tmp_path / "cut.png")


def test_a_header_that_claims_too_much_is_refused(tmp_path):
    (tmp_path / "bomb.exr").write_bytes(b"\x76\x2f\x31\x01\x02\0\0\0Note\0string\0\xff\xff\xff\x7f")
    with pytest.raises(UnreadableFile, match="takes 2147483647 bytes"):
        read_stamp(tmp_path / "bomb.exr")
