"""Build what a first-time user has: a scan and a sculpt in one file, without role, rig, landmark or brief."""

import sys
from pathlib import Path

sys.path[:0] = ["/srv/addon", "/srv"]
import bpy

from dryfit.demo_door import build_demo
from dryfit.model.progress import drain

drain(build_demo(Path("/srv/demo"), "03-warden-hollow-cheek"))
bpy.ops.wm.open_mainfile(filepath="/srv/demo/03-warden-hollow-cheek.blend")
named = {"base": "Head Scan", "appliance": "Sculpt"}
for item in list(bpy.data.objects):
    role = item.get("dryfit_role")
    if role not in named:
        bpy.data.objects.remove(item)
        continue
    item.name = named[role]
    item.shape_key_clear()
    for name, _ in [pair for pair in item.items() if pair[0].startswith("dryfit_")]:
        del item[name]
    item.vertex_groups.clear()
for name, _ in [pair for pair in bpy.context.scene.items() if pair[0].startswith("dryfit_")]:
    del bpy.context.scene[name]
print("OBJECTS", [item.name for item in bpy.data.objects])
Path("/srv/demo/first").mkdir(exist_ok=True)
bpy.ops.wm.save_as_mainfile(filepath="/srv/demo/first/first.blend")
print("DESIGN BUILT")
