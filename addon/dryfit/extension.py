"""What Blender calls when the extension is switched on and off. Importing this needs no Blender."""


def register() -> None:
    """Add everything to Blender.

    Raises
    ------
    Exception
        Whatever Blender raises; nothing is swallowed.
    """
    from .blender_command import add_command

    add_command()


def unregister() -> None:
    """Take everything away, in reverse order."""
    from .blender_command import remove_command

    remove_command()
