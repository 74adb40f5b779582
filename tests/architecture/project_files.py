"""The project's files, for the checks of this folder. Standard library only."""
import os
import pathlib
import subprocess

NOT_OURS = {".git", ".cache", "build"}
TEXT = {".cpp", ".hpp", ".py", ".toml", ".md", ".txt", ".cmake", ".json", ".csv", ""}


def project_files(root):
    """Paths relative to `root`: what git keeps or would keep; without git, all but build folders."""
    root = pathlib.Path(root).resolve()
    try:
        listing = subprocess.run(
            ["git", "-c", f"safe.directory={root}", "-C", root, "ls-files", "-z", "--cached", "--others",
             "--exclude-standard"], capture_output=True, check=True).stdout.decode()
        paths = [pathlib.PurePosixPath(name) for name in listing.split("\0") if name]
    except (OSError, subprocess.CalledProcessError):
        paths = []
        for folder, folders, names in os.walk(root):
            folders[:] = [name for name in folders if name not in NOT_OURS]
            here = pathlib.Path(folder).relative_to(root)
            paths += [pathlib.PurePosixPath((here / name).as_posix()) for name in names]
    return sorted({path for path in paths if (root / path).is_file()})


def lines_of(root, path):
    """Numbered lines of a text file; none of any other."""
    if path.suffix not in TEXT:
        return []
    text = (pathlib.Path(root) / path).read_text(encoding="utf-8")
    return list(enumerate(text.split("\n"), start=1))


def tell(problems, passed):
    """Prints problems, or what was found in order; returns the exit code."""
    for problem in problems:
        print(problem)
    if not problems:
        print(passed)
    return 1 if problems else 0
