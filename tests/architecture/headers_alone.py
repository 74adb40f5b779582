#!/usr/bin/env python3
"""Every header compiles by itself: whoever includes one needs to know of no other.

    headers_alone.py ROOT COMPILER [FOLDER...]     default: sim/api and models
"""
import concurrent.futures
import os
import pathlib
import subprocess
import sys

from project_files import project_files, tell

INCLUDES = ["/usr/include/eigen3", "/usr/include/hdf5/serial"]


def problem_of(root, compiler, header):
    options = ["-std=c++20", "-fsyntax-only", "-Wall", "-Wextra", "-Werror", "-Wno-pragma-once-outside-header", "-I", root,
               "-DGLASSBOWL_KERNEL=alone", "-DGLASSBOWL_LANES=2", "-Wno-psabi"]  # as the build defines for lanes
    for folder in INCLUDES:
        options += ["-isystem", folder]
    run = subprocess.run([compiler, *options, "-x", "c++", "-"], input=f'#include "{header}"\n', capture_output=True, text=True,
                         check=False)
    return None if run.returncode == 0 else f"{header}: does not compile alone: {run.stderr.splitlines()[0]}"


def check_headers(root, compiler, folders):
    headers = [str(f) for f in project_files(root) if f.suffix == ".hpp" and str(f).startswith(tuple(folders))]
    with concurrent.futures.ThreadPoolExecutor(os.cpu_count()) as pool:
        problems = list(filter(None, pool.map(lambda h: problem_of(root, compiler, h), headers)))
    return problems or ([] if headers else ["no headers there"]), len(headers)


def main():
    root = pathlib.Path(sys.argv[1]).resolve()
    problems, count = check_headers(root, sys.argv[2], [f.rstrip("/") + "/" for f in sys.argv[3:] or ("sim/api", "models")])
    return tell(problems, f"{count} headers compile alone")


if __name__ == "__main__":
    sys.exit(main())
