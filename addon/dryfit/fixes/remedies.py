"""The fixes by name, as findings name them."""

from collections.abc import Callable, Mapping

from ..checks.fitting import Fitting
from ..model.finding import Finding
from .feather import feather
from .lift import lift
from .mended import Mended

Remedy = Callable[[Fitting, Finding], Mended]

REMEDIES: Mapping[str, Remedy] = {"lift": lift, "feather": feather}
"""Name of a remedy -> the fix."""
