"""Build one demo design in a Blender without a window; its name is the last argument.

Not in the window's own start-up script: there Blender 4.3 crashes when a scene is removed before its event loop runs.
"""

import sys
from pathlib import Path

sys.path[:0] = ["/srv/addon", "/srv"]
from dryfit.demo_door import build_demo
from dryfit.model.progress import drain

drain(build_demo(Path("/srv/demo"), sys.argv[-1]))
print("DESIGN BUILT", flush=True)
