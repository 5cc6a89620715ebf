"""Damaged files of every kind that Blender reads, made from whole ones; a script for Blender's own module, in two parts.

``write PLACE`` exports one whole file of each kind; ``read PLACE NAME...`` reads files and prints a line of JSON for
each: its name, what came of it, and what was said.
"""

import gzip
import json
import os
import random
import re
import struct
import sys
from pathlib import Path

KINDS = ("obj", "ply", "text.ply", "stl", "text.stl", "glb", "gltf", "fbx", "usda", "usdc", "usdz", "blend",
         "packed.blend", "gzip.blend")  # fmt: skip
BRIEF = '[units]\nmesh_files = "mm"\n[base]\nfile = "performer.npz"\n[roles]\nappliance = ["*"]\n'
CUTS = (0.02, 0.1, 0.3, 0.5, 0.7, 0.9, 0.99, 0.999)
FOREIGN_WORDS = re.compile(r"Traceback|Error:|Import(er)?:|Warning:|/scripts/|\.py\b|\n")
"""What another program says, and no sentence to a user has."""
NUMBERS = (b"99999999", b"-1", b"4294967295", b"nan", b"1e308", b"0")


def damaged(whole, kind, seed=18):
    """Yield a few dozen names and contents: cut short, bits turned, bytes wiped, numbers and sizes that cannot be."""
    chance = random.Random(f"{seed} {kind}")
    yield from ((f"cut-{share}", whole[: int(len(whole) * share)]) for share in CUTS)
    yield from ((f"flipped-{number}", flipped(whole, chance, 1 + number % 8)) for number in range(12))
    head = min(len(whole), 400)
    yield from ((f"head-{number}", flipped(whole[:head], chance, 3) + whole[head:]) for number in range(8))
    yield from ((f"wiped-{number}", wiped(whole, chance, filler)) for number, filler in enumerate((0, 255, 0x7F)))
    yield from ((f"size-{number}", with_size(whole, chance)) for number in range(6))
    yield from ((f"number-{number}", with_number(whole, chance)) for number in range(6))
    yield "twice", whole + whole
    yield "tail", whole + bytes(chance.randrange(256) for _ in range(500))


def flipped(content, chance, count):
    turned = bytearray(content)
    for _ in range(count):
        turned[chance.randrange(len(turned))] ^= 1 << chance.randrange(8)
    return bytes(turned)


def wiped(content, chance, filler):
    start = chance.randrange(len(content))
    return content[:start] + bytes([filler]) * min(200, len(content) - start) + content[start + 200 :]


def with_size(content, chance):
    """Put a huge number where a size may stand."""
    place = chance.randrange(max(1, len(content) - 8))
    huge = struct.pack("<I", chance.choice((0xFFFFFFFF, 0x7FFFFFFF, 0x10000000)))
    return content[:place] + huge + content[place + 4 :]


def with_number(content, chance):
    """Put a number that cannot be in the place of one in the text, near the start, where counts stand."""
    found = list(re.finditer(rb"(?<![\w.])\d+(?![\w.])", content[:4000])) or [re.match(rb"", content)]
    place = chance.choice(found)
    return content[: place.start()] + chance.choice(NUMBERS) + content[place.end() :]


def write_whole(place):
    import bpy

    def scene(scale):
        bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)
        bpy.ops.mesh.primitive_grid_add(x_subdivisions=12, y_subdivisions=12, size=60.0 * scale)
        item = bpy.context.object
        item.name = "Brow"
        item["dryfit_role"] = "appliance"
        for point in item.data.vertices:
            point.co.z = 0.1 * (30.0 * scale - max(abs(point.co.x), abs(point.co.y)))
        item.shape_key_add(name="Basis")
        item.shape_key_add(name="Raised").data[5].co.z += scale
        return item

    scene(1.0)
    for kind in ("obj", "ply", "stl"):
        getattr(bpy.ops.wm, f"{kind}_export")(filepath=str(place / f"whole.{kind}"))
        if kind != "obj":
            getattr(bpy.ops.wm, f"{kind}_export")(filepath=str(place / f"whole.text.{kind}"), ascii_format=True)
    scene(0.001)
    for packed, name in ((False, "whole"), (True, "whole.packed")):
        bpy.ops.wm.save_as_mainfile(filepath=str(place / f"{name}.blend"), compress=packed, copy=True)
    (place / "whole.gzip.blend").write_bytes(gzip.compress((place / "whole.blend").read_bytes()))
    for kind in ("usda", "usdc", "usdz") if "usd_export" in dir(bpy.ops.wm) else ():
        bpy.ops.wm.usd_export(filepath=str(place / f"whole.{kind}"))
    bpy.ops.export_scene.fbx(filepath=str(place / "whole.fbx"))
    bpy.ops.export_scene.gltf(filepath=str(place / "whole.glb"))
    bpy.ops.export_scene.gltf(filepath=str(place / "whole.gltf"), export_format="GLTF_SEPARATE")


def write(place, names):
    """Export whole files, a performer to wear them, and what is made of them for the kinds asked for."""
    import numpy as np

    from dryfit.model.snapshot import Part, Snapshot
    from dryfit.model.snapshot_file import save_snapshot

    write_whole(place)
    (place / "brief.toml").write_text(BRIEF)
    x, y = (axis.ravel() for axis in np.meshgrid(*2 * [np.linspace(-80.0, 80.0, 11)], indexing="ij"))
    grid = np.arange(121).reshape(11, 11)
    first = np.stack([grid[:-1, :-1], grid[1:, :-1], grid[1:, 1:]], axis=-1).reshape(-1, 3)
    second = np.stack([grid[:-1, :-1], grid[1:, 1:], grid[:-1, 1:]], axis=-1).reshape(-1, 3)
    head = Part("Scan", "base", np.stack([x, y, 0 * x], axis=1), np.concatenate([first, second]))
    save_snapshot(Snapshot("performer", parts=(head,)), place / "performer.npz")
    for kind in names:
        whole = place / f"whole.{kind}"
        for name, content in damaged(whole.read_bytes(), kind) if whole.exists() else ():
            (place / f"{name}.{kind}").write_bytes(content)


def read(place, names):
    import dryfit
    from dryfit.model.expendable import mark_expendable

    mark_expendable()
    brief = dryfit.load_brief(place / "brief.toml")
    for name in names:
        print("\n" + json.dumps([name, "begun", ""]), flush=True)
        try:
            snapshot = dryfit.load_snapshot(place / name, brief)
            words = ["read", ", ".join(part.name for part in snapshot.parts)]
        except dryfit.DryfitError as error:
            words = ["refused", str(error)]
        except Exception as fault:
            words = ["fault", f"{type(fault).__name__}: {fault}"]
        print("\n" + json.dumps([name, *words]), flush=True)


if __name__ == "__main__":
    {part.__name__: part for part in (write, read)}[sys.argv[1]](Path(sys.argv[2]), sys.argv[3:])
    sys.stdout.flush()
    os._exit(0)
