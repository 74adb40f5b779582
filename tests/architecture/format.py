#!/usr/bin/env python3
"""Code is formatted as .clang-format says; names what is not.

    format.py ROOT CLANG_FORMAT
"""
import pathlib
import subprocess
import sys

from project_files import project_files, tell


def check_format(root, program, files):
    code = [str(file) for file in files if file.suffix in (".hpp", ".cpp")]
    if not code:
        return ["no code here"], 0
    problems = []
    for begin in range(0, len(code), 16):  # few enough for a command line, enough not to be slow
        some = code[begin:begin + 16]
        run = subprocess.run([program, "--style=file", "--dry-run", "-Werror", *some], cwd=root,
                             capture_output=True, text=True)
        lines = [line for line in run.stderr.splitlines() if "error:" in line]
        problems += lines or ([run.stderr] if run.returncode else [])
    return problems, len(code)


def main():
    root = pathlib.Path(sys.argv[1]).resolve()
    problems, count = check_format(root, sys.argv[2], project_files(root))
    return tell(problems, f"{count} files are formatted")


if __name__ == "__main__":
    sys.exit(main())
