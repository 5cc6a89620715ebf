"""The materials as properties of the sidebar: which one a part is of, and the figures of the one that is shown."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import bpy
from bpy.props import EnumProperty, StringProperty

from ..model.adopting import FIGURES
from ..model.materials import Material
from ..model.sentences import capital
from ..model.snapshot import Role
from ..scene.own_figures import own_materials, store_own_materials
from ..scene.posable_scene import MATERIAL
from .adjusting import Adjusting
from .brief_beside import brief_beside
from .kept_properties import keep_property, keeping_refused
from .parts import ListedPart, listed_parts

WORN = (Role.APPLIANCE, Role.HARDWARE, Role.UPPER_TEETH, Role.LOWER_TEETH)
"""Roles of parts that are made of something."""
LARGEST = 1e6


@dataclass(frozen=True)
class FigureWords:
    """How one figure of a material is shown: label with unit, and what it decides."""

    label: str
    meaning: str


SHOWN = {
    "density_g_cm3": FigureWords("Density (g/cm³)", "How heavy it is; Load weighs the part with it"),
    "shrink_percent": FigureWords("Shrinkage (%)", "Linear, from mould to piece; Release scales the pattern by it"),
    "shrink_least_percent": FigureWords("Least Shrinkage (%)", "The least that is told of the material; 0 with most 0"),
    "shrink_most_percent": FigureWords("Most Shrinkage (%)", "The most that is told of the material; 0 where unknown"),
    "max_strain": FigureWords("Stretch at Break (of 1)", "2 is three times the length; 0 marks a rigid material"),
    "min_edge_mm": FigureWords(
        "Least Edge (mm)", "The thinnest edge it can be cast or printed with; Edge holds it to that"
    ),
    "min_wall_mm": FigureWords("Least Wall (mm)", "A wall thinner than this fails in Thickness and Release"),
    "safe_wall_mm": FigureWords("Safe Wall (mm)", "A wall between the least one and this is to be reviewed"),
    "forgiven_stretch": FigureWords("Stretch off Undercut", "Strain a casting bears on its way off an undercut"),
    "draft_deg": FigureWords("Draft (°)", "What a rigid casting wants in a rigid mould"),
    "stiffness_kpa": FigureWords("Stiffness (kPa)", "Of the core; Strain judges the glue by it, Thickness the zones"),
    "skin_mm": FigureWords("Skin (mm)", "Thickness of the skin round a soft core, each side; 0 for one material"),
    "skin_stiffness_kpa": FigureWords("Skin's Stiffness (kPa)", "Stiffness of that skin"),
    "skin_max_strain": FigureWords("Skin's Break (of 1)", "Stretch at which that skin breaks"),
}
_items: list[tuple[str, str, str]] = []


def worn_parts(scene: Any) -> list[ListedPart]:
    """Return the parts that are made of something, by name."""
    return sorted((part for part in listed_parts(scene) if part.role in WORN), key=lambda part: str(part.item.name))


def material_of(item: Any) -> str:
    """Return the name of the material an object is of, or ``""``."""
    return str(item.get(MATERIAL) or "")


def assign_material(item: Any, name: str) -> str:
    """Store what an object is made of, ``""`` for nothing; return why it cannot be, or ``""``."""
    why = keeping_refused(item, MATERIAL)
    if not why:
        keep_property(item, MATERIAL, name)
    return why


def material_word(name: str) -> str:
    """Return a material's name as a label."""
    return name.replace("_", " ").title() if name.islower() else name


def material_items(_owner: Any, _context: Any) -> list[tuple[str, str, str]]:
    """Return the known materials as items of an enumeration; Blender needs the list kept alive."""
    materials = brief_beside(quiet=True).materials
    wanted = [(name, material_word(name), _description(each)) for name, each in materials.items()]
    if wanted != _items:
        _items[:] = wanted
    return _items


def _description(material: Material) -> str:
    made = f"{capital(material.process)}. " if material.process else ""
    return f"{made}{material.density_g_cm3:g} g/cm³. Sources: {material.source}"


def shown_material(scene: Any) -> str:
    """Return the material whose figures the sidebar shows: the one chosen, else the first one in use."""
    known = brief_beside(quiet=True).materials
    chosen = scene.dryfit.shown_material
    if chosen in known:
        return str(chosen)
    used = [material_of(part.item) for part in worn_parts(scene)]
    return next((name for name in used if name in known), next(iter(known)))


def _shown_place(group: Any) -> int:
    names = list(brief_beside(quiet=True).materials)
    return names.index(shown_material(group.id_data))


def _show_place(group: Any, place: int) -> None:
    group.id_data.dryfit.shown_material = list(brief_beside(quiet=True).materials)[place]


def shown_name_property() -> Any:
    """Return the hidden property that holds the chosen material's name."""
    return StringProperty(options={"HIDDEN"})


def _stated(scene: Any, figure: str) -> float:
    return float(getattr(brief_beside(quiet=True).materials[shown_material(scene)], figure))


def _own(scene: Any) -> Mapping[str, float]:
    return own_materials(scene).get(shown_material(scene), {})


def _keep(scene: Any, figures: Mapping[str, float]) -> None:
    store_own_materials(scene, {**own_materials(scene), shown_material(scene): figures})


ADJUSTING = Adjusting(_stated, _own, _keep)


def _property(figure: str) -> Any:
    shown = SHOWN[figure]
    lowest = 1e-3 if figure == "density_g_cm3" else 0.0
    highest = 49.9 if figure.startswith("shrink_") else LARGEST
    return ADJUSTING.as_property(figure, shown.label, shown.meaning, min=lowest, max=highest)


DRYFIT_PG_material = type(
    "DRYFIT_PG_material",
    (bpy.types.PropertyGroup,),
    {
        "__doc__": "The figures of the material that is shown, each in its own unit.",
        "__annotations__": {
            "material": EnumProperty(
                name="Material",
                description="The material whose figures are shown",
                items=material_items,
                get=_shown_place,
                set=_show_place,
            ),
            **{figure: _property(figure) for figure in FIGURES},
        },
    },
)
