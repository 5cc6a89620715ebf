"""Where the demonstration's generator is: ``dryfit/demo`` in a wheel, ``demo.blend-generator`` in a checkout."""

from __future__ import annotations

import importlib
import importlib.util
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from .model.errors import DryfitError

if TYPE_CHECKING:
    from types import ModuleType

    from .model.progress import Job

PACKAGE = f"{__package__}.demo"
PLACES = (Path(__file__).parent / "demo", Path(__file__).parents[2] / "demo.blend-generator")


class DemoMissing(DryfitError):
    """This copy of Dryfit came without its demonstration."""

    def __init__(self) -> None:
        places = " or ".join(map(str, PLACES))
        super().__init__(f"The demonstration is not in {places}. Install Dryfit with pip, or run from a full checkout.")


def demo_package() -> ModuleType:
    """Return the generator as the package ``dryfit.demo``, wherever it lies.

    Raises
    ------
    DemoMissing
        When this copy of Dryfit has none.
    """
    if PACKAGE in sys.modules:
        return sys.modules[PACKAGE]
    entry = next((place / "__init__.py" for place in PLACES if (place / "__init__.py").is_file()), None)
    if entry is None:
        raise DemoMissing
    spec = importlib.util.spec_from_file_location(PACKAGE, entry, submodule_search_locations=[str(entry.parent)])
    if spec is None or spec.loader is None:
        raise DemoMissing
    package = importlib.util.module_from_spec(spec)
    sys.modules[PACKAGE] = package
    spec.loader.exec_module(package)
    return package


def demo_module(name: str) -> ModuleType:
    """Return one module of the generator, for instance ``variant_snapshots``.

    Raises
    ------
    DemoMissing
        When this copy of Dryfit has none.
    """
    demo_package()
    return importlib.import_module(f"{PACKAGE}.{name}")


def build_demo(out_dir: str | Path, only: str | None = None, snapshots: bool = False) -> Job[tuple[Path, ...]]:
    """Build the six designs in a folder; see the generator's ``building.build_demo``.

    Raises
    ------
    DemoMissing
        When this copy of Dryfit has none.
    DryfitError
        When ``bpy`` is missing and no snapshots are asked for, or the folder cannot be written.
    """
    written: tuple[Path, ...] = yield from demo_module("building").build_demo(out_dir, only, snapshots)
    return written
