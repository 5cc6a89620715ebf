"""The comparison page of many variants in a real browser: how long it takes to open, sort, sieve and scroll.

    python scripts/bench.py page REPORTS [--variants 500]

REPORTS is the output of a batch of a few real designs; their rows, pictures and curves are repeated, each with figures
of its own, until there are as many variants as asked for. Needs Playwright and Chromium.
"""

from __future__ import annotations

import argparse
import json
import shutil
import statistics
import tempfile
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from dryfit.batch.batch import Batch, write_batch
from dryfit.batch.row import Row

CHROMIUM = ("chromium", "chromium-browser", "google-chrome")
ARGUMENTS = ["--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking", "--disable-sync"]
FRAME = """async () => {
  const started = performance.now();
  ACT;
  document.body.getBoundingClientRect();
  const worked = performance.now() - started;
  await new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)));
  return [worked, performance.now() - started];
}"""
SCROLL = """async () => {
  const box = document.querySelector(".wide"), frames = [], long = [];
  const noted = (list) => long.push(...list.getEntries().map((entry) => entry.duration));
  new PerformanceObserver(noted).observe({ type: "longtask" });
  let before = await new Promise(requestAnimationFrame);
  for (let step = 0; step < 180; step++) {
    box.scrollTop += 120;
    const now = await new Promise(requestAnimationFrame);
    frames.push(now - before);
    before = now;
  }
  return { frames, long };
}"""
ACTS = {
    "sort by name": "document.querySelector('[data-sort=name]').click()",
    "sort by a check": "document.querySelector('[data-sort=edge]').click()",
    "sieve by a word": "by('find').value = '7'; by('find').dispatchEvent(new Event('input'))",
    "show all again": "by('clear').click()",
    "pick two": "for (const box of [...document.querySelectorAll('.pick')].slice(0, 2)) box.click()",
    "move the slider": "by('slide').value = 20; by('slide').dispatchEvent(new Event('input'))",
}


def add_to(commands: Any) -> None:
    page = commands.add_parser("page", help="the comparison page of many variants in a browser")
    page.add_argument("reports", type=Path)
    page.add_argument("--variants", type=int, default=500)
    page.add_argument("--keep", type=Path, help="build the page here and leave it")
    page.set_defaults(run=run)


def run(chosen: argparse.Namespace) -> int:
    if chosen.keep:
        page = build(chosen.reports, chosen.keep, chosen.variants)
        return report(page)
    with tempfile.TemporaryDirectory() as place:
        return report(build(chosen.reports, Path(place), chosen.variants))


def build(reports: Path, out: Path, count: int) -> Path:
    """Write a page of ``count`` variants made from a few real ones; return its path."""
    stored = json.loads((reports / "batch.json").read_text(encoding="utf8"))["variants"]
    seeds = [Row(**row) for row in stored if row["folder"]]
    random = np.random.default_rng(5)
    rows = []
    for number in range(count):
        seed = seeds[number % len(seeds)]
        folder = f"v{number:04}"
        _copy(reports / seed.folder, out / folder)
        rows.append(_varied(seed, number, folder, random))
    write_batch(Batch(tuple(rows), True), out)
    return out / "index.html"


def _copy(source: Path, target: Path) -> None:
    shutil.copytree(source / "board", target / "board", dirs_exist_ok=True)
    shutil.copy(source / "report.json", target / "report.json")


def _varied(seed: Row, number: int, folder: str, random: np.random.Generator) -> Row:
    checks = {name: str(random.choice(["pass", "pass", "review", "fail", "not_checked"])) for name in seed.checks}
    measures = {
        name: value * float(random.uniform(0.5, 1.5)) if isinstance(value, float) else value
        for name, value in seed.measures.items()
    }
    verdict = next((word for word in ("fail", "review", "not_checked") if word in checks.values()), "pass")
    name = f"Warden {number}"
    return replace(
        seed, name=name, source=f"{name}.blend", folder=folder, checks=checks, measures=measures, verdict=verdict
    )


def report(page: Path) -> int:
    from playwright.sync_api import sync_playwright

    path = next(filter(None, map(shutil.which, CHROMIUM)))
    print(f"page {page.stat().st_size / 1e6:.2f} MB")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=ARGUMENTS)
        for line in _measured(browser, page):
            print(line, flush=True)
        browser.close()
    return 0


def _measured(browser: Any, page: Path) -> Iterator[str]:
    loads = []
    for _ in range(3):
        opened = browser.new_page(viewport={"width": 1600, "height": 1000})
        started = time.perf_counter()
        opened.goto(page.as_uri())
        loads.append(1e3 * (time.perf_counter() - started))
    yield f"{'open':20} {statistics.median(loads):7.0f} ms"
    nodes = opened.evaluate("document.querySelectorAll('*').length")
    yield f"{'nodes':20} {nodes:7}"
    for words, act in ACTS.items():
        worked, shown = opened.evaluate(FRAME.replace("ACT", act))
        yield f"{words:20} {worked:7.0f} ms at work, {shown:7.0f} ms until the second frame"
    scrolled = opened.evaluate(SCROLL)
    frames = sorted(scrolled["frames"])
    usual, late, worst = statistics.median(frames), frames[int(0.95 * len(frames))], frames[-1]
    frames_said = f"frames {usual:.1f} ms, 95 % under {late:.1f}, worst {worst:.1f}"
    yield f"{'scroll':20} {frames_said}; {len(scrolled['long'])} long tasks"
