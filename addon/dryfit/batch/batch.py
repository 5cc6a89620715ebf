"""A folder of variants from first to last, and what is kept of it when it is stopped half way."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from ..model.brief import Brief
from ..model.brief_reading import read_brief
from ..model.plain_text import plain_line
from ..model.progress import Job, Progress
from ..model.size_limit import MOST_TRIANGLES
from ..report.whole_files import write_whole
from .batch_files import batch_csv, batch_json
from .board_head import NO_HEAD, BoardHead
from .leading import leading_row
from .page import index_pages, page_name
from .row import WORST_FIRST, Row, worst_first
from .task import Task
from .variant_files import report_folders, sharded, variant_files


@dataclass(frozen=True)
class Batch:
    """The rows of a batch in the order of its files, with their leading figures, and whether every file has one."""

    rows: tuple[Row, ...]
    complete: bool


def run_batch(
    tasks: Sequence[Task], finished: Iterator[tuple[int, Row]], out: Path, head: BoardHead = NO_HEAD
) -> Job[Batch]:
    """Collect rows as they are finished and write the batch, also when it is stopped half way.

    Parameters
    ----------
    tasks
        What is measured.
    finished
        Task numbers and rows, from this machine or a cluster.
    out
        Where ``batch.json``, ``batch.csv`` and ``index.html`` go.
    head
        What stands in the head of the pages.

    Yields
    ------
    Progress
        Variants finished.

    Raises
    ------
    UnwritableOutput
        When ``out`` cannot be written.
    """
    rows: dict[int, Row] = {}
    try:
        yield Progress(0, len(tasks), f"checking {len(tasks)} variants")
        for number, row in finished:
            rows[number] = leading_row(row)
            yield Progress(len(rows), len(tasks), plain_line(f"{row.source}: {row.verdict.replace('_', ' ')}"))
    finally:
        batch = Batch(tuple(rows[number] for number in sorted(rows)), len(rows) == len(tasks))
        write_batch(batch, out, head)
    return batch


def batch_tasks(
    folder: Path,
    brief: Path | None,
    out: Path,
    only: tuple[str, ...] = (),
    resume: bool = False,
    pictures: bool = True,
    shard: tuple[int, int] = (1, 1),
    explicit: bool = False,
    follow_links: bool = False,
    most_triangles: int = MOST_TRIANGLES,
    approved: Path | None = None,
) -> list[Task]:
    """Return a task for each variant of a folder, or for this shard's share of them.

    See ``Task`` for what is asked of each, and what it is held against; ``follow_links`` lets variants be links to
    files outside the folder.

    Raises
    ------
    InputError
        When the brief or the folder cannot be used.
    """
    files = variant_files(folder, read_brief(brief) if brief else Brief())
    folders = report_folders(files)
    return [
        Task(
            file=str(file.absolute()),
            brief=str(brief.resolve()) if brief else "",
            out=str(out.resolve()),
            folder=folders[file],
            only=only,
            resume=resume,
            pictures=pictures,
            explicit=explicit,
            root="" if follow_links else str(folder.absolute()),
            most_triangles=most_triangles,
            approved=str(approved.absolute()) if approved else "",
        )
        for file in sharded(files, *shard)
    ]


def summary_lines(batch: Batch, out: Path) -> str:
    """Return the batch in words for a terminal, worst first, ending in the path of the page."""
    lines = [
        f"{row.verdict.replace('_', ' '):12} {plain_line(f'{row.source}  {_rests_on(row)}')}"
        for row in worst_first(batch.rows)
    ]
    counts = Counter(row.verdict for row in batch.rows)
    lines.append(", ".join(f"{counts[word]} {word.replace('_', ' ')}" for word in WORST_FIRST if counts[word]))
    lines.append(str(out / "index.html"))
    return "\n".join(lines) + "\n"


def _rests_on(row: Row) -> str:
    change = f" Against the approved one: {row.change}" if row.change else ""
    return f"{row.reason or row.headline or row.worst}{change}"


def write_batch(batch: Batch, out: Path, head: BoardHead = NO_HEAD) -> None:
    """Write ``batch.json``, ``batch.csv`` and ``index.html``, each whole or not at all.

    A large batch has further pages, ``index-2.html`` and so on; they are there before anything links to them.

    Raises
    ------
    UnwritableOutput
        When ``out`` cannot be written.
    """
    for name, text in index_pages(batch.rows, out, batch.complete, head=head):
        tables: dict[str, Iterator[bytes]] = {}
        if name == page_name(1):
            tables = {
                "batch.json": batch_json(batch.rows, batch.complete, out),
                "batch.csv": batch_csv(batch.rows, out),
            }
        write_whole(out, {**tables, name: text.encode()})
