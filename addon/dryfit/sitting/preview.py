"""Show the painted attribute through a shader, in Material Preview and renders, as a view layer's override.

The override is Blender's own: no object's material is touched. The material and the override it replaced are put
back when the preview is switched off, and the material is removed.
"""

from typing import Any

import bpy

from ..model.scale_colours import scale_of, value_at
from .painting import MEASURED, PREFIX, fields_named
from .stored_report import StoredField

MATERIAL = "dryfit preview"
BEFORE = "dryfit_override_before"
UNPAINTED = (0.35, 0.35, 0.35, 1.0)


def previewing(layer: Any) -> bool:
    """Tell whether the view layer shows the preview."""
    override = layer.material_override
    return override is not None and override.name == MATERIAL


def start_preview(layer: Any, entry: StoredField) -> None:
    """Show a painted field through the shader on everything in the view layer."""
    if not previewing(layer) and layer.material_override is not None:
        layer[BEFORE] = layer.material_override.name
    layer.material_override = _material(entry)


def refresh_preview(scene: Any, layer: Any) -> None:
    """Let a preview show what the bench paints now; where it paints nothing, the preview stops."""
    if not previewing(layer):
        return
    fields = fields_named(scene, scene.dryfit.painted) if scene.dryfit.paint else ()
    if fields:
        start_preview(layer, fields[0])
    else:
        stop_preview(layer)


def stop_preview(layer: Any) -> None:
    """Put back what the view layer showed before."""
    if not previewing(layer):
        return
    name = layer.get(BEFORE, "")
    layer.material_override = bpy.data.materials.get(name) if name else None
    if BEFORE in layer:
        del layer[BEFORE]
    material = bpy.data.materials.get(MATERIAL)
    if material is not None and not material.users:
        bpy.data.materials.remove(material)


def _material(entry: StoredField) -> Any:
    material = bpy.data.materials.get(MATERIAL) or bpy.data.materials.new(MATERIAL)
    if material.node_tree is None:
        material.use_nodes = True
    tree = material.node_tree
    tree.nodes.clear()
    value, known = _attribute(tree, PREFIX + entry.name), _attribute(tree, MEASURED)
    spread = tree.nodes.new("ShaderNodeMapRange")
    spread.inputs["From Min"].default_value = entry.low
    spread.inputs["From Max"].default_value = entry.high
    ramp = _ramp(tree, entry)
    mix = tree.nodes.new("ShaderNodeMixShader")
    painted, plain = tree.nodes.new("ShaderNodeEmission"), tree.nodes.new("ShaderNodeBsdfDiffuse")
    plain.inputs["Color"].default_value = UNPAINTED
    output = tree.nodes.new("ShaderNodeOutputMaterial")
    for source, target in (
        (value.outputs["Fac"], spread.inputs["Value"]),
        (spread.outputs["Result"], ramp.inputs["Fac"]),
        (ramp.outputs["Color"], painted.inputs["Color"]),
        (known.outputs["Fac"], mix.inputs[0]),
        (plain.outputs["BSDF"], mix.inputs[1]),
        (painted.outputs["Emission"], mix.inputs[2]),
        (mix.outputs[0], output.inputs["Surface"]),
    ):
        tree.links.new(source, target)
    return material


def _attribute(tree: Any, name: str) -> Any:
    node = tree.nodes.new("ShaderNodeAttribute")
    node.attribute_type, node.attribute_name = "GEOMETRY", name
    return node


def _ramp(tree: Any, entry: StoredField) -> Any:
    node = tree.nodes.new("ShaderNodeValToRGB")
    stops = scale_of(entry.diverging)
    elements = node.color_ramp.elements
    while len(elements) < len(stops):
        elements.new(0.5)
    for place, (element, colour) in enumerate(zip(elements, stops, strict=True)):
        value = value_at(place / (len(stops) - 1), entry.low, entry.high, entry.diverging)
        element.position = (value - entry.low) / ((entry.high - entry.low) or 1.0)
        element.color = (*(_linear(channel) for channel in colour), 1.0)
    return node


def _linear(channel: float) -> float:
    """Return a display value as scene-linear light (IEC 61966-2-1)."""
    return channel / 12.92 if channel <= 0.04045 else float(((channel + 0.055) / 1.055) ** 2.4)
