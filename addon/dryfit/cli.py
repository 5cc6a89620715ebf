"""The command line: ``dryfit ...``, or ``blender -b FILE --command dryfit ...``.

Results go to stdout or into --out, progress and errors to stderr. Exit codes: 0 nothing at or above
--fail-on, 1 something is, 2 the input cannot be used. Checks and batches are held back by ``fail`` unless another word
is given; a comparison tells what changed and holds nothing back unless it is asked to.
"""

import argparse
import datetime
import sys
import traceback
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from .cache import cache_words, name_answer_folder
from .checks.registry import CHECKS, check_named
from .checks.runner import chosen_checks, run_fitting
from .design import SAVED, load_base, load_design, load_head, load_snapshot
from .geometry import Surface
from .geometry.errors import GeometryError
from .guide.pages import CHAPTERS, START, guide_address, open_guide
from .model.brief import Brief
from .model.brief_file import brief_for, brief_path_in
from .model.brief_reading import read_brief
from .model.errors import DryfitError
from .model.finding import Status
from .model.gate import FAIL_ON, holds_back, unanswered
from .model.interrupt import INTERRUPTED, STOPPED, is_stop_asked
from .model.plain_text import plain_line
from .model.report import Report
from .model.snapshot_file import save_snapshot
from .model.version import VERSION
from .performer.landmarks.proposal import propose_landmarks
from .performer.landmarks.sense import landmark_doubts
from .performer.tried_on import Design
from .terminal import follow, plain_streams

if TYPE_CHECKING:
    from .batch.comparison import Comparison
    from .batch.row import Row
    from .batch.task import Task
    from .rooms.room import Room

CLEAN, FOUND, UNUSABLE = 0, 1, 2
CHANGED, WORSE = "changed", "worse"
"""What a comparison can be held back by beside a verdict."""


class TooFewReports(DryfitError):
    """A comparison needs two revisions."""

    def __init__(self) -> None:
        super().__init__(
            "compare needs two revisions or more (designs, reports or their folders), the approved one first."
        )


class NoFile(DryfitError):
    """No file was named, and none is open."""

    def __init__(self) -> None:
        super().__init__(
            "name a file, or run inside Blender with one open: blender -b warden.blend --command dryfit check"
        )


class NoMultilayer(DryfitError):
    """Passes are asked for in a kind of picture that holds none."""

    def __init__(self, path: Path) -> None:
        super().__init__(f"{path}: passes are layers of one EXR; name a file that ends in .exr with --out.")


class NoSnapshotName(DryfitError):
    """A snapshot is asked for under a name that says it is something else."""

    def __init__(self, path: Path) -> None:
        super().__init__(f"{path}: a snapshot is a .npz; name one with --out.")


class MissingExtra(DryfitError):
    """A command needs a library that this Python does not have."""

    def __init__(self, name: str, extra: str) -> None:
        super().__init__(f"This needs '{name}', which this Python does not have. Install it with: {extra}.")


EXTRAS: Mapping[str, str] = {
    **dict.fromkeys(("bpy", "addon_utils", "mathutils"), "pip install '.[blender]' in a clone of Dryfit"),
    **dict.fromkeys(("dask", "distributed"), "pip install '.[cli,farm]' in a clone of Dryfit"),
    **dict.fromkeys(("jinja2", "jsonschema", "pebble", "PIL", "tqdm"), "pip install '.[cli]' in a clone of Dryfit"),
}
"""Libraries that may be missing, and how each is installed."""


class NothingAsked(DryfitError):
    """Values can be handed on in two ways, and neither was asked for."""

    def __init__(self) -> None:
        super().__init__("passes writes what you name: --out EXR for passes, --blend COPY for attributes, or both.")


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command line and return its exit code.

    Parameters
    ----------
    argv
        The arguments after the program's name; None reads ``sys.argv``.
    """
    with plain_streams():
        code = _run(argv)
        if is_stop_asked() and code != INTERRUPTED:  # whatever ran last swallowed it
            print(STOPPED, file=sys.stderr)
            return INTERRUPTED
        return code


def _run(argv: Sequence[str] | None) -> int:
    arguments = _parser().parse_args(argv)
    name_answer_folder()
    try:
        code: int = arguments.run(arguments)
    except (DryfitError, GeometryError) as error:
        print(f"dryfit: {plain_line(str(error))}", file=sys.stderr)
        return UNUSABLE
    except KeyboardInterrupt:
        print(STOPPED, file=sys.stderr)
        return INTERRUPTED
    except Exception as fault:
        if is_stop_asked():  # what a stop met may have made another fault of it
            print(STOPPED, file=sys.stderr)
            return INTERRUPTED
        missing = (fault.name or "").partition(".")[0] if isinstance(fault, ModuleNotFoundError) else ""
        if missing in EXTRAS:
            print(f"dryfit: {MissingExtra(missing, EXTRAS[missing])}", file=sys.stderr)
            return UNUSABLE
        traceback.print_exc()
        print(
            "dryfit: this is a fault in Dryfit, not in your file. Please report the lines above.",
            file=sys.stderr,
        )
        return UNUSABLE
    return code


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="dryfit",
        description="Tells whether a digitally sculpted appliance can be built and worn.",
        epilog="Exit codes: 0 nothing at or above --fail-on, 1 something is, 2 the input cannot be used. "
        "check and batch are held back by 'fail' unless you say otherwise; compare only tells unless you ask it to.",
    )
    parser.add_argument("--version", action="version", version=f"dryfit {VERSION}")
    commands = parser.add_subparsers(required=True, metavar="COMMAND")
    _add_check(commands)
    _add_batch(commands)
    _add_compare(commands)
    _add_lock(commands)
    _add_landmarks(commands)
    _add_demo(commands)
    _add_passes(commands)
    _add_room(commands)
    _add_snapshot(commands)
    _add_explain(commands)
    _add_guide(commands)
    _add_cache(commands)
    return parser


def _add_check(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    check = commands.add_parser("check", help="measure one design and say what is wrong with it")
    add_file(check, ".blend, .obj .ply .stl .glb .gltf .usd* .fbx, or a .npz snapshot")
    add_brief(check)
    check.add_argument(
        "--out",
        type=Path,
        metavar="DIR",
        help="write report.json, report.html and pictures here; FILE.json: that alone",
    )
    check.add_argument("--json", action="store_true", help="print the report as JSON instead of text")
    check.add_argument("--only", metavar="A,B", help="run these checks only: " + ", ".join(c.id for c in CHECKS))
    add_gate(check)
    add_quiet(check)
    check.set_defaults(run=_check)


def _add_batch(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    batch = commands.add_parser("batch", help="measure every design in a folder and compare them on one page")
    batch.add_argument("folder", type=Path)
    add_brief(batch)
    batch.add_argument(
        "--out", type=Path, metavar="DIR", help="where the page and reports go (default: FOLDER/reports)"
    )
    batch.add_argument("--only", metavar="A,B", help="run these checks only")
    batch.add_argument("--jobs", type=_positive, metavar="N", help="processes at a time (default: one a core)")
    batch.add_argument("--engine", choices=("local", "dask"), default="local", help="this machine, or a Dask cluster")
    batch.add_argument("--scheduler", default="", metavar="URL", help="address of the Dask scheduler")
    batch.add_argument("--resume", action="store_true", help="keep results whose variant, brief and base are unchanged")
    batch.add_argument(
        "--shard",
        type=_shard,
        default=(1, 1),
        metavar="I/N",
        help="only every N-th variant, from the I-th; --resume then joins all",
    )
    batch.add_argument("--limit-s", type=float, default=600.0, metavar="S", help="end a variant after S seconds")
    batch.add_argument(
        "--memory-mb", type=int, metavar="MB", help="memory a variant may use; 0 for all (default: a share)"
    )
    batch.add_argument(
        "--max-triangles", type=int, default=None, metavar="N", help="refuse larger designs; 0 for none (4,000,000)"
    )
    batch.add_argument("--follow-links", action="store_true", help="also measure links to files outside the folder")
    batch.add_argument("--no-pictures", action="store_true", help="write report.json only, no pages")
    batch.add_argument(
        "--approved", type=Path, metavar="FILE", help="say of each variant what changed against this design or report"
    )
    add_gate(batch)
    add_quiet(batch)
    batch.set_defaults(run=_batch)


def _add_compare(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    compare = commands.add_parser("compare", help="say what changed between revisions of a design")
    compare.add_argument(
        "revisions",
        type=Path,
        nargs="+",
        metavar="REVISION",
        help="a design, a report.json or the folder it is in; the approved one first",
    )
    add_brief(compare)
    compare.add_argument("--only", metavar="A,B", help="run these checks only, where a design has to be measured")
    compare.add_argument(
        "--within",
        type=_allowance,
        default=0.1,
        metavar="MM",
        help="a skin that moved no further is the same one (0.1)",
    )
    compare.add_argument(
        "--out", type=Path, metavar="DIR", help="write comparison.json, comparison.html and pictures here"
    )
    compare.add_argument("--json", action="store_true", help="print the comparison as JSON instead of text")
    compare.add_argument(
        "--fail-on",
        choices=(CHANGED, WORSE, *FAIL_ON),
        default="never",
        help="what exits with 1: 'changed', a revision is not the one before it any more; 'worse', a check got worse; "
        "'review' or 'fail', the newest revision's verdict is that or worse (default: never, it only tells)",
    )
    add_quiet(compare)
    compare.set_defaults(run=_compare)


def _add_lock(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    lock = commands.add_parser("lock", help="keep the base of a .blend as it is now, so that any later change shows")
    add_file(lock, "a .blend")
    add_brief(lock)
    lock.set_defaults(run=_lock)


def _add_landmarks(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    marks = commands.add_parser("landmarks", help="propose the landmarks of a base that has none, for you to confirm")
    add_file(marks, "the head scan, or a design with its base")
    add_brief(marks)
    marks.add_argument(
        "--out", type=Path, metavar="BRIEF", help="write them as [landmarks] to this brief, new or without landmarks"
    )
    add_quiet(marks)
    marks.set_defaults(run=_landmarks)


def _positive(text: str) -> int:
    number = int(text)
    if number < 1:
        raise argparse.ArgumentTypeError("must be 1 or more")
    return number


def _allowance(text: str) -> float:
    allowance_mm = float(text)
    if not 0.0 < allowance_mm < 1000.0:
        raise argparse.ArgumentTypeError("must be a length in mm, over 0")
    return allowance_mm


def _shard(text: str) -> tuple[int, int]:
    number, slash, count = text.partition("/")
    if not (slash and number.isdigit() and count.isdigit() and 1 <= int(number) <= int(count)):
        raise argparse.ArgumentTypeError("must be I/N with I from 1 to N, for instance 2/8")
    return int(number), int(count)


def add_file(command: argparse.ArgumentParser, kinds: str) -> None:
    """Give a command the file that it is about; inside Blender the open one where none is named."""
    command.add_argument("file", type=Path, nargs="?", help=f"{kinds}; inside Blender, without it, the open file")


def _named_file(arguments: argparse.Namespace) -> Path:
    """Return the file that a command is about.

    Raises
    ------
    NoFile
        When none was named and Blender has none open.
    """
    if arguments.file is None:
        arguments.file = _open_file()
    named: Path = arguments.file
    return named


def _open_file() -> Path:
    """Return the file that Blender has open around this command line.

    Raises
    ------
    NoFile
    """
    bpy = sys.modules.get("bpy")
    path = bpy.data.filepath if bpy is not None else ""
    if not path:
        raise NoFile
    return Path(path)


def add_brief(command: argparse.ArgumentParser) -> None:
    """Give a command the --brief option."""
    command.add_argument(
        "--brief",
        type=Path,
        help="brief.toml; without it, the one beside the file, if any, "
        "and over it the figures that the file states itself",
    )


def add_quiet(command: argparse.ArgumentParser) -> None:
    """Give a command the --quiet option."""
    command.add_argument("--quiet", action="store_true", help="no progress and no notes on stderr, errors alone")


def add_gate(command: argparse.ArgumentParser) -> None:
    """Give a command the options that decide about its exit code."""
    command.add_argument(
        "--require",
        default="",
        metavar="A,B",
        help="these checks must have been answered, else exit 1: what could not be measured does not pass",
    )
    command.add_argument(
        "--fail-on",
        choices=tuple(FAIL_ON),
        default="fail",
        help="the mildest verdict that exits with 1 (default: fail)",
    )


def _add_demo(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    demo = commands.add_parser("demo", help="build the six demonstration designs in a folder")
    demo.add_argument("dir", type=Path)
    demo.add_argument("--snapshots", action="store_true", help="as .npz snapshots, which needs no Blender")
    add_quiet(demo)
    demo.set_defaults(run=_demo)


def _add_passes(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    passes = commands.add_parser("passes", help="hand measured values to artists: EXR passes, or a painted copy")
    add_file(passes, "a .blend; with a camera for --out")
    add_brief(passes)
    passes.add_argument("--out", type=Path, metavar="EXR", help="render the values as passes of this multilayer EXR")
    passes.add_argument(
        "--blend",
        type=Path,
        metavar="COPY",
        help="write a copy of the .blend whose meshes carry the values as float attributes",
    )
    passes.add_argument("--only", metavar="A,B", help="run these checks only, and render what they measure")
    passes.add_argument("--camera", default="", metavar="NAME", help="render through this camera")
    passes.add_argument("--frame", type=int, metavar="N", help="render this frame (default: the file's own)")
    passes.add_argument("--size", type=_size, default=(0, 0), metavar="WxH", help="pixels (default: the file's own)")
    passes.add_argument("--samples", type=_positive, default=16, metavar="N", help="rays a pixel (default: 16)")
    add_quiet(passes)
    passes.set_defaults(run=_passes)


def _add_snapshot(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    snapshot = commands.add_parser(
        "snapshot", help="keep all that is measured of a design in one .npz, which is checked without Blender"
    )
    add_file(snapshot, "a design, as for check")
    add_brief(snapshot)
    snapshot.add_argument("--out", type=Path, required=True, metavar="X.npz", help="the file to write")
    snapshot.set_defaults(run=_snapshot)


def _size(text: str) -> tuple[int, int]:
    width, _, height = text.lower().partition("x")
    if not (width.isdigit() and height.isdigit() and min(int(width), int(height)) >= 4):
        raise argparse.ArgumentTypeError("must be WxH, 4 pixels or more each way, for instance 1920x1080")
    return int(width), int(height)


def _add_room(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    room = commands.add_parser("room", help="say how much may be added to the bare head, where, and what stops it")
    room.add_argument("file", type=Path, help="the head scan, or a design with its base")
    add_brief(room)
    room.add_argument(
        "--out",
        type=Path,
        metavar="DIR",
        help="write room.json, room.npz, cage.ply and room.html with its maps here; cage.blend where Blender is there",
    )
    room.add_argument("--json", action="store_true", help="print the room as JSON instead of text")
    add_quiet(room)
    room.set_defaults(run=_room)


def _add_explain(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    explain = commands.add_parser("explain", help="say what a check measures, how, and against which limits")
    explain.add_argument("check", choices=[*(check.id for check in CHECKS), "landmarks", "limits", "room"])
    explain.set_defaults(run=_explain)


def _add_guide(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    about = "".join(f"{name}: {words}. " for name, words in CHAPTERS.items())
    guide = commands.add_parser("guide", help="open the guide in the browser, without a network", epilog=about)
    guide.add_argument("chapter", nargs="?", choices=(START, *CHAPTERS), default=START, help="the page to open")
    guide.add_argument("--address", action="store_true", help="only print where it is")
    guide.set_defaults(run=_guide)


def _add_cache(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    cache = commands.add_parser("cache", help="say where answers are kept for the next run, and how much they take")
    cache.add_argument("--clear", action="store_true", help="take them away")
    cache.set_defaults(run=_cache)


def _check(arguments: argparse.Namespace) -> int:
    from .report.json_file import is_json_file, write_json
    from .report.text import summary
    from .report.writing import write_report

    only, required = _only(arguments), _check_names(arguments.require)
    design = _opened(arguments)
    report = follow(run_fitting(design.fitting, only or None), arguments.quiet)
    if arguments.out and is_json_file(arguments.out):
        write_json(report, arguments.out)
    elif arguments.out:
        posed, following = design.fitting.posed_parts, design.fitting.following_parts
        job = write_report(report, design.snapshot, design.brief, arguments.out, posed=posed, following=following)
        follow(job, arguments.quiet)
    sys.stdout.write(report.to_json() if arguments.json else summary(report))
    lacking = unanswered({check.id: check.status for check in report.checks}, required)
    _say_lacking(lacking, {check.id: check.reason for check in report.checks})
    return FOUND if lacking else verdict_code(report, arguments.fail_on)


def _say_lacking(lacking: Sequence[str], reasons: Mapping[str, str], source: str = "") -> None:
    """Say which required checks have no answer, and why."""
    for check in lacking:
        why = reasons.get(check) or "it was not run"
        print(f"dryfit: {f'{source}: ' if source else ''}required, but not answered: {check}: {why}", file=sys.stderr)


def _room(arguments: argparse.Namespace) -> int:
    from .report.room_page import write_room
    from .report.room_values import room_json, room_values
    from .report.room_words import room_summary
    from .report.writing import require_libraries
    from .rooms.bare import head_of
    from .rooms.room import measure_room

    if arguments.out:
        require_libraries()
    brief = brief_for(arguments.file, arguments.brief)
    head, named = load_head(arguments.file, brief), arguments.brief is not None
    design = follow(head_of(head, brief, explicit=named), arguments.quiet)
    room = follow(measure_room(design.fitting), arguments.quiet)
    if arguments.out:
        beside = _cage_blend(room)
        follow(write_room(room, design.snapshot, design.brief, arguments.out, beside=beside), arguments.quiet)
    values = room_values(room, design.brief.limits, design.snapshot.sha256)
    sys.stdout.write(room_json(values) if arguments.json else room_summary(room))
    return CLEAN


def _cage_blend(room: "Room") -> dict[str, bytes]:
    """Return the cage as a .blend file under its name; none where no Blender is there, or where it cannot."""
    from .rooms.skin import REACH_MM
    from .scene.cage import Cage, CageNotWritten, cage_blend_apart

    try:
        content = cage_blend_apart(Cage.over(room.vertices_mm, room.faces, room.outward, room.room_mm, REACH_MM))
    except CageNotWritten as error:
        print(f"dryfit: {error}", file=sys.stderr)
        return {}
    return {} if content is None else {"cage.blend": content}


def _opened(arguments: argparse.Namespace) -> Design:
    """Read the design that was named, and tell which figures of its own file count."""
    design = load_design(_named_file(arguments), arguments.brief)
    for note in () if arguments.quiet else design.own_notes:
        print(note, file=sys.stderr)
    return design


def _only(arguments: argparse.Namespace) -> tuple[str, ...]:
    return _check_names(arguments.only)


def _check_names(listed: str | None) -> tuple[str, ...]:
    """Return the checks that an option lists.

    Raises
    ------
    UnknownCheck
    """
    names = tuple(name.strip() for name in listed.split(",")) if listed else ()
    chosen_checks(names)
    return names


def _batch(arguments: argparse.Namespace) -> int:
    from .batch.approved import require_approved
    from .batch.batch import batch_tasks, run_batch, summary_lines
    from .batch.board_head import board_head
    from .model.size_limit import MOST_TRIANGLES

    only, required = _only(arguments), _check_names(arguments.require)
    out = arguments.out or arguments.folder / "reports"
    brief = brief_path_in(arguments.folder, arguments.brief)
    if arguments.approved is not None:
        require_approved(arguments.approved)
    tasks = batch_tasks(
        arguments.folder,
        brief,
        out,
        only=only,
        resume=arguments.resume,
        pictures=not arguments.no_pictures,
        shard=arguments.shard,
        explicit=arguments.brief is not None,
        follow_links=arguments.follow_links,
        most_triangles=MOST_TRIANGLES if arguments.max_triangles is None else arguments.max_triangles,
        approved=arguments.approved,
    )
    known = read_brief(brief) if brief else Brief()
    head = board_head(arguments.folder, known, arguments.approved, datetime.date.today().isoformat())
    batch = follow(run_batch(tasks, _finished(arguments, tasks), out, head), arguments.quiet)
    sys.stdout.write(summary_lines(batch, out))
    lacking = {row.source: unanswered(row.checks, required) for row in batch.rows if row.checks}
    for source, checks in lacking.items():
        _say_lacking(checks, dict.fromkeys(checks, f"see {out / 'index.html'}"), source)
    return FOUND if any(lacking.values()) else _batch_code({row.verdict for row in batch.rows}, arguments.fail_on)


def _batch_code(verdicts: set[str], fail_on: str) -> int:
    """Return 1 when a variant is at or above ``fail_on``, else 2 when one could not be used at all, else 0."""
    if verdicts & {*FAIL_ON[fail_on]}:
        return FOUND
    return UNUSABLE if "unusable" in verdicts else CLEAN


def _finished(arguments: argparse.Namespace, tasks: "list[Task]") -> "Iterator[tuple[int, Row]]":
    if arguments.engine == "dask":
        from .batch.cluster import finished_on_cluster

        return finished_on_cluster(tasks, arguments.scheduler, arguments.limit_s, arguments.memory_mb)
    from .batch.local import finished_here, worker_count
    from .model.machine import memory_share_mb

    jobs = worker_count(arguments.jobs, len(tasks))
    memory_mb = memory_share_mb(jobs) if arguments.memory_mb is None else arguments.memory_mb
    return finished_here(tasks, jobs, arguments.limit_s, memory_mb)


def verdict_code(report: Report, fail_on: str) -> int:
    """Return the exit code for a report: 1 when its verdict is at or above ``fail_on``, else 2 when a check broke."""
    if holds_back(report.verdict, fail_on):
        return FOUND
    return UNUSABLE if report.faults else CLEAN


def _lock(arguments: argparse.Namespace) -> int:
    from .scene.locking_file import lock_file

    locked = lock_file(_named_file(arguments), brief_for(arguments.file, arguments.brief))
    lock = locked.lock
    for note in locked.notes:
        print(note, file=sys.stderr)
    print(f"locked: {len(lock.vertices_mm)} vertices, fingerprint {lock.fingerprint[:16]}")
    return CLEAN


def _landmarks(arguments: argparse.Namespace) -> int:
    from .report.landmark_table import proposal_table, write_landmarks

    snapshot = load_base(_named_file(arguments), arguments.brief)
    proposal = follow(propose_landmarks(snapshot), arguments.quiet)
    doubts = landmark_doubts(snapshot.landmarks, Surface(snapshot.base.vertices_mm, snapshot.base.faces))
    if arguments.out:
        write_landmarks(proposal, arguments.out)
    sys.stdout.write(proposal_table(proposal, snapshot.base.name, snapshot.landmarks, doubts))
    return CLEAN


def _compare(arguments: argparse.Namespace) -> int:
    from .batch.comparison import compare_all
    from .batch.comparison_words import printed, told

    if len(arguments.revisions) < 2:
        raise TooFewReports
    steps = follow(
        compare_all(arguments.revisions, arguments.brief, _only(arguments), arguments.within), arguments.quiet
    )
    if arguments.out:
        from .batch.comparison_page import write_comparison

        follow(write_comparison(steps, arguments.out), arguments.quiet)
    sys.stdout.write(printed(steps) if arguments.json else "".join(told(step) for step in steps))
    return _compare_code(steps, arguments.fail_on)


def _compare_code(steps: "Sequence[Comparison]", fail_on: str) -> int:
    """Return 1 when what ``fail_on`` names is met: by any step, or by the newest revision's verdict."""
    if fail_on == CHANGED:
        return FOUND if any(step.changed for step in steps) else CLEAN
    if fail_on == WORSE:
        return FOUND if any(step.worse for step in steps) else CLEAN
    return FOUND if holds_back(Status(steps[-1].after.report["verdict"]), fail_on) else CLEAN


def _demo(arguments: argparse.Namespace) -> int:
    from .demo_door import build_demo

    follow(build_demo(arguments.dir, snapshots=arguments.snapshots), arguments.quiet)
    print(arguments.dir)
    return CLEAN


def _passes(arguments: argparse.Namespace) -> int:
    from .scene.attributes_file import require_copy

    if not (arguments.out or arguments.blend):
        raise NothingAsked
    if arguments.out and arguments.out.suffix.lower() != ".exr":
        raise NoMultilayer(arguments.out)
    if arguments.blend:
        require_copy(_named_file(arguments), arguments.blend)
    only = _only(arguments)
    design = _opened(arguments)
    report = follow(run_fitting(design.fitting, only or None), arguments.quiet)
    if arguments.out:
        _render(arguments, design.brief, report)
    if arguments.blend:
        _paint_copy(arguments, design.brief, report)
    return CLEAN


def _render(arguments: argparse.Namespace, brief: Brief, report: Report) -> None:
    from .model.stamp import stamp_of
    from .scene.passes_file import PassesWanted, render_file_passes
    from .scene.render_passes import ShotSettings

    shot = ShotSettings(arguments.samples, arguments.camera, arguments.size)
    wanted = PassesWanted(arguments.file, arguments.out, shot, frame=arguments.frame)
    rendered = render_file_passes(wanted, brief, report, stamp_of(report.to_dict(), len(CHECKS)))
    for line in rendered.left_out:
        print(f"left out: {line}", file=sys.stderr)
    if rendered.base_deeper_mm:
        print(f"the base is drawn {rendered.base_deeper_mm:.1f} mm deeper, so that it hides no piece", file=sys.stderr)
    print(rendered.path, *rendered.passes, sep="\n  ")


def _paint_copy(arguments: argparse.Namespace, brief: Brief, report: Report) -> None:
    from .scene.attributes_file import write_file_attributes

    written = write_file_attributes(arguments.file, arguments.blend, brief, report)
    for line in written.left_out:
        print(f"not on the meshes: {line}", file=sys.stderr)
    for note in written.notes:
        print(note, file=sys.stderr)
    print(arguments.blend)
    for piece, names in written.names.items():
        print(f"  {piece}: {', '.join(names)}")


def _snapshot(arguments: argparse.Namespace) -> int:
    if arguments.out.suffix.lower() != SAVED:
        raise NoSnapshotName(arguments.out)
    snapshot = load_snapshot(_named_file(arguments), arguments.brief)
    for note in snapshot.notes:
        print(note, file=sys.stderr)
    save_snapshot(snapshot, arguments.out)
    print(arguments.out)
    return CLEAN


def _explain(arguments: argparse.Namespace) -> int:
    from .report.explain import explain, explain_limits
    from .report.landmark_table import ABOUT

    if arguments.check == "landmarks":
        sys.stdout.write(ABOUT)
        return CLEAN
    if arguments.check == "room":
        from .report.room_words import explain_room

        sys.stdout.write(explain_room())
        return CLEAN
    if arguments.check == "limits":
        sys.stdout.write(explain_limits())
        return CLEAN
    sys.stdout.write(explain(check_named(arguments.check)))
    return CLEAN


def _guide(arguments: argparse.Namespace) -> int:
    print(guide_address(arguments.chapter) if arguments.address else open_guide(arguments.chapter))
    return CLEAN


def _cache(arguments: argparse.Namespace) -> int:
    print(cache_words(arguments.clear))
    return CLEAN
