"""Exceptions stored with the scene: findings accepted with a written reason, as JSON text."""

import json
from collections.abc import Iterable
from dataclasses import asdict, fields

from ..model.exceptions import WrittenException
from .blender import BlenderScene
from .errors import BadStoredValue

EXCEPTIONS = "dryfit_exceptions"


def stored_exceptions(scene: BlenderScene) -> tuple[WrittenException, ...]:
    """Return the exceptions stored with the scene.

    Raises
    ------
    BadStoredValue
        When the property is there and is not a JSON list of them.
    """
    text = scene.get(EXCEPTIONS)
    if text in (None, ""):
        return ()
    try:
        return tuple(_exception(entry) for entry in json.loads(text))
    except (TypeError, ValueError, AttributeError) as error:
        raise BadStoredValue(scene.name, EXCEPTIONS, str(error)) from error


def store_exceptions(scene: BlenderScene, exceptions: Iterable[WrittenException]) -> None:
    """Store exceptions with the scene, as ``stored_exceptions`` reads them."""
    scene[EXCEPTIONS] = json.dumps([asdict(exception) for exception in exceptions], ensure_ascii=False)


def _exception(entry: dict[str, str]) -> WrittenException:
    unknown = set(entry) - {each.name for each in fields(WrittenException)}
    if unknown:
        raise ValueError(f"an exception has no '{min(unknown)}'")
    exception = WrittenException(**{name: str(value) for name, value in entry.items()})
    if not exception.check.strip() or not exception.reason.strip():
        raise ValueError("an exception needs its check and a reason in writing")
    return exception
