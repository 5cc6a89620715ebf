"""Damaged files of every kind: each is read or refused in a clear sentence, and what takes a process down costs that."""

import gzip
import json
import subprocess
import sys
import zipfile
from pathlib import Path

import damaged
import pytest
from damaged import FOREIGN_WORDS

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
from blender_module import needs_module  # noqa: E402
from dryfit.model.errors import UnreadableFile  # noqa: E402
from dryfit.scene.reading import read_file  # noqa: E402

pytestmark = [pytest.mark.slow, needs_module]


@pytest.fixture(scope="module")
def corpus(tmp_path_factory):
    place = tmp_path_factory.mktemp("damaged")
    command = [sys.executable, damaged.__file__, "write", str(place), *damaged.KINDS]
    done = subprocess.run(command, capture_output=True, check=False, timeout=300)
    assert done.returncode == 0, done.stderr[-2000:]
    return place


def test_an_archive_of_usd_that_is_packed_is_refused_from_its_list(tmp_path):
    if "usd_import" not in dir(bpy.ops.wm):
        pytest.skip("this Blender was built without USD")
    with zipfile.ZipFile(tmp_path / "bomb.usdz", "w", zipfile.ZIP_DEFLATED, compresslevel=1) as archive:
        archive.writestr("root.usda", bytes(300_000_000))
    with zipfile.ZipFile(tmp_path / "packed.usdz", "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("root.usda", "#usda 1.0\n")
    with pytest.raises(UnreadableFile, match=r"would unpack to 300\.0 MB"):
        read_file(tmp_path / "bomb.usdz")
    with pytest.raises(UnreadableFile, match=r"1 of its files are packed"):
        read_file(tmp_path / "packed.usdz")


def test_a_blend_that_unpacks_to_far_more_is_refused_from_its_header(tmp_path):
    (tmp_path / "bomb.blend").write_bytes(gzip.compress(b"BLENDER-v279" + bytes(300_000_000), 1))
    with pytest.raises(UnreadableFile, match=r"would unpack to 300\.0 MB"):
        read_file(tmp_path / "bomb.blend")


def names_of(place, kind):
    return sorted(path.name for path in place.iterdir() if path.name.partition(".")[2] == kind)


def outcomes(place, names):
    """Read files one after the other in a process, in a new one where it dies; name -> what came of it, and words."""
    found, waiting = {}, [*names]
    while waiting:
        command = [sys.executable, damaged.__file__, "read", str(place), *waiting]
        done = subprocess.run(command, capture_output=True, check=False, timeout=300)
        lines = done.stdout.decode("utf8", "replace").splitlines()
        found |= {name: words for name, *words in map(json.loads, filter(is_outcome, lines))}
        if done.returncode == 0:
            return found
        waiting = [name for name in waiting if found.get(name, ["begun"])[0] == "begun"]
        found[waiting.pop(0)] = ["died", str(done.returncode)]
    return found


def is_outcome(line):
    return line.startswith('["')


def dryfit(*arguments):
    command = [sys.executable, "-m", "dryfit", *map(str, arguments)]
    return subprocess.run(command, capture_output=True, check=False, timeout=300)


@pytest.mark.parametrize("kind", damaged.KINDS)
def test_a_damaged_file_is_read_or_refused_or_costs_a_process_of_its_own(corpus, kind):
    names = names_of(corpus, kind)
    if not names:
        pytest.skip("this Blender was built without it")
    assert len(names) > 30
    found = outcomes(corpus, names)
    assert [*found] and {*found} == {*names}
    assert {name: words for name, (came, words) in found.items() if came == "fault"} == {}
    for name, (came, words) in found.items():
        assert came in ("read", "refused", "died"), (name, came)
        assert came != "refused" or not FOREIGN_WORDS.search(words), words
        assert came != "refused" or words.startswith(str(corpus / name)) or "performer" in words
    for name in [name for name, (came, _) in found.items() if came == "died"][:2]:
        costs_a_sentence(corpus / name)


def costs_a_sentence(path: Path):
    """It may be read by a process that read no other damaged file before."""
    done = dryfit("check", path, "--only", "additive", "--fail-on", "never")
    said = [line for line in done.stderr.decode("utf8").splitlines() if line.startswith("dryfit: ")]
    assert done.returncode in (0, 2)
    assert b"Traceback" not in done.stderr
    if done.returncode == 2:
        assert len(said) == 1 and path.name in said[0]
        assert done.stdout == b""
