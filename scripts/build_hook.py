"""Compile the geometry kernel while the package is built; without a compiler the numpy twin measures instead."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

sys.path.insert(0, str(Path(__file__).resolve().parent))
import build_kernel


class KernelBuildHook(BuildHookInterface):
    """Put the library into the wheel, or into the tree for an editable install.

    The environment variable ``DRYFIT_TARGET`` (such as ``windows-x86_64``) builds a wheel for another platform.
    """

    PLUGIN_NAME = "custom"

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Compile, include the library, and tag the wheel for its platform."""
        target = os.environ.get("DRYFIT_TARGET") or build_kernel.NAMES.platform_name()
        try:
            library = build_kernel.build(target)
        except (RuntimeError, KeyError, OSError, subprocess.TimeoutExpired) as error:
            self.app.display_warning(f"geometry kernel not compiled, numpy will measure instead (slower): {error}")
            return
        if self.target_name != "wheel" or version == "editable":
            return
        build_data["pure_python"] = False
        build_data["tag"] = f"py3-none-{self._platform_tag(target)}"
        build_data["force_include"][str(library)] = f"dryfit/geometry/kernel/lib/{library.name}"

    @staticmethod
    def _platform_tag(target: str) -> str:
        return build_kernel.TARGETS[target].wheel
