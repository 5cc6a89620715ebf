"""Give the selected objects a role, take it away, select a part."""

from typing import Any

import bpy
from bpy.props import BoolProperty, EnumProperty, StringProperty

from ..model.snapshot import Role
from ..sitting.parts import assign_role, mark_own, select_part, selectable_surfaces
from .wording import ROLE_HINTS, ROLE_ICONS, role_word

ROLE_ITEMS = tuple(
    (role.value, role_word(role), ROLE_HINTS[role], ROLE_ICONS[role], place) for place, role in enumerate(Role)
)
OWN_WORD, DESIGN_WORD = "the performer's own", "part of the design"
CLEAR_ITEM = ("none", "None", "Take the role away", "PANEL_CLOSE", len(ROLE_ITEMS))


def assign_icon(role: str) -> str:
    """Return a role's icon."""
    return ROLE_ICONS[role]


class DRYFIT_OT_assign_role(bpy.types.Operator):
    """Give the selected objects a role in the design"""

    bl_idname = "dryfit.assign_role"
    bl_label = "Assign Role"
    bl_options = {"REGISTER", "UNDO"}

    role: EnumProperty(name="Role", items=(*ROLE_ITEMS, CLEAR_ITEM))

    @classmethod
    def description(cls, context: Any, properties: Any) -> str:
        """Tell what the role means."""
        return ROLE_HINTS.get(properties.role, "Take the role away from the selected objects")

    @classmethod
    def poll(cls, context: Any) -> bool:
        """Need a selected surface."""
        if not selectable_surfaces(context):
            cls.poll_message_set("Select a mesh object first")
            return False
        return True

    def execute(self, context: Any) -> set[str]:
        """Store the role on each object."""
        items = selectable_surfaces(context)
        if self.role == Role.BASE and len(items) > 1:
            self.report({"ERROR"}, f"{len(items)} objects are selected; a design has one base")
            return {"CANCELLED"}
        done = assign_role(context, items, "" if self.role == "none" else self.role)
        word = "no role" if self.role == "none" else role_word(self.role)
        if done.refused:
            self.report(
                {"WARNING" if done.changed else "ERROR"}, f"{len(done.refused)} cannot be changed: {done.refused[0]}"
            )
        if done.changed:
            self.report({"INFO"}, f"{len(done.changed)} object{'s' * (len(done.changed) != 1)}: {word}")
        return {"FINISHED"} if done.changed else {"CANCELLED"}


class DRYFIT_OT_clear_role(bpy.types.Operator):
    """Take the role away from this object"""

    bl_idname = "dryfit.clear_role"
    bl_label = "Clear Role"
    bl_options = {"REGISTER", "UNDO"}

    part: StringProperty(name="Object", options={"HIDDEN"})

    def execute(self, context: Any) -> set[str]:
        """Remove the property."""
        item = context.scene.objects.get(self.part)
        if item is None:
            self.report({"ERROR"}, f"'{self.part}' is not in this scene")
            return {"CANCELLED"}
        done = assign_role(context, [item], "")
        if done.refused:
            self.report({"WARNING"}, done.refused[0])
        return {"FINISHED"} if done.changed else {"CANCELLED"}


class DRYFIT_OT_mark_own(bpy.types.Operator):
    """Tell whether these are the performer's own teeth or eye: what they do without the design is not the design's"""

    bl_idname = "dryfit.mark_own"
    bl_label = "Performer's Own"
    bl_options = {"REGISTER", "UNDO"}

    part: StringProperty(name="Object", options={"HIDDEN"})
    own: BoolProperty(name="Own")

    def execute(self, context: Any) -> set[str]:
        """Set the property or take it away."""
        why = mark_own(context, self.part, self.own)
        if why:
            self.report({"ERROR"}, why)
            return {"CANCELLED"}
        self.report({"INFO"}, f"{self.part}: {OWN_WORD if self.own else DESIGN_WORD}")
        return {"FINISHED"}


class SelectsPart:
    """An operator that selects one object and makes it active."""

    bl_options = {"REGISTER", "UNDO"}

    part: StringProperty(name="Object", options={"HIDDEN"})

    def execute(self, context: Any) -> set[str]:
        """Select it, or say why not."""
        why = select_part(context, self.part)
        if why:
            self.report({"WARNING"}, why)  # type: ignore[attr-defined]
            return {"CANCELLED"}
        return {"FINISHED"}


class DRYFIT_OT_select_part(SelectsPart, bpy.types.Operator):
    """Select this object and make it active"""

    bl_idname = "dryfit.select_part"
    bl_label = "Select Part"


CLASSES = (DRYFIT_OT_assign_role, DRYFIT_OT_clear_role, DRYFIT_OT_mark_own, DRYFIT_OT_select_part)
