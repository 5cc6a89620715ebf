"""Build a small design that fails, measure it, and save it with a gate on its renders; the gate is the last argument.

Runs in a Blender without a window.
"""

import sys

sys.path[:0] = ["/srv/gate/addon", "/srv/gate"]
import bpy
from failing_design import failing_design

import dryfit

dryfit.register()
bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)
scene = failing_design()
render = scene.render
render.engine, scene.cycles.samples, scene.cycles.use_denoising = "CYCLES", 1, False
scene.cycles.preview_samples, scene.cycles.use_preview_denoising = 1, False
render.resolution_x = render.resolution_y = 32
render.filepath = "/srv/gate/renders/frame"
scene.frame_end = 2
assert bpy.ops.dryfit.check_fit(only="additive,edge") == {"FINISHED"}
assert scene.dryfit.verdict == "fail"
scene["dryfit_at_render"] = sys.argv[-1]
bpy.ops.wm.save_as_mainfile(filepath="/srv/gate/gated.blend")
print("GATED DESIGN BUILT", flush=True)
