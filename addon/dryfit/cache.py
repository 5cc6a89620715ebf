"""Where the command line keeps answers for the next run, in words and as an environment that its workers take over."""

import os
from contextlib import suppress

from .model.answer_folder import SIZE_VARIABLE, VARIABLE, shared_folder


def name_answer_folder() -> None:
    """Name this user's own folder for caches in the environment, where nothing is named there and one can be had."""
    with suppress(ImportError):  # Blender's own Python does not have it: nothing is kept there
        from platformdirs import user_cache_path

        os.environ.setdefault(VARIABLE, str(user_cache_path("dryfit", appauthor=False)))


def cache_words(clear: bool) -> str:
    """Say where answers are kept and what they take, once they are taken away where that is asked."""
    folder = shared_folder()
    if folder is None:
        named = os.environ.get(VARIABLE, "")
        others = f": {named} can be written by others" if named not in ("", "0") else ""
        return f"No answers are kept for the next run{others}. Name a folder of your own in {VARIABLE}."
    if clear:
        return f"{folder.clear()} answers taken away from {folder.place}."
    return (
        f"{folder.place} holds {folder.held_mb():.0f} MB of answers, {folder.most_mb:.0f} MB at the most; those used "
        f"longest ago go first. dryfit cache --clear takes them away, {VARIABLE} names another folder (0 for none), "
        f"{SIZE_VARIABLE} another size."
    )
