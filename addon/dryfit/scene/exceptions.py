"""Exceptions stored with the scene: findings accepted with a written reason, as JSON text."""

import json
from collections.abc import Iterable
from dataclasses import asdict, fields

from ..model.snapshot import Acceptance
from .blender import BlenderScene
from .errors import BadStoredValue

EXCEPTIONS = "dryfit_exceptions"


def stored_acceptances(scene: BlenderScene) -> tuple[Acceptance, ...]:
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
        return tuple(_acceptance(entry) for entry in json.loads(text))
    except (TypeError, ValueError, AttributeError) as error:
        raise BadStoredValue(scene.name, EXCEPTIONS, str(error)) from error


def store_acceptances(scene: BlenderScene, acceptances: Iterable[Acceptance]) -> None:
    """Store exceptions with the scene, as ``stored_acceptances`` reads them."""
    scene[EXCEPTIONS] = json.dumps([asdict(acceptance) for acceptance in acceptances], ensure_ascii=False)


def _acceptance(entry: dict[str, str]) -> Acceptance:
    unknown = set(entry) - {each.name for each in fields(Acceptance)}
    if unknown:
        raise ValueError(f"an exception has no '{min(unknown)}'")
    acceptance = Acceptance(**{name: str(value) for name, value in entry.items()})
    if not acceptance.check.strip() or not acceptance.reason.strip():
        raise ValueError("an exception needs its check and a reason in writing")
    return acceptance
