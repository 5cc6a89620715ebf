"""What Blender calls when the extension is switched on and off. Importing this needs no Blender."""


def register() -> None:
    """Add everything to Blender.

    Raises
    ------
    Exception
        Whatever Blender raises; nothing is swallowed.
    """
    from .blender_command import add_command
    from .sitting.render_gate import watch_renders
    from .ui.registration import add_bench

    add_command()
    add_bench()
    watch_renders()


def unregister() -> None:
    """Take everything away, in reverse order."""
    from .blender_command import remove_command
    from .sitting.render_gate import stop_watching_renders
    from .ui.registration import remove_bench

    stop_watching_renders()
    remove_bench()
    remove_command()
