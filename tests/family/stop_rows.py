"""Rows about what stops a jaw: the closed-form slabs."""

from functools import cache

from . import asking, slabs
from .answers import near, one_of, row, within

STOPS = "what stops the jaw, in closed form"
MEET_T = slabs.MEET_MM / slabs.DROP_MM
GRAZE_MM = 0.1
WIDE_MM = 36.0
"""The drop of a jaw that leaves no doubt about the opening: 30 mm along z are 29.9 along the head's leaning upright."""
LEANING_MM = 0.3
"""A slab 4 mm deep reaches so much further along the head's own upright, which leans by 3.8 degrees."""


@cache
def scene(narrower_mm=0.0, beside_mm=0.0, steps=1, drop_mm=slabs.DROP_MM):
    """Return the slabs."""
    return slabs.slabs(narrower_mm, beside_mm, steps, drop_mm)


def _stopped_rows(name, says, **how):
    def shown():
        return scene(**how)

    @row(f"7-closes-{name}", STOPS, f"{says}: closes")
    def closes():
        return near(asking.measure(shown(), "closure", "closes"), 0.0, 0.0, "")

    @row(f"7-verdict-{name}", STOPS, f"{says}: closure")
    def verdict():
        return one_of(asking.status(shown(), "closure"), "fail")

    @row(f"7-contact-{name}", STOPS, f"{says}: contact_t")
    def contact():
        return near(asking.measure(shown(), "closure", "contact_t"), MEET_T, 0.002, "")

    @row(f"7-left-{name}", STOPS, f"{says}: residual_gap_mm")
    def left():
        return near(asking.measure(shown(), "closure", "residual_gap_mm"), slabs.left_mm(shown(), MEET_T), 0.3)

    @row(f"7-lose-{name}", STOPS, f"{says}: must_lose_mm")
    def lose():
        return near(asking.measure(shown(), "closure", "must_lose_mm"), slabs.MEET_MM, LEANING_MM)

    @row(f"7-open-{name}", STOPS, f"{says}: stops that are said to be 0.0° open")
    def said():
        findings = asking.judged(shown(), "closure")
        wrong = [each for each in findings if "0.0° open" in each.message]
        return near(float(len(wrong)) if findings else float("nan"), 0.0, 0.0, "")

    @row(f"7-interference-{name}", STOPS, f"{says}: interference")
    def interference():
        return one_of(asking.status(shown(), "interference"), "fail")

    @row(f"7-depth-{name}", STOPS, f"{says}: teeth in each other at rest")
    def depth():
        shallow_mm = min(slabs.MEET_MM, slabs.DEPTH_MM - how.get("beside_mm", 0.0))
        measured = asking.measure(shown(), "interference", "hard_penetration_mm")
        return within(measured, shallow_mm - 0.2, slabs.MEET_MM + 0.2)


_stopped_rows("flush", "slabs with flush walls")
_stopped_rows("flush-cut", "slabs with flush walls, sides cut in 6", steps=6)
_stopped_rows("narrower", "lower slab 0.5 mm narrower", narrower_mm=0.5)
_stopped_rows("beside", "lower slab 2 mm further back", beside_mm=2.0)
_stopped_rows("shallow", "slabs that overlap by 0.8 mm in depth", beside_mm=slabs.DEPTH_MM - 0.8)


def _free(beside_mm):
    """Return slabs that nothing stops, and a jaw that opens as far as a mouth must."""
    return scene(beside_mm=beside_mm, drop_mm=WIDE_MM)


@row("7-graze", STOPS, "slabs that graze by 0.1 mm: closure")
def graze():
    return one_of(asking.status(_free(slabs.DEPTH_MM - GRAZE_MM), "closure"), "pass")


@row("7-graze-interference", STOPS, "slabs that graze by 0.1 mm: interference")
def graze_interference():
    return one_of(asking.status(_free(slabs.DEPTH_MM - GRAZE_MM), "interference"), "pass")


@row("7-touch", STOPS, "slabs whose walls only touch: closure")
def touch():
    return one_of(asking.status(_free(slabs.DEPTH_MM), "closure"), "pass")


@row("7-clear", STOPS, "slabs 1 mm apart: closure")
def clear():
    return one_of(asking.status(_free(slabs.DEPTH_MM + 1.0), "closure"), "pass")


@row("7-narrow-opening", STOPS, "slabs 1 mm apart, the head's own jaw opens 29.9 mm where 30 are asked: closure")
def narrow_opening():
    return one_of(asking.status(scene(beside_mm=slabs.DEPTH_MM + 1.0), "closure"), "pass")
