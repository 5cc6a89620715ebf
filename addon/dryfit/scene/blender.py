"""Where ``bpy`` comes from, and what to say where it is not there.

``bpy`` carries no types, so its values are ``Any`` under names that say what they are.
"""

from typing import Any, TypeAlias

from .errors import BlenderMissing

Blender: TypeAlias = Any
BlenderContext: TypeAlias = Any
BlenderScene: TypeAlias = Any
BlenderObject: TypeAlias = Any
BlenderMesh: TypeAlias = Any
Depsgraph: TypeAlias = Any
KeyBlock: TypeAlias = Any
ShapeKeys: TypeAlias = Any
AnimationData: TypeAlias = Any
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
        import bpy
    except ImportError as error:
        raise BlenderMissing() from error
    return bpy
