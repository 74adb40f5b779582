#!/usr/bin/env python3
"""Writes what is installed beside the programs and follows from what they say of themselves: manual pages and
shell completion; and the package's changelog.

    make_pages.py OUTPUT VERSION DATE glassbowl=PROGRAM [glassbowl-view=PROGRAM]
"""
import datetime
import email.utils
import gzip
import json
import pathlib
import sys

import completions
import man_pages
from help_text import help_of, run

MAINTAINER = "the glassbowl authors <maintainers@glassbowl.invalid>"


def write(path, text, packed=False):
    path.parent.mkdir(parents=True, exist_ok=True)
    data = text.encode("utf-8")
    path.write_bytes(gzip.compress(data, 9, mtime=0) if packed else data)


def names_listed(program, what):
    return [line.split()[0] for line in run(program, "list", what).splitlines() if line.startswith("  ")]


def changelog(version, date):
    day = email.utils.format_datetime(datetime.datetime.fromisoformat(date).replace(tzinfo=datetime.timezone.utc))
    return (f"glassbowl ({version}) unstable; urgency=medium\n\n  * CHANGELOG.md.gz says what has changed, and which "
            f"figures moved.\n\n -- {MAINTAINER}  {day}\n")


def main():
    output, version, date = pathlib.Path(sys.argv[1]), sys.argv[2], sys.argv[3]
    programs = dict(word.split("=", 1) for word in sys.argv[4:])
    program = programs["glassbowl"]
    source = f"glassbowl {version}"
    schema = json.loads(run(program, "list", "keys", "--schema"))
    commands = {"": help_of(program)}
    for command in commands[""].commands():
        commands[command.names[0]] = help_of(program, command.names[0])

    see = [("glassbowl-case", 5), ("glassbowl-trace", 5)]
    pages = [man_pages.case_page(schema, source, date),
             man_pages.trace_page(run(program, "list", "channels"), source, date)]
    for command, help_ in commands.items():
        name = f"glassbowl {command}".strip()
        others = ([(f"glassbowl-{c}", 1) for c in commands if c] + [("glassbowl-view", 1)] if not command
                  else [("glassbowl", 1)])
        pages.append(man_pages.command_page(name, help_, source, date, others + see))
    helps = {"glassbowl": commands}
    if "glassbowl-view" in programs:
        helps["glassbowl-view"] = {"": help_of(programs["glassbowl-view"])}
        pages.append(man_pages.command_page("glassbowl-view", helps["glassbowl-view"][""], source, date,
                                            [("glassbowl", 1)] + see))
    for page in pages:
        write(output / f"program/share/man/man{page.section}/{page.name}.{page.section}.gz", page.text(), packed=True)

    keys = [f"{section}.{key}".strip(".") for section, entries in man_pages.keys_of(schema) for key in entries
            if key != "base"]
    root = pathlib.Path(__file__).resolve().parents[2]
    lessons = sorted(file.stem for file in (root / "cases/lessons").glob("*.toml"))
    words = completions.Words(names_listed(program, "runs") + names_listed(program, "bikes"), keys, lessons)
    for name, own in helps.items():
        write(output / f"program/share/bash-completion/completions/{name}", completions.bash(name, own, words))
        write(output / f"program/share/zsh/vendor-completions/_{name}", completions.zsh(name, own, words))
        write(output / f"program/share/fish/vendor_completions.d/{name}.fish", completions.fish(name, own, words))

    for component, package in (("program", "glassbowl"), ("development", "libglassbowl-dev"),
                               ("python", "python3-glassbowl")):
        doc = output / component / "share/doc" / package
        write(doc / "changelog.gz", changelog(version, date).replace("glassbowl (", f"{package} ("), packed=True)
        write(doc / "copyright", copyright_text((root / "LICENSE").read_text(encoding="utf-8")))
    write(output / "program/share/doc/glassbowl/CHANGELOG.md.gz", (root / "CHANGELOG.md").read_text(encoding="utf-8"),
          packed=True)


def copyright_text(licence):
    """The licence in the machine-readable form of Debian's copyright files."""
    title, rights, *terms = licence.strip().split("\n\n")
    body = "\n .\n".join("\n".join(" " + line for line in part.splitlines()) for part in terms)
    return ("Format: https://www.debian.org/doc/packaging-manuals/copyright-format/1.0/\nUpstream-Name: glassbowl\n\n"
            f"Files: *\nCopyright: {rights.removeprefix('Copyright (c) ')}\nLicense: Expat\n{body}\n")


if __name__ == "__main__":
    sys.exit(main())
