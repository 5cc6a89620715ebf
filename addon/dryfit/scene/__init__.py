"""The Blender border: the only code that reads or writes bpy data."""
