"""The snapshot: frozen, whole after a round trip, refused when it is no surface."""

import json
import pickle

import numpy as np
import pytest

from dryfit.model.admission import admit
from dryfit.model.errors import (
    BadFaceIndex,
    ImplausibleSize,
    MisfitFrames,
    MissingRole,
    NoFaces,
    NotFiniteCoordinates,
    PieceInAnotherUnit,
    TooManyBases,
    UnreadableFile,
    UnwritableOutput,
    ZeroArea,
)
from dryfit.model.exceptions import WrittenException
from dryfit.model.own_figures import OwnFigures
from dryfit.model.snapshot import Camera, Lock, Motion, Part, Snapshot
from dryfit.model.snapshot_file import load_saved_snapshot, save_snapshot
from dryfit.model.unmeasured import Unmeasured
from shapes import icosphere, worn


@pytest.fixture
def whole():
    vertices, faces = icosphere(2)
    moved = np.stack([vertices, vertices + [0, 0, -20.0]])
    return worn(
        (vertices, faces),
        (vertices * 1.01, faces),
        source="design.blend",
        sha256="ab",
        landmarks={"sellion": [0, -100, 20]},
        motions={"jaw": Motion("jaw", [0, 1], {"Scan": moved})},
        cameras=(Camera("ShotCam", (0.0, -2000.0, 0.0)),),
        lock=Lock("ff", vertices),
        exceptions=(WrittenException("edge", "Piece", "", "a digital zone"),),
        notes=("one note",),
    )


def test_arrays_cannot_be_changed(whole):
    with pytest.raises(ValueError, match="read-only"):
        whole.base.vertices_mm[0, 0] = 1.0
    with pytest.raises(TypeError):
        whole.landmarks["sellion"] = 0


def test_a_saved_snapshot_comes_back_the_same(whole, tmp_path):
    back = load_saved_snapshot(save_snapshot(whole, tmp_path / "a.npz"))
    assert [vars(a).keys() for a in back.parts] == [vars(a).keys() for a in whole.parts]
    for one, other in zip(back.parts, whole.parts, strict=True):
        np.testing.assert_array_equal(one.vertices_mm, other.vertices_mm)
        np.testing.assert_array_equal(one.faces, other.faces)
        assert (one.name, one.role, one.material) == (other.name, other.role, other.material)
    np.testing.assert_array_equal(back.motions["jaw"].frames_mm["Scan"], whole.motions["jaw"].frames_mm["Scan"])
    assert back.cameras == whole.cameras
    assert back.exceptions == whole.exceptions
    assert back.notes == whole.notes
    np.testing.assert_array_equal(back.lock.vertices_mm, whole.lock.vertices_mm)
    assert [p.name for p in tmp_path.iterdir()] == ["a.npz"]


def test_exceptions_keep_their_first_name_in_the_file(whole, tmp_path):
    """Snapshots are users' bug reports: one written by an earlier version must load for ever."""
    with np.load(save_snapshot(whole, tmp_path / "a.npz")) as stored:
        header = json.loads(str(stored["header"]))
    assert header["acceptances"] == [vars(each) for each in whole.exceptions]
    assert set(header["acceptances"][0]) == {"check", "object", "region", "reason", "by", "on"}


def test_a_strange_file_is_refused_and_never_unpickled(tmp_path):
    strange = tmp_path / "a.npz"
    for content in (b"", b"not a zip", b"PK\x03\x04 torn"):
        strange.write_bytes(content)
        with pytest.raises(UnreadableFile):
            load_saved_snapshot(strange)
    np.savez(strange, header=np.array([object()], dtype=object))
    with pytest.raises(UnreadableFile):
        load_saved_snapshot(strange)


def test_an_unwritable_place_leaves_nothing(whole, tmp_path):
    with pytest.raises(UnwritableOutput):
        save_snapshot(whole, tmp_path / "absent" / "a.npz")
    assert not list(tmp_path.iterdir())


def test_a_motion_is_linear_between_frames_and_goes_on_beyond_them():
    frames = np.array([[[0.0, 0, 0]], [[1.0, 0, 0]], [[3.0, 0, 0]]])
    motion = Motion("jaw", [0.0, 0.5, 1.0], {"A": frames})
    for t, x in ((-0.5, -1.0), (0.25, 0.5), (0.5, 1.0), (0.75, 2.0), (1.25, 4.0)):
        assert motion.vertices_at("A", t)[0, 0] == pytest.approx(x)


VERTICES, FACES = icosphere(1)
NAN = VERTICES.copy()
NAN[3] = np.nan


@pytest.mark.parametrize(
    ("parts", "error", "words"),
    [
        ([("A", "appliance", VERTICES, FACES)], MissingRole, "base"),
        ([("B", "base", VERTICES, FACES)], MissingRole, "appliance"),
        ([("B", "base", VERTICES, FACES), ("C", "base", VERTICES, FACES)], TooManyBases, "B, C"),
        ([("B", "base", VERTICES, FACES[:0]), ("A", "appliance", VERTICES, FACES)], NoFaces, "'B' has 42"),
        ([("B", "base", VERTICES[:0], FACES[:0]), ("A", "appliance", VERTICES, FACES)], NoFaces, "no faces"),
        ([("B", "base", NAN, FACES), ("A", "appliance", VERTICES, FACES)], NotFiniteCoordinates, "1 of 42"),
        ([("B", "base", VERTICES, FACES + 40), ("A", "appliance", VERTICES, FACES)], BadFaceIndex, "outside"),
        ([("B", "base", VERTICES, FACES[:, [0, 0, 0]]), ("A", "appliance", VERTICES, FACES)], ZeroArea, "zero area"),
        ([("B", "base", VERTICES / 1000, FACES), ("A", "appliance", VERTICES, FACES)], ImplausibleSize, "metres read"),
        (
            [("B", "base", VERTICES * 1000, FACES), ("A", "appliance", VERTICES, FACES)],
            ImplausibleSize,
            "millimetres read as metres",
        ),
    ],
)
def test_what_cannot_be_measured_is_refused_with_a_clear_word(parts, error, words):
    snapshot = Snapshot("bad", parts=tuple(Part(*part) for part in parts))
    with pytest.raises(error, match=words):
        admit(snapshot)


UNITS = [
    (0.001, "metres read as millimetres"),
    (0.1, "centimetres read as millimetres"),
    (1 / 25.4, "inches read as millimetres"),
    (1000.0, "millimetres read as metres"),
    (10.0, "millimetres read as centimetres"),
    (25.4, "millimetres read as inches"),
]


@pytest.mark.parametrize(("factor", "words"), UNITS)
@pytest.mark.parametrize("place", [[70, -60, 20], [0, -100, 0]])
@pytest.mark.parametrize("origin", [[0, 0, 0], [0, 0, 1600.0]])
def test_a_piece_in_another_unit_than_its_base_is_named(factor, words, place, origin):
    vertices, faces = icosphere(2)
    piece = (vertices * 0.25 + place + origin) * factor
    with pytest.raises(PieceInAnotherUnit, match=words):
        admit(worn((vertices + origin, faces), (piece, faces)))


@pytest.mark.parametrize("size_mm", [2.0, 8.0, 60.0, 250.0])
@pytest.mark.parametrize("place", [[70, -60, 20], [0, -100, 0], [0, -80, -30], [400, 0, 0]])
def test_small_large_and_parked_pieces_are_left_to_the_checks(size_mm, place):
    vertices, faces = icosphere(2)
    snapshot = worn((vertices, faces), (vertices * (size_mm / 200.0) + place, faces))
    assert admit(snapshot) is snapshot


@pytest.mark.parametrize(
    ("field", "values"),
    [("vertices_mm", np.zeros((3, 4))), ("vertices_mm", np.array([["a", "b", "c"]])), ("vertices_mm", np.zeros((4, 3), complex)),
     ("faces", np.array([[0.0, 1.0, 1.5]])), ("faces", np.array([[0.0, 1.0, np.nan]])), ("faces", np.array([[0, 1, 1e300]])),
     ("faces", np.zeros((3, 2), int)), ("faces", np.array([[0, 1, 2, 3]]))],
)  # fmt: skip
def test_arrays_of_another_kind_or_shape_are_never_read_as_something_else(field, values):
    """A table on its side, or corners that are no whole numbers, would else be another mesh without a word."""
    stated = {"vertices_mm": np.zeros((4, 3)), "faces": np.array([[0, 1, 2]])}
    with pytest.raises(ValueError, match=r"needed|must be"):
        Part("Piece", "appliance", **(stated | {field: values}))


def test_numbers_one_after_the_other_and_whole_floats_are_read():
    part = Part("Piece", "appliance", np.arange(9.0), np.array([0.0, 1.0, 2.0]))
    assert part.vertices_mm.shape == (3, 3) and part.faces.dtype == np.int64
    assert part.faces.tolist() == [[0, 1, 2]]


WRONG_KINDS = {
    "a name that is a list": lambda header: header.update(name=[1]),
    "a material that is a list": lambda header: header["parts"][0].update(material=["silicone"]),
    "an area that is a number": lambda header: header["parts"][0].update(areas=[7]),
    "a note that is a table": lambda header: header.update(notes=[{}]),
    "an own limit that is words": lambda header: header.update(own={"limits": {"contact_mm": "wide"}}),
    "an exception for a number": lambda header: header.update(
        acceptances=[{"check": 1, "object": "", "region": "", "reason": ""}]
    ),
    "a camera in two dimensions": lambda header: header.update(cameras=[{"name": "Shot", "position_mm": [1, 2]}]),
}


@pytest.mark.parametrize("how", WRONG_KINDS)
def test_a_header_whose_values_are_of_another_kind_is_one_sentence(tmp_path, how):
    path = save_snapshot(worn(icosphere(2), icosphere(1, 20.0)), tmp_path / "show.npz")
    with np.load(path) as stored:
        arrays = {name: stored[name] for name in stored.files}
    header = json.loads(str(arrays["header"]))
    WRONG_KINDS[how](header)
    np.savez(path, **(arrays | {"header": np.array(json.dumps(header))}))
    with pytest.raises(UnreadableFile, match="it is not a Dryfit snapshot"):
        load_saved_snapshot(path)


@pytest.mark.parametrize("times", [np.array(1.0), np.array([[0.0, 1.0]])])
def test_times_and_weights_that_are_no_list_are_named(times):
    part = Part("Head", "base", *icosphere(2))
    motion = Motion("jaw", times, {"Head": np.stack([part.vertices_mm] * 2)})
    piece = Part("Piece", "appliance", *icosphere(1, 20.0))
    with pytest.raises(MisfitFrames, match="jaw"):
        admit(Snapshot("show", parts=(part, piece), motions={"jaw": motion}))
    uneven = Part("Head", "base", part.vertices_mm, part.faces, areas={"dryfit_lip_upper": times})
    with pytest.raises(MisfitFrames, match="dryfit_lip_upper"):
        admit(Snapshot("show", parts=(uneven, piece)))


def test_a_snapshot_pickles_and_stays_frozen():
    vertices, faces = icosphere(1)
    head = Part("Head", "base", vertices, faces, areas={"dryfit_lip_upper": np.ones(len(vertices))})
    seen = Unmeasured("Horn", "mesh", "it has no role", vertices)
    own = OwnFigures({"rim_thickness_mm": 0.4}, {"silicone": {"density_g_cm3": 1.1}})
    jaw = Motion("jaw", [0, 1], {"Head": np.stack([vertices, vertices + 1.0])})
    before = Snapshot(
        "Warden", parts=(head,), motions={"jaw": jaw}, landmarks={"gnathion": [0, 0, 1]}, lock=Lock("ab", vertices),
        own=own, unmeasured=(seen,), lost_motions={"blink": "no key"},
    )  # fmt: skip
    after = pickle.loads(pickle.dumps(before))
    np.testing.assert_array_equal(after.motions["jaw"].frames_mm["Head"], jaw.frames_mm["Head"])
    assert (after.own, after.lost_motions, after.part("Head").role) == (own, before.lost_motions, head.role)
    for array in (
        after.parts[0].vertices_mm,
        after.landmarks["gnathion"],
        after.lock.vertices_mm,
        after.parts[0].faces,
    ):
        with pytest.raises(ValueError, match="read-only"):
            array[0] = 5
    with pytest.raises(TypeError):
        after.landmarks["gnathion"] = None
