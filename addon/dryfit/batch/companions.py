"""Files that a variant is read from beside its own: the buffers of a .gltf."""

import json
from pathlib import Path
from urllib.parse import unquote


def companions(file: Path) -> tuple[Path, ...]:
    """Return the buffers that a ``.gltf`` names and that are there, in its order; nothing for other kinds of file.

    A damaged file has none; reading it says what is wrong.
    """
    if file.suffix.lower() != ".gltf":
        return ()
    try:
        stated = json.loads(file.read_bytes())["buffers"]
        names = [unquote(buffer["uri"]) for buffer in stated if not buffer.get("uri", "data:").startswith("data:")]
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return ()
    return tuple(path for name in names if (path := file.parent / name).is_file())
