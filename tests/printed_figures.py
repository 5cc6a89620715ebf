"""What the text, the page and the JSON say of a pass, read back as users have it."""

import html
import re
from datetime import UTC, datetime

from dryfit.model.brief import Brief
from dryfit.model.finding import Bound
from dryfit.report.page import page_html
from dryfit.report.text import summary

PRINTED = re.compile(r"(?<![\w.])(not measured|-?\d[\d.]*) ?\S{0,6} *\((?:[^();]*; )?(at least|at most) (-?\d[\d.]*)")
WRITTEN = datetime(2026, 1, 1, tzinfo=UTC)


def printed(said):
    """Yield each figure of a text that stands before its limit, as text: figure, side, limit."""
    plain = re.sub(r"\s+", " ", said.replace("\u202f", "").replace("−", "-"))
    yield from PRINTED.findall(plain)


def wrong(figure, side, limit):
    """Whether a printed figure is beyond its printed limit by more than both may be rounded, or unknown."""
    if figure == "not measured":
        return True
    rounded = sum(0.51 * 10.0 ** -len(each.partition(".")[2]) for each in (figure, limit))
    over = float(figure) - float(limit)
    return (-over if side == "at least" else over) > rounded


def text_of_pass(report, check):
    """The lines of the text in which a check stands under *Pass*; other checks may stand in the same paragraph."""
    said = "\n\n".join(summary(report, [check], ascii_signs=False).split("\n\n")[1:])
    found = re.search(rf"^Pass +{check.id}\b.*(\n +.*)*", said, re.MULTILINE)
    return found[0] if found else ""


def page_of_pass(report, checks):
    """What the page says of each question that carries the badge of a pass, as a reader sees it."""
    parts = page_html(report, checks, (), Brief(), WRITTEN).split('<details class="check"')[1:]
    shown = [part for part in parts if 'class="badge pass"' in part.split("</summary>")[0]]
    held = [re.sub(r'<span class="held">(.*?)</span>', r"(\1)", re.sub(r"<svg.*?</svg>", "", each)) for each in shown]
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", each)) for each in held)


def beyond_in_json(result):
    """Yield the judged figures of a check in JSON that are beyond what judged them, or missing."""
    for measure, bound in result["judged"].items():
        figure, limit = result["measures"].get(measure), bound["value"]
        if not isinstance(figure, int | float) or not Bound(limit, bound["at_least"]).holds(figure):
            yield measure, figure


def excused(report):
    """Whether somebody accepted a finding with a reason: then the figure stands, and the reason beside it."""
    return any(finding.exception for result in report.checks for finding in result.findings)
