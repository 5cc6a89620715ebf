"""Where the head balances: check values that tests elsewhere hold the checks to."""

from citation import CheckValue, Kind, Seen, Source

SOURCE = Source(
    "where the head balances",
    Kind.PAPER,
    "Chancey et al. 2007, Journal of Biomechanics, doi 10.1016/j.jbiomech.2006.09.007",
    (
        CheckValue(
            "load",
            "condyles 18.4 mm behind and 31.0 mm below the ear canals",
            Seen.READ,
            "tests/checks/casting/test_load.py::test_the_balance_point_lies_at_the_condyles",
        ),
    ),
)
