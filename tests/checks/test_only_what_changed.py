"""What is taken from the last design is what a fresh run gives, to the bit, whatever was edited in between."""

from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import fields, is_dataclass, replace

import numpy as np
import pytest

from dryfit.checks.runner import run_fitting
from dryfit.demo_door import demo_module
from dryfit.model.brief import Brief, HingeBrief, MotionBrief
from dryfit.model.fingerprint import fingerprint
from dryfit.model.kept_answers import SHARED_MB, KeptAnswers
from dryfit.model.progress import drain
from dryfit.model.snapshot import Lock, Motion
from dryfit.model.unmeasured import Unmeasured
from dryfit.performer.indexed_bases import IndexedBases
from dryfit.performer.tried_on import design_of
from family import members, pieces


def plain(value):
    """All of a report to the bit, without the seconds it took."""
    if isinstance(value, np.ndarray):
        return value.dtype.str, value.shape, value.tobytes()
    if isinstance(value, float):
        return value.hex()
    if is_dataclass(value):
        return tuple(plain(getattr(value, entry.name)) for entry in fields(value) if entry.name != "seconds")
    if isinstance(value, Mapping):
        return tuple((key, plain(inner)) for key, inner in value.items())
    return tuple(map(plain, value)) if isinstance(value, (tuple, list)) else value


def asked(snapshot, brief, bases=None):
    return drain(run_fitting(design_of(snapshot, brief, explicit=True, bases=bases).fitting))


class Fresh:
    """What a run gives that knows nothing of any other, run once for each design: an undo leads to one again."""

    def __init__(self):
        self._reports = {}

    def asked(self, snapshot, brief):
        key = id(snapshot), id(brief)
        if key not in self._reports:
            self._reports[key] = snapshot, brief, asked(snapshot, brief)  # held, so that ids stay theirs
        return self._reports[key][2]


def differing(snapshot, brief, bases, fresh_runs):
    """The checks that answer otherwise with what was kept than without; none do."""
    known, fresh = asked(snapshot, brief, bases), fresh_runs.asked(snapshot, brief)
    assert not [check.reason for check in fresh.checks if check.fault]
    return [one.id for one, other in zip(known.checks, fresh.checks, strict=True) if plain(one) != plain(other)]


def changed(snapshot, part, **new):
    parts = tuple(replace(each, **new) if each.name == part.name else each for each in snapshot.parts)
    return replace(snapshot, parts=parts)


def worn(snapshot, rng, *roles):
    return rng.choice(np.array(snapshot.with_role(*(roles or ("appliance", "hardware"))), dtype=object))


def moved(snapshot, brief, rng):
    part = worn(snapshot, rng)
    return changed(snapshot, part, vertices_mm=part.vertices_mm + rng.normal(0.0, 0.4, 3)), brief


def sculpted(snapshot, brief, rng):
    part = worn(snapshot, rng, "appliance", "base", "lower_teeth")
    at = part.vertices_mm[rng.integers(len(part.vertices_mm))]
    near = np.exp(-((np.linalg.norm(part.vertices_mm - at, axis=1) / 6.0) ** 2))
    stroke = part.vertices_mm + near[:, None] * rng.normal(0.0, 0.5, 3)
    if part.role != "base":
        return changed(snapshot, part, vertices_mm=stroke), brief
    keyed = {
        name: replace(motion, frames_mm={**motion.frames_mm, part.name: motion.frames_mm[part.name] + (stroke - part.vertices_mm)})
        for name, motion in snapshot.motions.items()
        if motion.moves(part.name)
    }  # fmt: skip
    return replace(changed(snapshot, part, vertices_mm=stroke), motions={**snapshot.motions, **keyed}), brief


def added(snapshot, brief, rng):
    like = worn(snapshot, rng, "appliance")
    new = replace(like, name=f"{like.name}+", vertices_mm=like.vertices_mm + [0.0, 0.0, 3.0])
    return (snapshot if snapshot.with_role("appliance")[3:] else replace(snapshot, parts=(*snapshot.parts, new))), brief


def deleted(snapshot, brief, rng):
    gone = worn(snapshot, rng)
    if len(snapshot.with_role("appliance")) < 2:
        return snapshot, brief
    return replace(snapshot, parts=tuple(part for part in snapshot.parts if part.name != gone.name)), brief


def limited(snapshot, brief, rng):
    limits = brief.limits
    name = rng.choice([entry.name for entry in fields(limits) if isinstance(getattr(limits, entry.name), float)])
    return snapshot, replace(brief, limits=replace(limits, **{name: getattr(limits, name) * rng.uniform(0.7, 1.4)}))


def of_another_material(snapshot, brief, rng):
    name = rng.choice(["silicone", "foam latex", "gelatin", ""])
    return changed(snapshot, worn(snapshot, rng), material=name if name in brief.materials else ""), brief


def of_a_changed_material(snapshot, brief, rng):
    silicone = brief.materials["silicone"]
    new = replace(silicone, density_g_cm3=silicone.density_g_cm3 * rng.uniform(0.8, 1.2))
    return snapshot, replace(brief, materials={**brief.materials, "silicone": new})


def in_another_motion(snapshot, brief, rng):
    jaw = snapshot.motions["jaw"]
    share = rng.uniform(0.7, 1.0)
    frames = {name: rows[:1] + share * (rows - rows[:1]) for name, rows in jaw.frames_mm.items()}
    return replace(snapshot, motions={**snapshot.motions, "jaw": Motion("jaw", jaw.frames_t, frames)}), brief


def on_a_hinge(snapshot, brief, rng):
    hinge = {} if brief.motions else {"jaw": MotionBrief(hinge=HingeBrief(open_deg=float(rng.uniform(18.0, 28.0))))}
    return snapshot, replace(brief, motions=hinge)


def with_a_landmark_moved(snapshot, brief, rng):
    name = rng.choice(sorted(snapshot.landmarks))
    point = snapshot.landmarks[name] + rng.normal(0.0, 0.5, 3)
    return replace(snapshot, landmarks={**snapshot.landmarks, name: point}), brief


def with_a_key_of_its_own(snapshot, brief, rng):
    part, jaw = worn(snapshot, rng), snapshot.motions["jaw"]
    frames = {name: rows for name, rows in jaw.frames_mm.items() if name != part.name}
    if not jaw.moves(part.name):
        ways = np.linspace(0.0, 1.0, len(jaw.frames_t))[:, None, None] * rng.normal(0.0, 2.0, 3)
        frames[part.name] = part.vertices_mm[None] + ways
    return replace(snapshot, motions={**snapshot.motions, "jaw": Motion("jaw", jaw.frames_t, frames)}), brief


def with_teeth_that_follow(snapshot, brief, rng):
    jaw, lower = snapshot.motions["jaw"], snapshot.with_role("lower_teeth")[0]
    frames = {name: rows for name, rows in jaw.frames_mm.items() if name != lower.name}
    if not jaw.moves(lower.name):
        sunk = np.linspace(0.0, 1.0, len(jaw.frames_t))[:, None, None] * [0.0, 4.0, -rng.uniform(18.0, 26.0)]
        frames[lower.name] = lower.vertices_mm[None] + sunk
    return replace(snapshot, motions={**snapshot.motions, "jaw": Motion("jaw", jaw.frames_t, frames)}), brief


def with_a_second_row(snapshot, brief, rng):
    lower = snapshot.with_role("lower_teeth")
    if lower[1:]:
        return replace(snapshot, parts=tuple(part for part in snapshot.parts if part is not lower[1])), brief
    new = replace(lower[0], name="Denture", vertices_mm=lower[0].vertices_mm + [0.0, -1.0, rng.uniform(0.0, 2.0)])
    return replace(snapshot, parts=(*snapshot.parts, new)), brief


def with_an_eye_moved(snapshot, brief, rng):
    eye = worn(snapshot, rng, "eye_left", "eye_right")
    return changed(snapshot, eye, vertices_mm=eye.vertices_mm + rng.normal(0.0, 0.3, 3)), brief


def with_marks_changed(snapshot, brief, rng):
    marked = [part for part in snapshot.parts if part.areas]
    if not marked:
        return snapshot, brief
    part = marked[rng.integers(len(marked))]
    name = rng.choice(sorted(part.areas))
    areas = {other: weights for other, weights in part.areas.items() if other != name or rng.random() < 0.5}
    if name in areas:
        areas[name] = areas[name] * (rng.random(len(areas[name])) < 0.97)
    return changed(snapshot, part, areas=areas), brief


def of_another_role(snapshot, brief, rng):
    part = worn(snapshot, rng)
    if part.role == "appliance" and len(snapshot.with_role("appliance")) < 2:
        return snapshot, brief
    return changed(snapshot, part, role="hardware" if part.role == "appliance" else "appliance"), brief


def of_another_owner(snapshot, brief, rng):
    part = worn(snapshot, rng, "upper_teeth", "lower_teeth")
    return changed(snapshot, part, own=not part.own), brief


def turned_over(snapshot, brief, rng):
    part = worn(snapshot, rng)
    return changed(snapshot, part, faces=part.faces[:, ::-1]), brief


def in_another_order(snapshot, brief, rng):
    return replace(snapshot, parts=tuple(snapshot.parts[at] for at in rng.permutation(len(snapshot.parts)))), brief


def seen_from_elsewhere(snapshot, brief, rng):
    angles = tuple(np.sort(rng.uniform(-70.0, 70.0, 3)).tolist())
    return snapshot, replace(brief, views=replace(brief.views, angles_deg=angles))


def beside_something(snapshot, brief, rng):
    near = snapshot.base.vertices_mm[rng.integers(len(snapshot.base.vertices_mm))]
    seen = Unmeasured("Wisp", "hair", "curves are not measured; turn them into a mesh", near[None])
    return replace(snapshot, unmeasured=() if snapshot.unmeasured else (seen,)), brief


def locked_or_not(snapshot, brief, rng):
    base = snapshot.base
    held = Lock(fingerprint(base.vertices_mm, base.faces), base.vertices_mm)
    return replace(snapshot, lock=None if snapshot.lock is not None else held), brief


EDITS = (
    moved, sculpted, sculpted, sculpted, added, deleted, limited, limited, of_another_material, of_a_changed_material,
    in_another_motion, on_a_hinge, with_a_landmark_moved, with_a_key_of_its_own, with_teeth_that_follow,
    with_a_second_row, with_an_eye_moved, with_marks_changed, of_another_role, of_another_owner, turned_over,
    in_another_order, seen_from_elsewhere, beside_something, locked_or_not,
)  # fmt: skip


@pytest.mark.parametrize("seed", range(2))
@pytest.mark.slow
def test_a_sequence_of_edits_and_undos_gives_what_fresh_runs_give(seed):
    rng, bases, fresh = np.random.default_rng(seed), IndexedBases(KeptAnswers(SHARED_MB)), Fresh()
    like = members.blocked(3.0)
    design = like.wearing(pieces.cheek_piece(like.head), pieces.chin_piece(like.head)).snapshot, Brief()
    before = [design]
    assert not differing(*design, bases, fresh)
    for number in range(5):
        edit = EDITS[rng.integers(len(EDITS))]
        design = before[rng.integers(len(before))] if number % 4 == 3 else edit(*design, rng)
        before.append(design)
        assert not differing(*design, bases, fresh), (number, edit.__name__)


@pytest.mark.slow
def test_on_a_warden_a_stroke_a_limit_and_an_undo_give_what_fresh_runs_give():
    rng, bases, brief, fresh = np.random.default_rng(9), IndexedBases(KeptAnswers(SHARED_MB)), Brief(), Fresh()
    snapshot = demo_module("variant_snapshots").variant_snapshot("01-warden-plain")
    stroke, _ = sculpted(replace(snapshot, parts=snapshot.parts), brief, rng)
    for design in ((snapshot, brief), (stroke, brief), limited(stroke, brief, rng), (snapshot, brief)):
        assert not differing(*design, bases, fresh)


def test_a_row_without_keys_moves_by_itself_as_it_does_among_all():
    like = members.keyed().snapshot
    denture = replace(like.part("Lower"), name="Denture")
    jaw = like.motions["jaw"]
    less = {"Lower": jaw.frames_mm["Lower"][:1] + 0.6 * (jaw.frames_mm["Lower"] - jaw.frames_mm["Lower"][:1])}
    turned = replace(
        like, parts=(*like.parts, denture), motions={"jaw": Motion("jaw", jaw.frames_t, {**jaw.frames_mm, **less})}
    )
    fitting = design_of(turned, Brief(), explicit=True).fitting
    whole, alone = (each.poses("jaw").vertices("Denture", 0.5) for each in (fitting, fitting.alone(denture)))
    assert np.array_equal(whole, alone)


def test_two_designs_on_one_head_can_be_asked_at_once():
    bases, brief = IndexedBases(KeptAnswers(SHARED_MB)), Brief()
    like = members.blocked(3.0)
    designs = [
        like.wearing(pieces.cheek_piece(like.head)).snapshot,
        like.wearing(pieces.chin_piece(like.head)).snapshot,
    ]
    with ThreadPoolExecutor(2) as both:
        reports = [*both.map(lambda snapshot: asked(snapshot, brief, bases), designs)]
    for snapshot, report in zip(designs, reports, strict=True):
        assert plain(report.checks) == plain(asked(snapshot, brief).checks)


def test_what_did_not_change_is_not_worked_out_again():
    bases, brief = IndexedBases(KeptAnswers(SHARED_MB)), Brief()
    like = members.blocked(3.0)
    design = like.wearing(pieces.cheek_piece(like.head), pieces.chin_piece(like.head)).snapshot
    asked(design, brief, bases)
    first = bases.answers.worked_out
    asked(design, brief, bases)
    assert bases.answers.worked_out == first
    chin = design.part("Throat")
    asked(changed(design, chin, vertices_mm=chin.vertices_mm + [0.0, 0.1, 0.0]), brief, bases)
    assert 0 < bases.answers.worked_out - first < 0.6 * first
