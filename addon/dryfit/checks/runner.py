"""Ask every question once: a generator of progress that returns the report."""

import logging
import math
import time
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import asdict, replace
from typing import Any

from ..geometry import errors as geometry_errors
from ..model.brief import Brief
from ..model.brief_print import brief_print
from ..model.errors import DryfitError, InputError
from ..model.exceptions import WrittenException, reason_for
from ..model.finding import Finding, Outcome, Severity, Status, not_checked, status_of
from ..model.limits import described_limits
from ..model.progress import Job, Progress
from ..model.report import BaseIdentity, CheckResult, Report, VariantIdentity, check_dict
from ..model.snapshot import Role, Snapshot
from ..model.version import VERSION
from ..performer.fitting import Fitting
from ..performer.grounds import grave_doubts, impossible_doubts, proposed, rests_on
from ..performer.lock import Held, LockState
from .check import Check
from .deciding import deciding_figure
from .headline import headline
from .proof import beyond, bounds_of, unproven
from .registry import CHECKS
from .side_by_side import side_by_side

LOG = logging.getLogger("dryfit")
"""Tells scripts of each check's result as it comes; silent unless they listen."""
LOG.addHandler(logging.NullHandler())
FAULT = (
    "a fault in Dryfit, not in your file: {check} stopped with {kind}: {words}. Please report it with a snapshot of "
    "the design; the other checks stand."
)


PROPOSED = "Landmarks that nobody placed yet can be proposed: `dryfit landmarks FILE`, or the sidebar's Landmarks."
PLACE = "Place them again; `dryfit landmarks` and the sidebar can propose them."


class ExceptionForNoCheck(InputError):
    """An exception of the brief is for a check that does not exist, so it would never excuse anything."""

    def __init__(self, name: str, source: str) -> None:
        known = ", ".join(check.id for check in CHECKS)
        super().__init__(f"{source}: [exceptions] check must be one of {known}; it is {name!r}.")


class LostMotion(InputError):
    """A check looks at motions, and one that the brief states could not be read."""

    def __init__(self, why: str, source: str) -> None:
        super().__init__(f"{source}: {why} Checks that look at no motion can be asked alone with --only.")


class UnknownCheck(DryfitError):
    """A check that does not exist was asked for."""

    def __init__(self, name: str, checks: Sequence[Check] = CHECKS) -> None:
        super().__init__(f"There is no check '{name}'. Checks: {', '.join(check.id for check in checks)}.")


def chosen_checks(only: Sequence[str] | None, checks: Sequence[Check] = CHECKS) -> tuple[Check, ...]:
    """Return those of the checks that are named in ``only``, in their order; None means all.

    Raises
    ------
    UnknownCheck
        When a name is none.
    """
    known = {check.id for check in checks}
    for name in only or ():
        if name not in known:
            raise UnknownCheck(name, checks)
    return tuple(check for check in checks if not only or check.id in only)


def run_fitting(fitting: Fitting, only: Sequence[str] | None = None, known: Sequence[Check] = CHECKS) -> Job[Report]:
    """Measure an admitted fitting; what it indexed and posed stays with it, for pictures of the same design.

    Parameters
    ----------
    fitting
        A design on its base, with the brief it is held against.
    only
        Ids of the checks to run; None means all.
    known
        The checks that there are.

    Yields
    ------
    Progress
        Checks finished, and within a check how far it is.

    Returns
    -------
    Report
        Every check's result.

    Raises
    ------
    UnknownCheck
        When ``only`` names no check.
    ExceptionForNoCheck
        When an exception of the brief names none.
    LostMotion
        When a check looks at motions, and one that the brief states could not be read.
    """
    checks, brief = chosen_checks(only, known), fitting.brief
    for each in brief.exceptions:
        if each.check not in {check.id for check in (*known, *CHECKS)}:
            raise ExceptionForNoCheck(each.check, brief.source or "brief")
    lost = tuple(fitting.snapshot.lost_motions.values())
    if lost and any(check.moves for check in checks):
        raise LostMotion(lost[0], fitting.snapshot.source or fitting.snapshot.name)
    exceptions = (*fitting.snapshot.exceptions, *brief.exceptions)

    def measure(own: Fitting, number: int) -> Job[CheckResult]:
        return _decided(checks[number], own, brief, exceptions)

    results = yield from side_by_side(fitting, [check.id for check in checks], measure)
    yield Progress(len(checks), len(checks), "finished")
    report = _report(fitting, brief, tuple(results), exceptions)
    return replace(report, headline=headline(report.to_dict(), known))


def _decided(check: Check, fitting: Fitting, brief: Brief, exceptions: Sequence[WrittenException]) -> Job[CheckResult]:
    """Return a check's result with the figure that decided it, and tell scripts of it."""
    result = yield from _run_one(check, fitting, brief, exceptions)
    decided = deciding_figure(check_dict(result), check)
    LOG.info("%s: %s%s", check.id, result.status, f" ({result.reason})" if result.reason else "")
    return replace(result, decided=vars(decided) if decided else {})


def _run_one(check: Check, fitting: Fitting, brief: Brief, exceptions: Sequence[WrittenException]) -> Job[CheckResult]:
    started = time.perf_counter()
    yield Progress(0, 1, check.question)
    grounds = rests_on(fitting, check.landmarks, check.moves)
    job = check.measure(fitting, brief) if not impossible_doubts(fitting, grounds) else _refused(fitting, grounds)
    while True:
        try:
            step = next(job)
        except StopIteration as finished:
            outcome: Outcome = finished.value
            break
        except MemoryError:
            raise
        except (geometry_errors.GeometryError, DryfitError) as error:
            outcome = not_checked(str(error))
            break
        except Exception as fault:  # a fault in one check costs that check, not the others' answers
            words = FAULT.format(check=check.id, kind=type(fault).__name__, words=fault)
            outcome = replace(not_checked(words), fault=True)
            break
        yield step
    return _result(check, outcome, fitting, exceptions, time.perf_counter() - started)


def _with_help(reason: str, check: Check, fitting: Fitting) -> str:
    """Return why something could not be measured, with the way to landmarks where the check has none to rest on."""
    lacking = [name for name in check.landmarks if name not in fitting.snapshot.landmarks]
    return f"{reason} {PROPOSED}" if reason and lacking else reason


def _refused(fitting: Fitting, grounds: Sequence[str]) -> Job[Outcome]:
    """Return the outcome of a check that rests on landmarks as no head has them."""
    yield from ()
    doubts = impossible_doubts(fitting, grounds)
    names = sorted({name for doubt in doubts for name in doubt.names} & {*grounds})
    return not_checked(f"It rests on landmarks that cannot be right ({', '.join(names)}): {doubts[0].message} {PLACE}")


def _result(
    check: Check, outcome: Outcome, fitting: Fitting, exceptions: Sequence[WrittenException], seconds: float
) -> CheckResult:
    """Return what a check comes to, once its findings are excused and what would pass has been held to its proof."""
    bounds = bounds_of(check, outcome, fitting.brief.limits)
    said = (*outcome.findings, *_about_the_base(check, fitting))
    findings = with_exceptions(said, check.id, exceptions)
    reason = outcome.reason
    if outcome.measures:
        passing = _status(findings, reason) == Status.PASS
        loose = (
            *_on_doubted(check, fitting, passing),
            *_on_proposed(check, fitting, passing),
            *_beside_unmeasured(check, fitting, passing),
            *_without_named(check, fitting, passing),
        )
        findings += with_exceptions(loose, check.id, exceptions)
    if _status(findings, reason) == Status.PASS:
        reason = unproven(check, outcome, bounds)
        whole = fitting.place(fitting.base.name, fitting.base.vertices_mm.mean(axis=0), "whole design")
        findings += with_exceptions(beyond(check, outcome, bounds, whole), check.id, exceptions)
    return CheckResult(
        id=check.id,
        status=_status(findings, reason),
        reason=_with_help(reason, check, fitting),
        seconds=seconds,
        measures=outcome.measures,
        findings=findings,
        curves=outcome.curves,
        fields=outcome.fields,
        judged=bounds,
        fault=outcome.fault,
    )


def _status(findings: Iterable[Finding], reason: str) -> Status:
    return status_of((each.severity for each in findings if each.exception is None), reason)


def _about_the_base(check: Check, fitting: Fitting) -> tuple[Finding, ...]:
    """Return what a check says of the base beside its own answer.

    The one that asks about the base tells what looks wrong with the landmarks on it. Every other carries a note when
    the base is no longer the locked one.
    """
    if check.of_base:
        return tuple(_doubts(fitting))
    return tuple(_moved_base(fitting))


def _doubts(fitting: Fitting) -> Iterator[Finding]:
    """Yield one finding for each thing that looks wrong with the landmarks."""
    for doubt in fitting.landmark_doubts:
        yield Finding(
            severity=doubt.severity,
            message=doubt.message,
            place=fitting.place(fitting.base.name, doubt.at_mm, "landmarks"),
            value=doubt.value_mm,
            limit=doubt.limit_mm,
            fix=doubt.remedy,
        )


def _on_doubted(check: Check, fitting: Fitting, passing: bool) -> Iterator[Finding]:
    """Yield one finding where what would pass rests on landmarks that look wrong."""
    doubts = grave_doubts(fitting, rests_on(fitting, check.landmarks, check.moves)) if passing else ()
    for doubt in doubts[:1]:
        yield Finding(
            severity=Severity.REVIEW,
            message=f"This answer rests on landmarks that look wrong. {doubt.message}",
            place=fitting.place(fitting.base.name, doubt.at_mm, "landmarks"),
            value=doubt.value_mm,
            limit=doubt.limit_mm,
            fix=doubt.remedy,
        )


def _on_proposed(check: Check, fitting: Fitting, passing: bool) -> Iterator[Finding]:
    """Yield one finding where an answer rests on landmarks that were proposed and that nobody looked at."""
    loose = [*proposed(fitting, rests_on(fitting, check.landmarks, check.moves))]
    if not loose:
        return
    name, error_mm, at_mm = max(loose, key=lambda each: each[1])
    names = ", ".join(each for each, _, _ in loose)
    yield Finding(
        severity=Severity.REVIEW if passing else Severity.INFO,
        message=(
            f"This answer rests on {len(loose)} proposed landmarks that nobody confirmed ({names}); {name} may be off "
            f"by {error_mm:.1f} mm."
        ),
        place=fitting.place(fitting.base.name, at_mm, "landmarks"),
        value=error_mm,
        fix="look at each of them, move what is off, and confirm it",
    )


def _beside_unmeasured(check: Check, fitting: Fitting, passing: bool) -> Iterator[Finding]:
    """Yield one finding where what would pass leaves out something that is seen near the face."""
    near = fitting.seen_near if passing and not check.of_base else ()
    for each in near[:1]:
        others = f" So is '{near[1].seen.name}'." if len(near) == 2 else ""
        others = f" So are {len(near) - 1} others: see the notes." if len(near) > 2 else others
        yield Finding(
            severity=Severity.REVIEW,
            message=(
                f"'{each.seen.name}' ({each.seen.kind}) is seen {each.gap_mm:.1f} mm from the face and was not "
                f"measured: {each.seen.why}.{others}"
            ),
            place=fitting.place(fitting.base.name, each.at_mm),
            value=each.gap_mm,
            fix=each.seen.why.partition("; ")[2],
            cause=f"'{each.seen.name}' was not measured",
        )


def _without_named(check: Check, fitting: Fitting, passing: bool) -> Iterator[Finding]:
    """Yield one finding where what would pass lacks something that the brief names; the base matters to every check."""
    asked = fitting.snapshot.unmatched
    counting = [each for each in asked if each.counts and (not check.of_base or each.role == Role.BASE)]
    for each in counting[:1] if passing else ():
        more = len(counting) - 1
        others = (
            f" {more} more {'entry matches' if more == 1 else 'entries match'} nothing: see the notes." if more else ""
        )
        base = fitting.base
        yield Finding(
            severity=Severity.REVIEW,
            message=f"{each.words} This answer is without it.{others}",
            place=fitting.place(base.name, base.vertices_mm.mean(axis=0), "whole design"),
            value=math.nan,
            fix=each.mend,
            cause=f"'{each.entry}' matches no object",
        )


def _unmatched_notes(fitting: Fitting) -> tuple[str, ...]:
    """Return a note for each entry of the brief's roles that matches nothing, whether it counts or not."""
    return tuple(each.words for each in fitting.snapshot.unmatched)


def _unmeasured_notes(fitting: Fitting) -> tuple[str, ...]:
    """Return a note for each thing that is seen and was not measured, wherever it is."""
    gaps = {each.seen.name: f", {each.gap_mm:.1f} mm from the face" for each in fitting.seen_near}
    return tuple(
        f"Not measured: '{seen.name}' ({seen.kind}{gaps.get(seen.name, ', not near the face')}): {seen.why}."
        for seen in fitting.snapshot.unmeasured
    )


def _moved_base(fitting: Fitting) -> Iterator[Finding]:
    """Yield a note while the base is no longer the locked one."""
    state, base = fitting.lock_state, fitting.base
    if state.held != Held.CHANGED:
        return
    far = f" (by up to {state.max_change_mm:.2f} mm)" if math.isfinite(state.max_change_mm) else ""
    yield Finding(
        severity=Severity.INFO,
        message=f"Measured against a base that is no longer the locked one{far}: see base_lock before you trust this.",
        place=fitting.place(base.name, base.vertices_mm.mean(axis=0), "whole base"),
        value=state.max_change_mm,
        fix="restore the locked base, or lock it again once its change is agreed",
    )


def _doubt_notes(fitting: Fitting) -> tuple[str, ...]:
    """Return a note for the whole report, whichever checks were run, while landmarks look wrong."""
    grave = [doubt for doubt in fitting.landmark_doubts if doubt.severity is not Severity.INFO]
    if not grave:
        return ()
    return (f"Measured with landmarks that look wrong; do not trust what is built on them. {grave[0].message}",)


def with_exceptions(
    findings: Iterable[Finding], check_id: str, exceptions: Sequence[WrittenException]
) -> tuple[Finding, ...]:
    """Return the findings, those that an exception covers carrying its reason."""
    return tuple(
        replace(finding, exception=reason_for(exceptions, check_id, finding.object, finding.region))
        for finding in findings
    )


def _report(
    fitting: Fitting, brief: Brief, results: tuple[CheckResult, ...], exceptions: tuple[WrittenException, ...]
) -> Report:
    snapshot, lost = fitting.snapshot, fitting.snapshot.lost_motions.values()
    return Report(
        dryfit=VERSION,
        variant=VariantIdentity(snapshot.name, snapshot.source, snapshot.sha256),
        base=_base_identity(fitting.lock_state),
        checks=results,
        exceptions=exceptions,
        limits=described_limits(brief.limits),
        inputs=_inputs(
            snapshot,
            brief,
            (*_doubt_notes(fitting), *_unmeasured_notes(fitting), *_unmatched_notes(fitting), *lost),
        ),
    )


def _base_identity(state: LockState) -> BaseIdentity:
    return BaseIdentity(state.snapshot.base.name, str(state.held), state.fingerprint, state.max_change_mm)


def _inputs(snapshot: Snapshot, brief: Brief, said: tuple[str, ...]) -> dict[str, Any]:
    return {
        "brief": brief.source,
        "brief_sha256": brief_print(brief),
        "parts": [
            {
                "name": part.name,
                "role": str(part.role),
                "material": part.material,
                "own": part.own,
                "vertices": len(part.vertices_mm),
                "triangles": len(part.faces),
            }
            for part in snapshot.parts
        ],
        "materials": {
            name: asdict(brief.materials[name])
            for name in sorted({part.material for part in snapshot.parts} & set(brief.materials))
        },
        "landmarks": sorted(snapshot.landmarks),
        "motions": sorted({*snapshot.motions, *brief.motions}),
        "notes": [*snapshot.notes, *brief.notes, *said],
    }
