"""Every measurement, one after the other: `make bench`."""

import runpy
from pathlib import Path


def main() -> None:
    for path in sorted(Path(__file__).parent.glob("bench_*.py")):
        print(f"\n{path.stem.removeprefix('bench_')}", flush=True)
        runpy.run_module(f"tests.bench.{path.stem}", run_name="__main__")


if __name__ == "__main__":
    main()
