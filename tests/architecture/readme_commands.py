#!/usr/bin/env python3
"""Runs what README.md tells its reader to type, in a folder of its own: the lines of every sh block, the python
blocks, after writing every toml block under the name in its first line. Commands of .ci/ build and test, so that
they are not run from within a test; they must be there.

    readme_commands.py ROOT PROGRAM FOLDER
"""
import os
import pathlib
import re
import shutil
import subprocess
import sys

BLOCK = re.compile(r"^```(sh|python|toml)\n(.*?)^```$", re.MULTILINE | re.DOTALL)


def run(command, shell, folder, environment):
    done = subprocess.run(command, shell=shell, cwd=folder, env=environment, capture_output=True, text=True,
                          stdin=subprocess.DEVNULL, timeout=300)
    return done.returncode, done.stdout + done.stderr


def run_readme(text, root, program, folder):
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    environment = dict(os.environ, PATH=f"{program.parent}:{os.environ['PATH']}")
    count = 0
    for kind, block in BLOCK.findall(text):
        if kind == "toml":
            name = re.match(r"# (\w+\.toml)", block)
            if not name:
                return [f"a toml block begins with its file's name: {block.splitlines()[0]}"], count
            (folder / name[1]).write_text(block, encoding="utf-8")
            continue
        commands = [["/usr/bin/python3", "-c", block]] if kind == "python" else block.splitlines()
        for command in commands:
            script = kind == "sh" and re.match(r"bash (\.ci/\w+)", command)
            if script:
                if not (root / script[1]).is_file():
                    return [f"there is no {script[1]}"], count
                continue
            code, output = run(command, kind == "sh", folder, environment)
            count += 1
            if code != 0:
                return [f"{command if kind == 'sh' else block}\nends with {code}:\n{output}"], count
    return ([] if count else ["README.md shows no commands"]), count


def main():
    root, program, folder = (pathlib.Path(argument).resolve() for argument in sys.argv[1:4])
    problems, count = run_readme((root / "README.md").read_text(encoding="utf-8"), root, program, folder)
    for problem in problems:
        print(problem)
    if not problems:
        print(f"{count} commands of README.md did what they should")
    return 1 if problems else 0


if __name__ == "__main__":
    sys.exit(main())
