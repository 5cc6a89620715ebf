"""What modifiers and constraints are set to, as plain values: display, and what animation sets, is left out."""

from collections.abc import Iterable, Iterator
from typing import Any

import bpy

PLAIN = ("BOOLEAN", "INT", "FLOAT", "STRING", "ENUM")
NOT_THE_SHAPE = frozenset({
    "rna_type", "name", "show_expanded", "show_in_editmode", "show_on_cage", "show_render", "is_active", "active",
    "use_pin_to_last", "render_levels", "sculpt_levels", "show_only_control_edges", "show_group_selector",
    "show_manage_panel", "persistent_uid", "panels", "bakes", "node_warnings", "particle_system",
})  # fmt: skip
"""Properties that change nothing of what is measured: how a panel or another mode shows it, and what renders take."""
DISPLAY = "open_"
DEEPEST, LONGEST = 4, 256
"""How far settings are followed into their parts, and how many of a list count."""


def stack_values(kind: str, stack: Iterable[Any], animated: frozenset[str]) -> list[Any]:
    """Return the settings of an object's ``modifiers`` or ``constraints``, in their order.

    Parameters
    ----------
    kind
        The word of the two.
    animated
        Paths of the object's properties that animation or drivers set.
    """
    return [(each.type, _values(each, _below(f'{kind}["{each.name}"]', animated))) for each in stack]


def _below(owner: str, paths: Iterable[str]) -> set[str]:
    """Return the paths below an owner's own."""
    return {path.removeprefix(owner).removeprefix(".") for path in paths if path.startswith(owner)}


def named_by(stack: Iterable[Any]) -> Iterator[Any]:
    """Yield the data-blocks that modifiers and constraints name, themselves or in their nodes, each once a property."""
    for each in stack:
        yield from _pointed(each)
        yield from (value for _, value in _inputs(each) if isinstance(value, bpy.types.ID))
        yield from (target.target for target in getattr(each, "targets", ()) if target.target is not None)
        yield from _named_in(getattr(each, "node_group", None))


def _named_in(tree: Any, depth: int = DEEPEST) -> Iterator[Any]:
    """Yield the data-blocks that a tree's nodes name."""
    for node in tree.nodes if tree is not None and depth else ():
        values = [*_pointed(node, 1), *(getattr(socket, "default_value", None) for socket in node.inputs)]
        yield from (value for value in values if isinstance(value, bpy.types.ID))
        yield from _named_in(getattr(node, "node_tree", None), depth - 1)


def owner_values(owner: Any) -> dict[str, Any]:
    """Return everything that a data-block is set to, by name."""
    return _values(owner, set())


def settings_of(owner: Any, beginnings: tuple[str, ...]) -> dict[str, Any]:
    """Return an owner's plain settings whose names begin in one of these ways."""
    return {
        each.identifier: _plain(getattr(owner, each.identifier))
        for each in owner.bl_rna.properties
        if each.type in PLAIN and each.identifier.startswith(beginnings)
    }


def words_in(stack: Iterable[Any]) -> Iterator[str]:
    """Yield the texts that modifiers' nodes and what these take hold: names of attributes and vertex groups."""
    for each in stack:
        yield from (value for _, value in _inputs(each) if isinstance(value, str))
        yield from _tree_words(getattr(each, "node_group", None))


def _tree_words(tree: Any, depth: int = DEEPEST) -> Iterator[str]:
    for node in tree.nodes if tree is not None and depth else ():
        values = (getattr(socket, "default_value", None) for socket in node.inputs)
        yield from (value for value in values if isinstance(value, str))
        yield from _tree_words(getattr(node, "node_tree", None), depth - 1)


def tree_values(tree: Any, depth: int = DEEPEST) -> Any:
    """Return the nodes of a tree with what they are set to and how they are linked."""
    if tree is None or not depth:
        return None
    links = [
        (link.from_node.name, link.from_socket.identifier, link.to_node.name, link.to_socket.identifier, link.is_muted)
        for link in tree.links
    ]
    return [_node_values(node, depth) for node in tree.nodes], links


def _node_values(node: Any, depth: int) -> tuple[Any, ...]:
    own = set(node.bl_rna.properties.keys()) - set(bpy.types.Node.bl_rna.properties.keys())
    values = {name: _value(node, node.bl_rna.properties[name], set(), DEEPEST) for name in sorted(own)}
    both = (*node.inputs, *node.outputs)
    sockets = [(socket.identifier, _plain(getattr(socket, "default_value", None))) for socket in both]
    inner = tree_values(getattr(node, "node_tree", None), depth - 1)
    return node.bl_idname, node.name, node.mute, values, sockets, inner


def _values(owner: Any, skipped: set[str], depth: int = DEEPEST) -> dict[str, Any]:
    """Return an owner's settings by name."""
    values = {
        each.identifier: _value(owner, each, skipped, depth)
        for each in owner.bl_rna.properties
        if _counts(each) and each.identifier not in skipped
    }
    inputs = {f'["{name}"]': _plain(value) for name, value in _inputs(owner)}
    values.update({path: value for path, value in inputs.items() if path not in skipped})
    if getattr(owner, "node_group", None) is not None:
        values["nodes"] = tree_values(owner.node_group)
    return values


def _counts(each: Any) -> bool:
    name = each.identifier
    stated = not each.is_readonly or each.type not in PLAIN or name == "vertex_indices"
    return stated and name not in NOT_THE_SHAPE and not name.startswith(DISPLAY)


def _value(owner: Any, each: Any, skipped: set[str], depth: int) -> Any:
    value = getattr(owner, each.identifier)
    if each.type in PLAIN or isinstance(value, bpy.types.ID):
        return _plain(value)
    if isinstance(value, bpy.types.Node):
        return value.name
    if value is None or depth <= 1:
        return None
    if each.type == "POINTER":
        return _values(value, _below(f"{each.identifier}.", skipped), depth - 1)
    return [_values(item, set(), depth - 1) for item in list(value)[:LONGEST]]


def _inputs(owner: Any) -> list[tuple[str, Any]]:
    """Return what a modifier's nodes take: custom properties, where this Blender keeps them so."""
    try:
        return sorted(owner.items())
    except TypeError:
        return []


def _pointed(owner: Any, depth: int = DEEPEST) -> Iterator[Any]:
    """Yield what an owner's settings and their parts point to."""
    for each in owner.bl_rna.properties:
        if each.type != "POINTER" or not _counts(each):
            continue
        value = getattr(owner, each.identifier)
        if isinstance(value, bpy.types.ID):
            yield value
        elif value is not None and depth > 1:
            yield from _pointed(value, depth - 1)


def _plain(value: Any) -> Any:
    """Return sets in order, arrays as lists and data-blocks by name, so that the same settings always read the same."""
    if isinstance(value, bpy.types.ID):
        return value.name_full
    if isinstance(value, set):
        return sorted(value)
    if isinstance(value, str | int | float | bool) or value is None:
        return value
    try:
        return [_plain(each) for each in value]  # vectors and matrices have no __iter__, and yet they can be gone over
    except TypeError:
        return str(type(value))
