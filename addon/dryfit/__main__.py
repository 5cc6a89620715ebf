"""``python -m dryfit``."""

import sys

from .model.interrupt import INTERRUPTED, deaf_to_stop, held_stop, is_stop_asked, listen_for_stop


def main() -> None:
    """Run the command line and leave with its exit code; a stop is kept from before anything heavy is imported."""
    listen_for_stop()
    try:
        with held_stop():  # an import makes an error of its own of a stop that meets it
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
