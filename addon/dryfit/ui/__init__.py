"""What Blender shows and calls: the command, sidebar, operators and lists. Measures nothing.

Importing this package needs no Blender; ``register`` does.
"""


def register() -> None:
    """Add everything to Blender.

    Raises
    ------
    Exception
        Whatever Blender raises; nothing is swallowed.
    """
    from .command import add_command
    from .registration import add_bench

    add_command()
    add_bench()


def unregister() -> None:
    """Take everything away, in reverse order."""
    from .command import remove_command
    from .registration import remove_bench

    remove_bench()
    remove_command()
