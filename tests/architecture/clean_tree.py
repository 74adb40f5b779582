#!/usr/bin/env python3
"""What the tree holds: known names at the root, file names in snake_case, the licence, and text without
leftovers: marks of unfinished work, paths of one machine, tabs, trailing space.

    clean_tree.py ROOT
"""
import pathlib
import re
import sys

from project_files import lines_of, project_files, tell

AT_ROOT = {"CMakeLists.txt", "CMakePresets.json", "README.md", "DEVELOPERS.md", "CHANGELOG.md", "LICENSE", ".ci",
           "sim", "viz", "models", "tests", "cases"}
CODE_FOLDERS = {"sim", "viz", "models", "tests", "cases"}
FREE_NAMES = {"CMakeLists.txt", "README.md"}
NAME = re.compile(r"[a-z0-9]+(_[a-z0-9]+)*(\.[a-z0-9]+)*")

UNFINISHED = re.compile(r"\b(TO[D]O|FIX[M]E|X{3}|HAC[K]|WI[P])\b")  # in brackets, so as not to find itself
MACHINE_PATH = re.compile(r"(?<![\w.$}])/(work|home|root|mnt|Users|private)/\w")


def check_names(files):
    problems = []
    for file in files:
        top = file.parts[0]
        if top not in AT_ROOT and not (len(file.parts) == 1 and top.startswith(".")):
            problems.append(f"{file}: nothing of that name belongs at the root")
        if top in CODE_FOLDERS:
            for part in file.parts:
                if part not in FREE_NAMES and not NAME.fullmatch(part):
                    problems.append(f"{file}: \"{part}\" is not snake_case")
    return problems


def check_text(root, files):
    problems = []
    for file in files:
        try:
            lines = lines_of(root, file)
        except UnicodeDecodeError:
            problems.append(f"{file}: not UTF-8")
            continue
        if lines and lines[-1][1] != "":
            problems.append(f"{file}:{lines[-1][0]}: no newline at the end")
        for number, line in lines:
            for what, found in (("unfinished", UNFINISHED.search(line)),
                                ("a path of one machine", MACHINE_PATH.search(line)),
                                ("a tab", "\t" in line),
                                ("space at the end", line != line.rstrip())):
                if found:
                    problems.append(f"{file}:{number}: {what}: {line.strip()}")
    return problems


def check_licence(root):
    licence = root / "LICENSE"
    text = licence.read_text(encoding="utf-8") if licence.is_file() else ""
    problems = []
    if not text.startswith("MIT License") or "WITHOUT WARRANTY OF ANY KIND" not in text:
        problems.append("LICENSE: the MIT licence is not there whole")
    if "the glassbowl authors" not in text:
        problems.append("LICENSE: does not name the glassbowl authors")
    readme = root / "README.md"
    if not readme.is_file() or "(LICENSE)" not in readme.read_text(encoding="utf-8"):
        problems.append("README.md: does not lead to LICENSE")
    return problems


def main():
    root = pathlib.Path(sys.argv[1]).resolve()
    files = project_files(root)
    return tell(check_names(files) + check_text(root, files) + check_licence(root),
                f"{len(files)} files are in order")


if __name__ == "__main__":
    sys.exit(main())
