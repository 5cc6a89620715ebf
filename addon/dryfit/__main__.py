"""``python -m dryfit``."""

import sys

from .model.interrupt import INTERRUPTED, deaf_to_stop, is_stop_asked, listen_for_stop


def main() -> None:
    """Run the command line and leave with its exit code; a stop is heard before anything heavy is imported."""
    listen_for_stop()
    try:
        from .cli import main as run

        code = run()
        deaf_to_stop()
    except (KeyboardInterrupt, ImportError):
        if not is_stop_asked():  # some libraries say that they are broken where a stop met their import
            raise
        print("dryfit: stopped.", file=sys.stderr)
        code = INTERRUPTED
    sys.exit(code)


if __name__ == "__main__":
    main()
