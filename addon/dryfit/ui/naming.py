"""Where the bench sits in Blender."""

TAB = "Dryfit"
SPACE = "VIEW_3D"
REGION = "UI"
