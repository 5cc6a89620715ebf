"""The unit of a USD file, for Blenders whose importer does not apply it (4.2).

USD states ``metersPerUnit`` in its root layer; where it does not, the standard says centimetres.
"""

import re
import zipfile
from pathlib import Path

from ..model.errors import UnreadableFile
from ..model.snapshot_file import said_shortly
from ..model.unpacked_size import require_bounded, zip_size
from .blender import blender

TEXT = b"#usda"
HEADER_BYTES = 4096
UNSTATED = 0.01
METRES = re.compile(r"^\s*metersPerUnit\s*=\s*([0-9.eE+-]+)", re.MULTILINE)


def require_usd(path: Path) -> None:
    """Raise where this Blender was built without USD, as some distributions' are.

    Raises
    ------
    UnreadableFile
    """
    if "usd_import" not in dir(blender().ops.wm):
        version = blender().app.version_string
        raise UnreadableFile(str(path), f"this Blender {version} was built without USD; use glTF, or another Blender")


def require_stored(path: Path) -> None:
    """Raise where a USDZ archive packs its files, which the format does not allow, or is none.

    Raises
    ------
    UnreadableFile
    """
    try:
        with zipfile.ZipFile(path) as archive:
            require_bounded(path, zip_size(archive))
            packed = [member.filename for member in archive.infolist() if member.compress_type != zipfile.ZIP_STORED]
    except (OSError, zipfile.BadZipFile, NotImplementedError) as error:
        raise UnreadableFile(str(path), f"it is damaged, or no .usdz file ({said_shortly(error)})") from error
    if packed:
        raise UnreadableFile(
            str(path),
            f"{len(packed)} of its files are packed, and those of a .usdz lie in it as they are; export it again",
        )


def blender_applies_usd_unit() -> bool:
    """Tell whether Blender's own importer turns USD units into metres; needs a Blender with USD."""
    properties = blender().ops.wm.usd_import.get_rna_type().properties
    return "apply_unit_conversion_scale" in {entry.identifier for entry in properties}


def usd_metres_per_unit(path: Path) -> float:
    """Return the metres in one unit of a USD file in text form.

    Raises
    ------
    UnreadableFile
        When it is binary, which only newer Blenders can tell the unit of.
    """
    with path.open("rb") as stream:
        begin = stream.read(HEADER_BYTES)
    if not begin.startswith(TEXT):
        version = blender().app.version_string
        raise UnreadableFile(
            str(path),
            f"Blender {version} does not tell the unit of binary USD; use Blender 4.5 or newer, or glTF",
        )
    header = begin.decode("utf-8", "replace").split("\ndef ", 1)[0]
    stated = METRES.search(header)
    return float(stated.group(1)) if stated else UNSTATED
