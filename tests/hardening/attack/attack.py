#!/usr/bin/env python3
"""Tries to make the program write where it should not, lose what is there, hang or crash. One file for each class.

    attack.py --program build/release/bin/glassbowl [--view .../glassbowl-view] [--times 10] [--seed 1] [CLASS...]

A class is a module with a function `attack(tools)`; one that is not named in CLASSES is no part of it. A round
of `--times 0.15` is among the tests. Ends with 1 and names them if there are holes.
"""
import argparse
import importlib
import pathlib
import sys
import time

from workshop import Tools

CLASSES = ["names", "links", "pipes", "races", "full_disks", "kills", "escapes"]


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--program", required=True, type=lambda name: pathlib.Path(name).resolve())
    parser.add_argument("--view", type=lambda name: pathlib.Path(name).resolve())
    parser.add_argument("--times", type=float, default=1.0, help="how much more than a short round")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("classes", nargs="*", metavar="CLASS", help=", ".join(CLASSES))
    given = parser.parse_args()
    if unknown := set(given.classes) - set(CLASSES):
        parser.error(f"no such class: {', '.join(sorted(unknown))}")
    passed = failed = 0
    for name in given.classes or CLASSES:
        tools = Tools(given.program, given.view, given.times, given.seed)
        began = time.monotonic()
        importlib.import_module(name).attack(tools)
        print(f"{name}: {tools.tries} checks in {time.monotonic() - began:.0f} s, {len(tools.holes)} holes", flush=True)
        for hole in tools.holes[:20]:
            print(f"  {hole}")
        passed += tools.tries - len(tools.holes)
        failed += len(tools.holes)
    print(f"{passed} passed, {failed} failed")
    return 1 if failed or not passed else 0


if __name__ == "__main__":
    sys.exit(main())
