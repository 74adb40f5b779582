#!/usr/bin/env python3
"""Manual pages and completion as built: mandoc finds nothing in the pages, they and the completions hold every
command, option, key and channel, and bash completes.

    pages.py PROGRAM PAGES
"""
import gzip
import pathlib
import re
import subprocess
import sys

COMMON = "glassbowl"


def run(*words, **more):
    return subprocess.run(words, check=False, capture_output=True, text=True, **more)


def completed(script, *typed):
    """What bash offers for these words, the last of which is being typed."""
    words = " ".join(f"'{word}'" for word in typed)
    ask = (f"source {script}; compopt() {{ :; }}; COMP_WORDS=({words}); COMP_CWORD={len(typed) - 1}; "
           "_glassbowl; printf '%s\\n' \"${COMPREPLY[@]}\"")
    return run("bash", "-c", ask).stdout.split()


def main():
    program, pages = sys.argv[1], pathlib.Path(sys.argv[2]) / "program/share"
    problems = []

    def expect(true, what):
        if not true:
            problems.append(what)

    commands = re.findall(r"^  ([a-z]+) ", run(program, "--help").stdout.split("Subcommands:")[1], re.MULTILINE)
    manuals = {}
    for file in sorted((pages / "man").glob("*/*.gz")):
        manuals[file.name] = gzip.decompress(file.read_bytes()).decode("utf-8")
        lint = run("mandoc", "-T", "lint", "-W", "warning", input=manuals[file.name])
        expect(lint.returncode == 0 and not lint.stdout, f"{file.name}: {lint.stdout[:500]}")
    expect(len(commands) >= 12, "too few commands were found in the help")
    scripts = {"bash": (pages / f"bash-completion/completions/{COMMON}").read_text(encoding="utf-8"),
               "zsh": (pages / f"zsh/vendor-completions/_{COMMON}").read_text(encoding="utf-8"),
               "fish": (pages / f"fish/vendor_completions.d/{COMMON}.fish").read_text(encoding="utf-8")}
    for command in commands:
        page = manuals.get(f"glassbowl-{command}.1.gz", "")
        expect("workshop manual" in page and "seizes pistons" in page, f"the page of {command} lacks the caution")
        for option in re.findall(r"^  (?:-\w,)?--([a-z-]+)", run(program, command, "--help").stdout, re.MULTILINE):
            expect("\\-\\-" + option.replace("-", "\\-") in page, f"the page of {command} lacks --{option}")
            expect("--" + option in scripts["bash"] and "--" + option in scripts["zsh"]
                   and "-l " + option in scripts["fish"], f"a completion lacks --{option} of {command}")
        for shell, script in scripts.items():
            expect(re.search(rf"\b{command}\b", script), f"{shell} does not complete {command}")
    rendered = run("mandoc", "-T", "utf8", "-O", "width=200", input=manuals["glassbowl-case.5.gz"]).stdout
    rendered = re.sub(".\b", "", rendered)
    keys = re.findall(r"^([a-z_0-9]+) = ", run(program, "list", "keys").stdout, re.MULTILINE)
    for key in keys:
        expect(re.search(rf"^\s+{key}\b", rendered, re.MULTILINE), f"glassbowl-case(5) lacks {key}")
    trace = manuals["glassbowl-trace.5.gz"]
    for channel in re.findall(r"^  ([a-z_0-9]+)  ", run(program, "list", "channels").stdout, re.MULTILINE):
        expect(f".B {channel} [" in trace, f"glassbowl-trace(5) lacks {channel}")
    expect(len(keys) > 200, "too few keys were found in their list")

    bash = pages / f"bash-completion/completions/{COMMON}"
    for typed, offered in (((COMMON, "ju"), []), ((COMMON, "je"), ["jets"]), ((COMMON, "jets", "--alt"), ["--altitudes"]),
                           ((COMMON, "run", "warm"), ["warm_idle", "warm_idle_piston"]),
                           ((COMMON, "list", "cha"), ["channels"]),
                           ((COMMON, "run", "blip", "--set", "carburetor.main.jet.flow_r"),
                            ["carburetor.main.jet.flow_rating="])):
        expect(completed(bash, *typed) == offered, f"bash offers {completed(bash, *typed)} for {' '.join(typed)}")
    print("\n".join(problems) or f"{len(manuals)} pages, {len(commands)} commands, {len(keys)} keys")
    return 1 if problems else 0


if __name__ == "__main__":
    sys.exit(main())
