"""Measure Dryfit on this machine.

python scripts/bench.py checks    a whole check on a design of 200k triangles, and start-up
python scripts/bench.py batch     folders of 10, 100 and 1,000 small variants
python scripts/bench.py growth    closure, coverage and interference on up to 500k triangles
python scripts/bench.py peers     the geometry kernel against other libraries
python scripts/bench.py night     a folder of full designs, with the code of a commit and with this one
python scripts/bench.py page      the comparison page of 500 variants in a browser
python scripts/bench.py room      the room of the real head with five motions, on growing bases
"""

from __future__ import annotations

import argparse

import bench_batch
import bench_checks
import bench_growth
import bench_large
import bench_night
import bench_page
import bench_peers
import bench_room


def main() -> int:
    parser = argparse.ArgumentParser(description="Measure Dryfit on this machine.")
    commands = parser.add_subparsers(dest="command", required=True)
    bench_batch.add_to(commands)
    bench_checks.add_to(commands)
    bench_growth.add_to(commands)
    bench_large.add_to(commands)
    bench_night.add_to(commands)
    bench_peers.add_to(commands)
    bench_page.add_to(commands)
    bench_room.add_to(commands)
    chosen = parser.parse_args()
    return int(chosen.run(chosen))


if __name__ == "__main__":
    raise SystemExit(main())
