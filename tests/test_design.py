"""Opening a design: the file's own figures are settled with its brief, it is admitted, and all doors do it alike."""

from dataclasses import replace

import pytest

import dryfit
from dryfit.batch.revision import read_revision
from dryfit.batch.task import Task, measure
from dryfit.cli import main
from dryfit.design import load_design
from dryfit.model.brief import Brief
from dryfit.model.brief_file import BRIEF_NAME, brief_for, brief_path_for, brief_path_in
from dryfit.model.brief_reading import parse_brief
from dryfit.model.errors import MissingRole
from dryfit.model.own_figures import OwnFigures
from dryfit.model.progress import drain
from dryfit.model.size_limit import TooManyTriangles
from dryfit.model.snapshot import Snapshot
from dryfit.model.snapshot_file import save_snapshot
from dryfit.performer.tried_on import design_of
from shapes import sheet, worn

OWN = OwnFigures({"additive_tolerance_mm": 3.0}, motions={"jaw": {"hinge": {"open_deg": 20.0}}})
BESIDE = "[limits]\nadditive_tolerance_mm = 0.7\nrim_thickness_mm = 0.4\n"


def design(own=OWN):
    return replace(worn(sheet(160.0, 20), sheet(60.0, 20, lambda x, y: 0.0 * x + 1.0)), own=own)


@pytest.fixture
def file(tmp_path):
    """A design that states figures of its own, beside a brief."""
    (tmp_path / BRIEF_NAME).write_text(BESIDE)
    return save_snapshot(design(), tmp_path / "design.npz")


def limits(brief):
    return brief.limits.additive_tolerance_mm, brief.limits.rim_thickness_mm


def test_own_figures_go_over_a_brief_that_was_found_and_under_one_that_was_named():
    found = design_of(design(), parse_brief(BESIDE))
    assert limits(found.brief) == (3.0, 0.4) and found.brief.motions["jaw"].hinge.open_deg == 20.0
    named = design_of(design(), parse_brief(BESIDE), explicit=True)
    assert limits(named.brief) == (0.7, 0.4) and named.brief.motions["jaw"].hinge.open_deg == 20.0
    assert found.brief is found.fitting.brief and found.snapshot is found.fitting.snapshot


def test_what_counts_of_the_file_s_own_is_said_apart_and_among_the_notes():
    read = replace(design(), notes=("read in inches",))
    opened = design_of(read, Brief())
    assert len(opened.own_notes) == 2
    assert "jaw (hinge)" in opened.own_notes[0] and "additive_tolerance_mm = 3" in opened.own_notes[1]
    assert opened.snapshot.notes == ("read in inches", *opened.own_notes)
    assert design_of(design(OwnFigures()), Brief()).own_notes == ()


def test_what_cannot_be_measured_is_no_design():
    with pytest.raises(MissingRole):
        design_of(Snapshot("empty"), Brief())


def test_the_brief_of_a_file_is_the_one_named_else_the_one_beside_it_else_the_defaults(file, tmp_path):
    named = tmp_path / "named.toml"
    named.write_text("[limits]\nadditive_tolerance_mm = 0.9\n")
    assert brief_path_for(file) == brief_path_in(tmp_path) == tmp_path / BRIEF_NAME
    assert brief_path_for(file, named) == brief_path_in(tmp_path, named) == named
    assert [brief_for(file, chosen).limits.additive_tolerance_mm for chosen in (None, named)] == [0.7, 0.9]
    (tmp_path / BRIEF_NAME).unlink()
    assert brief_path_for(file) is None and brief_for(file) == Brief()


def test_a_design_heavier_than_asked_for_is_refused_before_it_is_fitted(file):
    with pytest.raises(TooManyTriangles):
        load_design(file, most_triangles=100)
    assert load_design(file, most_triangles=0).snapshot.parts


def test_every_door_opens_a_file_with_the_same_brief(file, tmp_path, capsys):
    opened = load_design(file)
    assert limits(opened.brief) == (3.0, 0.4)
    assert limits(drain(read_revision(file, only=("additive",))).brief) == (3.0, 0.4)
    row = measure(
        Task(str(file), str(tmp_path / BRIEF_NAME), str(tmp_path / "out"), "r", ("additive",), pictures=False)
    )
    assert row.verdict == "pass", row.reason
    assert limits(drain(read_revision(tmp_path / "out" / "r")).brief) == (3.0, 0.4)
    assert main(["check", str(file), "--only", "additive"]) == 0
    told = capsys.readouterr().err
    assert all(note in told for note in opened.own_notes)
    report = dryfit.check(dryfit.load_snapshot(file), only=["additive"])
    assert report.limits["additive_tolerance_mm"]["value"] == 3.0


def test_a_named_brief_goes_over_the_file_s_own_at_every_door(file, tmp_path):
    named = tmp_path / "named.toml"
    named.write_text(BESIDE)
    assert limits(load_design(file, named).brief) == (0.7, 0.4)
    assert limits(drain(read_revision(file, named, ("additive",))).brief) == (0.7, 0.4)
    report = dryfit.check(dryfit.load_snapshot(file), named, only=["additive"])
    assert report.limits["additive_tolerance_mm"]["value"] == 0.7


def test_a_file_whose_every_own_motion_the_brief_states_is_checked(file, tmp_path):
    """Nothing of its own counts then and nothing is said of it."""
    save_snapshot(design(OwnFigures(motions=OWN.motions)), file)
    (tmp_path / BRIEF_NAME).write_text("[motions.jaw]\nhinge = { open_deg = 25.0 }\n")
    assert load_design(file).own_notes == ()
    assert main(["check", str(file), "--only", "additive"]) == 0
