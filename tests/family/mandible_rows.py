"""Rows about the bone of the lower jaw: it opens the mouth, and in every other motion it stays."""

from . import asking, members, smiles
from .answers import Answer, at_most, near, none_of, row
from .truth import farthest_mm, turned_deg

STAYS = "the mandible follows only what moves it"
OPENS = "teeth without keys go where the jaw goes"


def _moved(member, motion, measure):
    rest = member.snapshot.part("Lower").vertices_mm
    return measure(rest, asking.posed(member, "Lower", motion, 1.0))


def _still_rows(name, says, member, motion, slow=False):
    @row(f"2-turn-{name}", STAYS, f"{says}: turn of the lower teeth", slow)
    def turn():
        return at_most(_moved(member(), motion, turned_deg), 0.3, "deg")

    @row(f"2-way-{name}", STAYS, f"{says}: way of the lower teeth", slow)
    def way():
        return at_most(_moved(member(), motion, farthest_mm), 0.3)

    @row(f"2-hits-{name}", STAYS, f"{says}: teeth that run into teeth or hardware in it", slow)
    def hits():
        return none_of(
            [
                each.message
                for each in asking.judged(member(), "interference")
                if each.motion == motion and "teeth" in each.message.split(" runs ")[-1]
            ],
            "such finding",
        )


def _blinking(identity="mean", tooth_keys=False):
    member = members.keyed(identity, tooth_keys=tooth_keys)
    return member.with_motions(smiles.blink(member.head))


_CACHE = {}


def _once(name, made):
    """Keep one member of each name, so that its report is asked once."""
    return lambda: _CACHE.setdefault(name, made()) if name not in _CACHE else _CACHE[name]


_still_rows(
    "blink-no-gnathion", "blink without gnathion", _once("bg", lambda: _blinking().without("gnathion")), "blink"
)
_still_rows(
    "blink-alone", "blink alone, no jaw, no gnathion",
    _once("ba", lambda: members.with_only(_blinking().without("gnathion"), "blink")), "blink",
)  # fmt: skip
for _strength in (1.0, 1.5, 2.5):
    _still_rows(
        f"smile-{_strength:g}", f"smile {_strength:g} times, teeth with jaw keys",
        _once(f"s{_strength}", lambda strength=_strength: members.smiling(members.keyed(), strength)), "smile",
        slow=_strength != 2.5,
    )  # fmt: skip
for _chin in (0.3, 0.6, 1.0):
    _still_rows(
        f"pull-{_chin:g}", f"corners pulled 12 mm, chin skin {_chin:g} of it, teeth with jaw keys",
        _once(f"p{_chin}", lambda chin=_chin: _pulled(chin, True)), "smile",
        slow=_chin != 0.6,
    )  # fmt: skip
    _still_rows(
        f"pull-{_chin:g}-no-keys", f"corners pulled 12 mm, chin skin {_chin:g} of it, teeth without keys",
        _once(f"q{_chin}", lambda chin=_chin: _pulled(chin, False)), "smile",
        slow=_chin != 1.0,
    )  # fmt: skip


def _pulled(chin, tooth_keys):
    member = members.keyed(tooth_keys=tooth_keys)
    return member.with_motions(smiles.pull(member.head, share_of_chin=chin))


def _opening_rows(name, says, member, tolerance_deg=1.0, slow=False):
    @row(f"2-opens-{name}", OPENS, f"{says}: turn of the lower teeth", slow)
    def opens():
        return near(_moved(member(), "jaw", turned_deg), member().jaw.open_deg, tolerance_deg, "deg")

    @row(f"2-travels-{name}", OPENS, f"{says}: incisal_travel_mm", slow)
    def travels():
        from .teeth import incisal_point

        true = member().jaw.travel_mm(incisal_point(member().rows.lower))
        told = near(asking.measure(member(), "closure", "incisal_travel_mm"), true, 1.5)
        if asking.status(member(), "closure") == "not_checked":
            return Answer("not checked", f"{told.truth}, or not checked", True)
        return told


def _unkeyed(identity="mean", path="turn", frames=members.SAMPLED):
    return members.keyed(identity, path, tooth_keys=False, frames=frames)


_opening_rows("turn", "jaw turns", _unkeyed)
_opening_rows("slide", "jaw turns and slides", lambda: _unkeyed(path="slide"))
_opening_rows("stored", "stored jaw shape", lambda: _unkeyed(path="stored"))
_opening_rows("one-key", "jaw turns, one key", lambda: _unkeyed(frames=2))
_opening_rows("old_man", "old man, jaw turns", lambda: _unkeyed("old_man"), slow=True)
_opening_rows("child", "child, jaw turns", lambda: _unkeyed("child"))
_opening_rows("no-gnathion", "jaw turns, no gnathion", _once("ng", lambda: _unkeyed().without("gnathion")))
_opening_rows(
    "stored-no-gnathion",
    "stored shape, no gnathion",
    _once("sg", lambda: _unkeyed(path="stored").without("gnathion")),
    slow=True,
)
_opening_rows("soft-neck", "jaw turns, skin soft below the chin", members.soft_chinned)
_opening_rows("soft-chin", "jaw turns, skin soft from the lower lip down", lambda: members.soft_chinned(40.0))
for _shift_mm in (5, 15, 40):
    _opening_rows(
        f"gnathion-up-{_shift_mm}", f"jaw turns, gnathion {_shift_mm} mm too high",
        _once(f"gu{_shift_mm}", lambda mm=_shift_mm: _unkeyed().with_moved("gnathion", [0.0, 0.0, float(mm)])),
        tolerance_deg=2.0, slow=_shift_mm != 40,
    )  # fmt: skip
