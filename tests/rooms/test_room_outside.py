"""Published figures that bound the same rooms; each test names its source."""

import numpy as np

from dryfit.checks.eyes.field_of_view import Outlook
from dryfit.checks.eyes.sightline import WAYS, WIDEST_DEG
from dryfit.checks.teeth.norms import norm_for
from dryfit.model.brief import Brief
from dryfit.model.limits import Limits
from dryfit.performer.eyes import find_eye
from dryfit.performer.fitting import Fitting
from dryfit.performer.head_frame import HeadFrame
from dryfit.rooms.sight import Looker
from room_heads import bare_head, room_of_the_head

FREEWAY_MM = (2.0, 6.0)
"""From rest to tooth contact: 2-4 mm at premolars, 2-3 mm at molars, 4-6 mm at incisors (exam notes; an orofacial
myology paper)."""


def looker(side):
    head = bare_head()
    fitting, frame = Fitting(head, Brief()), HeadFrame.from_landmarks(head.landmarks)
    return Looker.of(find_eye(fitting, side, frame), frame, Outlook(fitting.base_surface, [], fitting.kept))


def test_the_bare_field_lies_within_published_fields():
    """Monocular limits: 107 degrees outward, 60 inward, 70 up, 80 down (Roenne 1915; Traquair 1938, encyclopedias)."""
    left = looker("left")
    ends = {way: left.ends_deg(way) for way in WAYS}
    assert 60.0 < ends["left"] <= WIDEST_DEG == 107.0
    assert ends["right"] <= 70.0
    assert ends["down"] <= 90.0


def test_what_is_kept_free_is_no_wider_than_both_eyes_see():
    """Both eyes see about 190 degrees across (CIE vocabulary, eilv 430)."""
    left = looker("left").ends_deg("left") + looker("right").ends_deg("right")
    assert Limits().sight_width_review_deg < left < 215.0


def test_teeth_in_contact_leave_no_more_than_freeway_space():
    """Back teeth that meet may grow by no more than a mouth at rest keeps between them, far from a bite that gags."""
    back = [tooth for tooth in room_of_the_head().teeth.teeth if "molar" in tooth.name]
    assert len(back) == 16
    assert all(tooth.closing_mm <= FREEWAY_MM[0] for tooth in back)
    assert all("shuts" in tooth.stop for tooth in back)


def test_what_may_show_is_about_what_shows_by_age():
    """Upper incisors at rest: 4.45 mm at 12-15 years down to 0.57 mm over 50 (da Motta et al. 2010, Aust Orthod J
    26:27-32): the limit lies above every mean and within two scatters of the young."""
    limit = Limits().tooth_display_review_mm
    means = [norm_for(age, "", True).mean_mm for age in (13, 25, 60)]
    assert limit > max(means)
    assert limit < max(means) + 2.0 * Limits().tooth_display_scatter_mm


def test_canines_of_the_warden_fit_between_practice_and_flesh():
    """A crown of an upper canine is 9.93 mm tall (Orozco-Varo et al. 2015, J Prosthet Dent 113:565): fangs may grow by
    less than another crown before they press into the lower lip or gum."""
    canines = [tooth for tooth in room_of_the_head().teeth.teeth if tooth.name.endswith("upper canine")]
    assert len(canines) == 2
    assert all(2.0 < tooth.longer_mm < 9.93 for tooth in canines)


def test_thickness_over_moving_zones_is_practice():
    """Common practice: 3 mm and less over lips, lids and folds, 3-6 mm over cheeks, more over bone only."""
    room = room_of_the_head()
    by_id = {stop.id: stop for stop in room.stops}
    for name, most in (("zone_lip", 3.0), ("zone_lid", 3.0), ("zone_fold", 3.0), ("zone_cheek", 6.0)):
        height = by_id[name].height_mm
        assert height[np.isfinite(height)].max() <= most
