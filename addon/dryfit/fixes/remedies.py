"""The fixes by name, as findings name them."""

from collections.abc import Callable, Mapping

from ..model.finding import Finding
from ..performer.fitting import Fitting
from .extend import extend
from .feather import feather
from .lift import lift
from .mended import Mended
from .shorten import shorten

Remedy = Callable[[Fitting, Finding], Mended]

REMEDIES: Mapping[str, Remedy] = {"lift": lift, "feather": feather, "shorten": shorten, "extend": extend}
"""Name of a remedy -> the fix."""
INSTEAD: Mapping[str, str] = {"extend": "shorten"}
"""Another fix for the same finding, where its elements are on a tooth."""
