"""Files that Blender reads a design from beside the one it opens, by kind of file."""

import json
import re
from pathlib import Path
from urllib.parse import unquote

from ..model.files_read import note_files
from .blender import BlenderID, blender
from .usd_units import TEXT

GLTF = ".gltf"
USD = (".usd", ".usda", ".usdc", ".usdz")
USD_TOKENS = re.compile(
    r'"""[\s\S]*?"""'
    r"|'''[\s\S]*?'''"
    r'|"(?:\\.|[^"\\\n])*"'
    r"|'(?:\\.|[^'\\\n])*'"
    r"|#[^\n]*"
    r"|@@@([\s\S]+?)@@@|@([^@\n]+)@"
)
"""Strings and comments, which are passed over, and paths to other files, as OpenUSD's text grammar writes them."""
USD_CLIPS = b"templateAssetPath"
"""Value clips name their layers by a pattern."""


def note_linked(path: Path) -> None:
    """Note what was read with the file that Blender has just opened."""
    suffix = path.suffix.lower()
    if suffix == GLTF:
        note_files(gltf_buffers(path))
    elif suffix in USD:
        note_files(*usd_layers(path))
    else:
        note_files(*blend_links())


def blend_links() -> tuple[list[Path], bool]:
    """Return every file that the open .blend draws on, and whether they are all.

    That is libraries, theirs too, caches, fonts and images, for a displacement may rest on one. What is packed into the
    .blend is not among them. A simulation's cache on disk is a folder, or has no name at all, and may hold anything.
    """
    names = blender().utils.blend_paths(absolute=True, packed=False, local=False)
    files = [Path(name) for name in names if name and not Path(name).is_dir()]
    return files, len(files) == len(names)


def missing_library_notes() -> list[str]:
    """Tell which libraries of the open .blend are not where it looks for them."""
    named = {library.filepath: _absolute(library) for library in blender().data.libraries if not library.packed_file}
    return [
        f"The library {name} is not there; what it holds was not measured."
        for name, path in sorted(named.items())
        if not path.is_file()
    ]


def _absolute(library: BlenderID) -> Path:
    return Path(blender().path.abspath(library.filepath, library=library.parent))


def gltf_buffers(file: Path) -> list[Path]:
    """Return the buffers that a ``.gltf`` names. A damaged file has none; reading it says what is wrong."""
    try:
        stated = json.loads(file.read_bytes())["buffers"]
        names = [unquote(buffer["uri"]) for buffer in stated if not buffer.get("uri", "data:").startswith("data:")]
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return []
    return [file.parent / name for name in names]


def usd_layers(file: Path) -> tuple[list[Path], bool]:
    """Return the layers and assets that a USD file is composed of, and whether they are all.

    OpenUSD's own library tells, where this Blender brings it to Python (4.4 and newer). Else, and where one of them
    is damaged, text layers are followed; a binary one does not tell what it draws on.
    """
    expose = getattr(blender().utils, "expose_bundled_modules", None)
    if expose is None:
        return _text_layers(file)
    expose()
    from pxr import Tf, UsdUtils  # type: ignore[import-not-found,unused-ignore]

    try:
        layers, assets, missing = UsdUtils.ComputeAllDependencies(str(file))
    except Tf.ErrorException:
        return _text_layers(file)[0], False
    names = [layer.realPath for layer in layers if layer.realPath] + [*assets, *missing]
    paths = [file.parent / _file_named(name) for name in names]
    return [path for path in paths if path.resolve() != file.resolve()], True


def _file_named(name: str) -> str:
    """Return the file of an asset path: the package, where it is something inside one."""
    return name.partition("[")[0]


def _text_layers(file: Path) -> tuple[list[Path], bool]:
    found: dict[Path, bool] = {}
    waiting = [file]
    while waiting:
        layer = waiting.pop()
        known, named = _named_in(layer)
        found[layer] = known
        waiting += [path for path in named if path not in found]
    return [path for path in found if path != file], all(found.values())


def _named_in(layer: Path) -> tuple[bool, list[Path]]:
    """Return whether a layer tells what it draws on, and that."""
    try:
        content = layer.read_bytes()
    except OSError:
        return True, []
    if not content.startswith(TEXT):
        return layer.suffix.lower() not in USD, []
    names = [thrice or once for thrice, once in USD_TOKENS.findall(content.decode("utf-8", "replace"))]
    return USD_CLIPS not in content, [layer.parent / _file_named(name) for name in names if name]
