"""What a design draws on beside its own file: found by its format's own rules, held by content."""

import hashlib
import json
import os

import pytest

from dryfit.batch.row import ROW_NAME, Row, stored_row
from dryfit.model.file_content import digest_of, digests_beside
from dryfit.model.files_read import files_noted, note_files
from dryfit.scene.linked_files import _text_layers, gltf_buffers


def test_the_buffers_of_a_gltf_are_those_it_names_by_address(tmp_path):
    """glTF 2.0, section 3.6.1.1: a relative address with escapes is a file, a ``data:`` address and none are not."""
    stated = {"buffers": [{"uri": "brow%20a.bin"}, {"uri": "data:,x"}, {}, {"uri": "gone.bin"}]}
    (tmp_path / "brow.gltf").write_text(json.dumps(stated))
    assert gltf_buffers(tmp_path / "brow.gltf") == [tmp_path / "brow a.bin", tmp_path / "gone.bin"]


@pytest.mark.parametrize("content", ["", "{", "[]", '{"buffers": [3]}', '{"buffers": [{"uri": 3}]}'])
def test_a_damaged_gltf_names_none(tmp_path, content):
    (tmp_path / "brow.gltf").write_text(content)
    assert gltf_buffers(tmp_path / "brow.gltf") == []


def test_text_layers_are_followed_round_a_circle_and_past_a_gap(tmp_path):
    (tmp_path / "a.usda").write_text("#usda 1.0\n( subLayers = [@b.usda@, @sub/c.usda@] )")
    (tmp_path / "b.usda").write_text('#usda 1.0\ndef "x" ( references = @@@./a.usda@@@</x> ) { asset f = @skin.png@ }')
    (tmp_path / "skin.png").write_bytes(b"no layer")
    layers, all_known = _text_layers(tmp_path / "a.usda")
    assert sorted(layers) == [tmp_path / name for name in ("b.usda", "skin.png", "sub/c.usda")]
    assert all_known


def test_what_stands_in_strings_and_comments_is_no_path(tmp_path):
    """OpenUSD's text grammar: strings in four kinds of quotes, comments from a hash sign on."""
    (tmp_path / "a.usda").write_text(
        '#usda 1.0\n( doc = "me@x"; subLayers = [@b.usda@] ) # ask me@home\n'
        'string s = \'d@e\'\nstring t = """f@\ng"""\nasset u = @c.png@'
    )
    assert _text_layers(tmp_path / "a.usda") == ([tmp_path / "c.png", tmp_path / "b.usda"], True)


def test_clips_named_by_a_pattern_are_not_all_known(tmp_path):
    (tmp_path / "a.usda").write_text("#usda 1.0\n( clips = { asset templateAssetPath = @./p.##.usd@ } )")
    assert not _text_layers(tmp_path / "a.usda")[1]


def test_a_binary_layer_may_draw_on_more_than_is_known(tmp_path):
    (tmp_path / "a.usda").write_text("#usda 1.0\n( subLayers = [@b.usdc@] )")
    (tmp_path / "b.usdc").write_bytes(b"PXR-USDC")
    assert _text_layers(tmp_path / "a.usda") == ([tmp_path / "b.usdc"], False)


def test_a_file_is_held_by_its_content(tmp_path):
    file = tmp_path / "brow.bin"
    assert digest_of(file) == ""
    file.write_bytes(b"one")
    assert digest_of(file) == hashlib.sha256(b"one").hexdigest()
    file.write_bytes(b"two")
    os.utime(file, ns=(1, 1))
    assert digest_of(file) == hashlib.sha256(b"two").hexdigest()


def test_paths_are_told_from_the_variants_folder_in_order(tmp_path):
    paths = [tmp_path / "variants" / "b.bin", tmp_path / "parts" / "a.bin"]
    assert list(digests_beside(tmp_path / "variants", paths)) == ["../parts/a.bin", "b.bin"]


@pytest.mark.parametrize("then", ["changed", "gone", "back"])
def test_a_row_is_kept_while_all_it_draws_on_is_as_it_was(tmp_path, then):
    buffer = tmp_path / "brow.bin"
    if then != "back":
        buffer.write_bytes(b"one")
    row = Row("Brow", "brow.gltf", "brow", "key", "pass", read_from=digests_beside(tmp_path, [buffer]))
    (tmp_path / "brow").mkdir()
    (tmp_path / "brow" / ROW_NAME).write_text(json.dumps(vars(row)))
    assert stored_row(tmp_path / "brow", "key", tmp_path) == row
    assert stored_row(tmp_path / "brow", "another key", tmp_path) is None
    buffer.unlink() if then == "gone" else buffer.write_bytes(b"other")
    assert stored_row(tmp_path / "brow", "key", tmp_path) is None


def test_every_block_around_a_reader_gets_what_it_notes(tmp_path):
    note_files([tmp_path / "before"])
    with files_noted() as outer:
        note_files([tmp_path / "a"])
        with files_noted() as inner:
            note_files([tmp_path / "b"], all_known=False)
    note_files([tmp_path / "after"])
    assert outer.paths == {tmp_path / "a", tmp_path / "b"} and not outer.all_known
    assert inner.paths == {tmp_path / "b"} and not inner.all_known
