"""Publish a design, or a folder of them, only when Dryfit lets it through.

    python scripts/examples/publish_gate.py DESIGN PUBLISHED [--require A,B] [--fail-on review|fail] [--brief B]

A design goes to PUBLISHED together with the report it was published on and the brief that it was held against. What
could not be measured does not hold a design back by itself: name the checks that must have been answered with
--require, or ask for --fail-on not_checked. A folder is published whole or not at all. Exit codes are Dryfit's own:
0 published, 1 held back by what was found, 2 the input cannot be used. Only the standard library and the ``dryfit``
command are used, so that this runs in any pipeline.
"""

import argparse
import hashlib
import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

PUBLISHED, HELD_BACK, UNUSABLE = 0, 1, 2


def main() -> int:
    """Check, publish or hold back, and return the exit code."""
    given = _arguments()
    with tempfile.TemporaryDirectory() as scratch:
        if given.source.is_dir():
            return publish_folder(given, Path(scratch))
        return publish_design(given, Path(scratch) / "report.json")


def publish_design(given: argparse.Namespace, report_file: Path) -> int:
    """Check one design and publish it with its report when the exit code is 0."""
    code = dryfit("check", given.source, "--out", report_file, *_options(given))
    if code != PUBLISHED:
        print(f"{given.source.name}: {'held back' if code == HELD_BACK else 'cannot be used'}", file=sys.stderr)
        return code
    return publish([(given.source, json.loads(report_file.read_text("utf8")))], given.published)


def publish_folder(given: argparse.Namespace, scratch: Path) -> int:
    """Check a folder and publish all of its designs, or none when one is held back or cannot be used."""
    code = dryfit("batch", given.source, "--out", scratch, "--no-pictures", *_options(given))
    rows = json.loads((scratch / "batch.json").read_text("utf8"))["variants"] if code != UNUSABLE else []
    unusable = [row["source"] for row in rows if row["verdict"] == "unusable"]
    if code != PUBLISHED or unusable or not rows:
        print(f"held back: nothing of {given.source} is published", *unusable, file=sys.stderr)
        return code or UNUSABLE
    measured = [(row, json.loads((scratch / row["folder"] / "report.json").read_text("utf8"))) for row in rows]
    return publish([(given.source / row["source"], report) for row, report in measured], given.published)


def publish(measured: list[tuple[Path, dict[str, Any]]], folder: Path) -> int:
    """Copy designs, their reports and briefs, all of them or none where a file changed since it was measured."""
    files: dict[str, bytes] = {}
    for design, report in measured:
        content, brief = design.read_bytes(), Path(report["inputs"]["brief"] or os.devnull)
        if hashlib.sha256(content).hexdigest() != report["variant"]["sha256"]:
            print(f"{design.name}: changed while it was checked; nothing is published, try again", file=sys.stderr)
            return UNUSABLE
        files[design.name] = content
        files[f"{design.stem}.report.json"] = json.dumps(report, indent=1).encode()
        if brief.is_file():
            files[f"{design.stem}.brief.toml"] = brief.read_bytes()
    write_all(files, folder)
    for design, report in measured:
        print(f"published {folder / design.name}: {report['verdict']}")
    return PUBLISHED


def write_all(files: dict[str, bytes], folder: Path) -> None:
    """Write files beside where they belong and rename them only when every one is written."""
    folder.mkdir(parents=True, exist_ok=True)
    beside = {folder / f".{name}.part": folder / name for name in files}
    try:
        for part, target in beside.items():
            part.write_bytes(files[target.name])
        for part, target in beside.items():
            part.replace(target)
    finally:
        for part in beside:
            part.unlink(missing_ok=True)


def dryfit(*arguments: str | Path) -> int:
    """Run the command line and return its exit code; its report in words and its progress go to standard error."""
    command = [sys.executable, "-m", "dryfit", *map(str, arguments)]
    return subprocess.run(command, check=False, stdout=sys.stderr).returncode


def _options(given: argparse.Namespace) -> list[str | Path]:
    brief: list[str | Path] = ["--brief", given.brief] if given.brief else []
    only: list[str | Path] = ["--only", given.only] if given.only else []
    require: list[str | Path] = ["--require", given.require] if given.require else []
    return ["--fail-on", given.fail_on, *brief, *only, *require]


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("source", type=Path, metavar="DESIGN", help="a design, or a folder of variants")
    parser.add_argument("published", type=Path, metavar="PUBLISHED", help="the folder it is published to")
    words = ("not_checked", "review", "fail")
    parser.add_argument("--fail-on", choices=words, default="fail", help="the mildest verdict held back")
    parser.add_argument("--require", metavar="A,B", help="these checks must have been answered")
    parser.add_argument("--brief", type=Path, help="the show's brief.toml")
    parser.add_argument("--only", metavar="A,B", help="gate on these checks only")
    return parser.parse_args()


if __name__ == "__main__":
    sys.exit(main())
