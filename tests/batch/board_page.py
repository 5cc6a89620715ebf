"""A board in a browser, as a supervisor sees and works it."""


def names(page):
    """Names of the rows that are not sieved out, as the page stands; rows scrolled away count."""
    shown = page.locator("#board tbody tr").evaluate_all(
        "all => all.filter((row) => row.checkVisibility()).map((row) => nameOf(row))"
    )
    return [name.strip() for name in shown]


def pick(page, *wanted):
    """Tick the variants of some names."""
    for name in wanted:
        page.get_by_role("checkbox", name=f"Pick {name}", exact=True).check()
