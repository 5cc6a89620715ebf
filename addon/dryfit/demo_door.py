"""The way to the demonstration's generator, in a checkout or inside an installed package."""

import importlib
import importlib.util
import sys
from pathlib import Path
from types import ModuleType

from .model.errors import DryfitError
from .model.progress import Job

HERE = Path(__file__).resolve().parent
PLACES = (HERE / "demo", HERE.parent.parent / "demo.blend-generator")
NAME = f"{__package__}.demo"


class NoDemo(DryfitError):
    """The generator is not part of this installation, as in the Blender extension."""

    def __init__(self) -> None:
        super().__init__("The demonstration's generator is not installed here. Use a checkout, or pip install dryfit.")


def demo_package() -> ModuleType:
    """Import the generator as the package ``dryfit.demo``, wherever it lies.

    Raises
    ------
    NoDemo
        When it is nowhere.
    """
    if NAME in sys.modules:
        return sys.modules[NAME]
    for place in PLACES:
        spec = importlib.util.spec_from_file_location(
            NAME, place / "__init__.py", submodule_search_locations=[str(place)]
        )
        if spec and spec.loader and (place / "__init__.py").is_file():
            package = importlib.util.module_from_spec(spec)
            sys.modules[NAME] = package
            spec.loader.exec_module(package)
            return package
    raise NoDemo


def build_demo(folder: Path) -> Job[tuple[Path, ...]]:
    """Build the demonstration in a folder: designs, brief and expected figures.

    Yields
    ------
    Progress
        Designs built.

    Raises
    ------
    NoDemo
        When the generator is not installed.
    InputError
        When Blender's module is missing or the folder cannot be written.
    """
    demo_package()
    build = importlib.import_module(".build", NAME)
    written: tuple[Path, ...] = yield from build.build_demo(folder)
    return written
