"""Compile the geometry kernel and build the guide while the package is built; a package without either still works."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

sys.path.insert(0, str(Path(__file__).resolve().parent))
import build_guide
import build_kernel


class KernelBuildHook(BuildHookInterface):
    """Put library and guide into the wheel, or into the tree for an editable install.

    The environment variable ``DRYFIT_TARGET`` (such as ``windows-x86_64``) builds a wheel for another platform.
    """

    PLUGIN_NAME = "custom"

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Build both, include them, and tag the wheel for its platform."""
        if self.target_name == "wheel":
            self._include_guide(version, build_data)
        self._include_kernel(version, build_data)

    def _include_guide(self, version: str, build_data: dict[str, Any]) -> None:
        try:
            pages = build_guide.build()
        except (build_guide.GuideFailed, build_guide.SetUpFailed, OSError, subprocess.TimeoutExpired) as error:
            self.app.display_warning(f"guide not built, 'dryfit guide' will say so: {error}")
            return
        if version != "editable":
            build_data["force_include"][str(pages)] = "dryfit/guide/pages"

    def _include_kernel(self, version: str, build_data: dict[str, Any]) -> None:
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
