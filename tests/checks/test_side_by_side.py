"""Checks in several lanes say what they say one by one, end together, and tell how far they are."""

import threading
from dataclasses import replace

import pytest
from test_only_what_changed import plain

from dryfit.checks import side_by_side as lanes
from dryfit.checks.check import Check
from dryfit.checks.runner import run_fitting
from dryfit.model.brief import Brief
from dryfit.model.finding import Outcome, not_checked
from dryfit.model.progress import Progress, drain
from dryfit.performer.indexed_bases import IndexedBases
from dryfit.performer.tried_on import design_of
from family import members, pieces
from worn_sphere import worn_sphere

LIKE = members.blocked(3.0)
DESIGN = LIKE.wearing(pieces.cheek_piece(LIKE.head), pieces.chin_piece(LIKE.head)).snapshot


def fitting_of(snapshot=DESIGN, bases=None):
    return design_of(snapshot, Brief(), explicit=True, bases=bases).fitting


def stand_in(name, measure):
    """A check of the name that only does what it is told to."""
    return Check(
        id=name, question=f"{name}?", measure=measure, measured=(("told", "told"),), method="", limits=(), blind_spots="",
        landmarks=(),
    )  # fmt: skip


def ours():
    """Threads that checks were measured in and that still run."""
    return [each for each in threading.enumerate() if each.name.startswith("check lane")]


@pytest.fixture(autouse=True)
def nothing_is_left_running():
    yield
    assert not ours()


@pytest.mark.parametrize("threads", ["2", "3", "16"])
def test_answers_are_the_same_to_the_bit_however_many_lanes_there_are(monkeypatch, threads):
    monkeypatch.setenv("DRYFIT_THREADS", "1")
    alone = drain(run_fitting(fitting_of()))
    monkeypatch.setenv("DRYFIT_THREADS", threads)
    bases = IndexedBases()
    assert plain(drain(run_fitting(fitting_of(bases=bases)))) == plain(alone)
    assert plain(drain(run_fitting(fitting_of(bases=bases)))) == plain(alone), "the second time, with what is kept"
    part = DESIGN.part("Throat")
    stroke = replace(DESIGN, parts=tuple(
        replace(each, vertices_mm=each.vertices_mm + [0.0, 0.3, 0.0]) if each is part else each for each in DESIGN.parts
    ))  # fmt: skip
    after = drain(run_fitting(fitting_of(stroke, bases)))
    monkeypatch.setenv("DRYFIT_THREADS", "1")
    assert plain(after) == plain(drain(run_fitting(fitting_of(stroke))))


def test_what_rests_on_how_the_mouth_shuts_goes_in_one_lane_and_the_rest_begins_with_the_longest():
    names = ["base_lock", "additive", "closure", "coverage", "interference", "strain", "airway", "release"]
    assert lanes._groups(names) == [[2, 3, 4, 6], [5], [7], [1], [0]]
    assert lanes._groups(["edge"]) == [[0]]


def test_several_checks_do_run_at_once(monkeypatch):
    """Each waits until the other has begun: one by one they never would."""
    monkeypatch.setenv("DRYFIT_THREADS", "2")
    met = threading.Barrier(2, timeout=60.0)

    def waits(fitting, brief):
        yield Progress(0, 1, "waiting")
        met.wait()
        return Outcome(measures={"told": 1.0})

    checks = [stand_in(name, waits) for name in ("here", "there")]
    report = drain(run_fitting(fitting_of(worn_sphere()), known=checks))
    assert [(check.id, check.measures["told"]) for check in report.checks] == [("here", 1.0), ("there", 1.0)]


def test_progress_never_goes_back_and_comes_to_the_end(monkeypatch):
    monkeypatch.setenv("DRYFIT_THREADS", "2")
    steps = [*run_fitting(fitting_of())]
    done = [step.done for step in steps]
    assert done == sorted(done) and done[-1] == steps[-1].total == 13
    assert {step.total for step in steps} == {13}


def test_a_job_that_is_closed_ends_its_lanes_at_their_next_steps(monkeypatch):
    monkeypatch.setenv("DRYFIT_THREADS", "2")
    begun = []

    def endless(fitting, brief):
        begun.append(fitting)
        while True:
            yield Progress(0, 1, "on and on")

    job = run_fitting(fitting_of(worn_sphere()), known=[stand_in(name, endless) for name in ("one", "two", "three")])
    while len(begun) < 2:
        next(job)
    assert len(ours()) == 2 and begun[0] is not begun[1]
    job.close()
    assert len(begun) == 2


def test_who_drives_a_job_is_heard_while_a_lane_is_in_one_long_step(monkeypatch):
    monkeypatch.setenv("DRYFIT_THREADS", "2")
    goes_on = threading.Event()

    def stuck(fitting, brief):
        yield Progress(0, 1, "a long step")
        goes_on.wait(60.0)
        return not_checked("it was only waiting")

    job = run_fitting(fitting_of(worn_sphere()), known=[stand_in("one", stuck), stand_in("two", stuck)])
    heard = [next(job) for _ in range(4)]
    assert heard[-1].label == "a long step"
    goes_on.set()
    job.close()


@pytest.mark.parametrize("error", [MemoryError("no more"), KeyboardInterrupt()])
def test_what_no_check_may_swallow_comes_out_of_its_lane(monkeypatch, error):
    monkeypatch.setenv("DRYFIT_THREADS", "2")

    def breaks(fitting, brief):
        yield Progress(0, 1, "about to")
        raise error

    def fine(fitting, brief):
        yield Progress(0, 1, "fine")
        return not_checked("it was only asked")

    with pytest.raises(type(error)):
        drain(run_fitting(fitting_of(worn_sphere()), known=[stand_in("one", fine), stand_in("two", breaks)]))


def test_a_fault_in_one_lane_costs_that_check_alone(monkeypatch):
    monkeypatch.setenv("DRYFIT_THREADS", "2")

    def breaks(fitting, brief):
        yield Progress(0, 1, "about to")
        raise ZeroDivisionError("by zero")

    def fine(fitting, brief):
        yield Progress(0, 1, "fine")
        return Outcome(measures={"told": 2.0})

    checks = [stand_in("one", breaks), stand_in("two", fine)]
    one, two = drain(run_fitting(fitting_of(worn_sphere()), known=checks)).checks
    assert one.fault and "ZeroDivisionError" in one.reason and two.measures["told"] == 2.0
