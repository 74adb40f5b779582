#!/usr/bin/env python3
"""Dependencies run one way: cases -> sim -> models, viz -> sim/api. Names file and line of what points back.

    include_direction.py ROOT
"""
import pathlib
import re
import sys
import tomllib

from project_files import lines_of, project_files, tell

INCLUDE = re.compile(r'\s*#\s*include\s*([<"])([^>"]+)[>"]')
OURS = {"models", "sim", "viz", "tests"}

# Rooms of sim/, lowest first: each may include those before it. What sim/api declares is defined where it is done, or
# in its own .cpp files, which stand above all rooms but the command line.
ROOMS = ("api", "output", "cases", "bike", "lanes", "network", "solver", "lockstep", "steady", "trace", "run", "report",
         "points", "studies", "live", "validation", "interview", "cli")

# Folder, longest first: which of our folders it may include, and which other libraries beside the standard one.
# None: any.
RULES = {
    "sim/api": ({"models", "sim/api"}, set()),
    "sim": ({"models", "sim"}, None),
    "viz": ({"viz", "sim/api"}, None),
    "models": ({"models"}, {"Eigen", "experimental"}),
    "tests": ({"models", "sim", "viz", "tests"}, None),
}
GRAPHICS = {"SFML", "imgui.h", "imgui_internal.h"}


def under(path, folder):
    return path == folder or path.startswith(folder + "/")


def room_problem(root, room, target):
    if room not in ROOMS:
        return f"sim/{room} is no room that this check knows: name it in ROOMS, after those that it builds on"
    if not under(target, "sim"):
        return None
    if not (root / target).is_file():
        return "there is no such file, seen from the project's root"
    below = ROOMS[:ROOMS.index(room) + 1]
    return None if target.split("/")[1] in below else f"sim/{room} may only include rooms before it: {', '.join(below)}"


def problem_of(root, file, quote, target):
    if file.startswith("sim/api/") and file.endswith(".cpp"):
        return room_problem(root, "cli", target)
    folder = next((f for f in RULES if under(file, f)), None)
    if folder is None:
        return "belongs to no folder that may hold code"
    ours, others = RULES[folder]
    top = target.split("/")[0]
    if quote == '"' or top in OURS:
        if not (root / target).is_file():
            return "there is no such file, seen from the project's root"
        if not any(under(target, allowed) for allowed in ours):
            return f"{folder} may only include {', '.join(sorted(ours))}"
        return room_problem(root, file.split("/")[1], target) if under(file, "sim") else None
    if top in GRAPHICS and folder not in ("viz", "tests"):
        return "only viz knows a screen"
    standard = "/" not in target and "." not in target
    if not standard and others is not None and top not in others:
        return f"{folder} knows no library but " + ", ".join(["the standard one"] + sorted(others))
    return None


def check_includes(root, files):
    problems = []
    for file in files:
        if file.suffix not in (".hpp", ".cpp"):
            continue
        for number, line in lines_of(root, file):
            found = INCLUDE.match(line)
            reason = found and problem_of(root, str(file), found[1], found[2])
            if reason:
                problems.append(f"{file}:{number}: {line.strip()}: {reason}")
    return problems


def check_cases(root, files):
    """Cases are data, and refer to cases only."""
    problems = []
    for file in files:
        if file.parts[0] != "cases":
            continue
        if file.suffix not in (".toml", ".md") and file.name != "case.schema.json":
            problems.append(f"{file}: a case is TOML")
        if file.suffix != ".toml":
            continue
        bases = tomllib.loads((root / file).read_text(encoding="utf-8")).get("base", [])
        for base in [bases] if isinstance(bases, str) else bases:
            target = (root / file.parent / base).resolve()
            if not target.is_relative_to(root / "cases") or pathlib.PurePath(base).is_absolute():
                problems.append(f"{file}: base = \"{base}\": leads out of cases/")
    return problems


def main():
    root = pathlib.Path(sys.argv[1]).resolve()
    files = [file for file in project_files(root)]
    code = sum(file.suffix in (".hpp", ".cpp") for file in files)
    cases = sum(file.parts[0] == "cases" for file in files)
    if not code or not cases:
        return tell([f"{root}: no code or no cases here"], "")
    return tell(check_includes(root, files) + check_cases(root, files),
                f"{code} files of code and {cases} of cases point the right way")


if __name__ == "__main__":
    sys.exit(main())
