"""Text that a spreadsheet shows and does not run."""

FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
"""First characters that make a spreadsheet run a cell (OWASP, CSV Injection), with their full-width twins."""


def safe_cell(text: str) -> str:
    """Return text that no spreadsheet takes for a formula: an apostrophe in front of what would be one."""
    return f"'{text}" if text.lstrip(" ").startswith(FORMULA_STARTS) or text.startswith(FORMULA_STARTS) else text
