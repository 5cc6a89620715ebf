"""The tests' own reader of printed figures takes a figure for one, and not a number within a name."""

from printed_figures import printed, wrong


def test_a_number_in_a_name_is_no_figure():
    said = "rim_share_of_limit_p95 0.17 (at most 1); walls 0.95 mm (at least 1.5 mm, practice); lids not measured (at most 2)"
    found = [*printed(said)]
    assert found == [("0.17", "at most", "1"), ("0.95", "at least", "1.5"), ("not measured", "at most", "2")]
    assert [wrong(*each) for each in found] == [False, True, True]
