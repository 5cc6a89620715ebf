"""``python -m dryfit``."""

import sys

from .cli import main as run


def main() -> None:
    """Run the command line and leave with its exit code."""
    sys.exit(run())


if __name__ == "__main__":
    main()
