"""Where ``bpy`` comes from, and what to say where it is not there.

``bpy`` carries no types, so its values are ``Any`` under names that say what they are.
"""

import sys
from collections.abc import Iterator
from contextlib import contextmanager, nullcontext
from typing import Any, TypeAlias

from ..model.interrupt import held_stop
from .errors import BlenderMissing
from .quiet import quiet_output

MODULE = "bpy"

Blender: TypeAlias = Any
BlenderContext: TypeAlias = Any
BlenderScene: TypeAlias = Any
BlenderViewLayer: TypeAlias = Any
BlenderObject: TypeAlias = Any
BlenderMesh: TypeAlias = Any
BlenderMaterial: TypeAlias = Any
Depsgraph: TypeAlias = Any
KeyBlock: TypeAlias = Any
ShapeKeys: TypeAlias = Any
AnimationData: TypeAlias = Any
AnimationCurve: TypeAlias = Any
BlenderID: TypeAlias = Any
BlenderData: TypeAlias = Any


def blender() -> Blender:
    """Return the ``bpy`` module.

    Raises
    ------
    BlenderMissing
        When neither Blender nor its module is there.
    """
    try:
        with _starting() if MODULE not in sys.modules else nullcontext():
            import bpy
    except ImportError as error:
        raise BlenderMissing() from error
    return bpy


@contextmanager
def _starting() -> Iterator[None]:
    with held_stop(), quiet_output():
        yield
