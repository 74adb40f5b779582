#!/usr/bin/env python3
"""Reads what the program prints as its user does: help, lists, a checked case, a run, a stall and each study. Fails
on words that the project's terms replace, on lines of more than 100 columns, on a number without a space before its
unit and on 1/min.

    plain_words.py PROGRAM FOLDER ROOT     all commands but verify
    plain_words.py PROGRAM FOLDER ROOT verify
"""
import pathlib
import re
import shutil
import subprocess
import sys

COLUMNS = 100
INSTEAD = {  # what is discouraged: the term to use
    r"\btrapped\b": "in-cylinder lambda",
    r"blown (back )?out": "standoff",
    r"charges? (that )?did not light|do(es)? not light": "misfires",
    r"at the shaft|of the gas\b": "brake torque, indicated torque",
    r"of what moved|closes? to\b": "balance error (relative)",
    r"\bgoes? round\b|\bdoes not settle\b": "does not converge, oscillates",
    r"\btaken? ahead\b": "extrapolated",
    r"\byardstick\b": "ideal-mixture reference",
    r"\bnobody can\b": "not a steady operating point",
    r"to the rich side|how far it reaches": "change of lambda for one size richer",
    r"\bfelt from\b": "effective from",
    r"\bhas the lead\b|\blead passes\b": "dominant circuit",
    r"\bwho feeds\b": "fuel share by circuit",
    r"\bfrom fouling\b": "margin to the rich limit",
    r"\boff the target\b": "mean lambda error",
    r"as far as the model can tell": "no significant difference",
    r"\bside by side\b": "SIMD lanes",
    r"\bledger\b|\btotals told\b": "accumulators",
    r"\banew\b": "Restart",
    r"\bstrips\b": "graphs",
    r"look closer|from farther": "zoom in, zoom out",
    r"\bfloat datum\b": "bowl joint face",
    r"full-throttle cut": "plug chop",
    r"[Tt]ried and left": "Rejected",
    r"\b(at the|from the) (top|bottom)\b": "the altitude",
    r"still has to go|on (its|their) way\b|\bstands? in the way\b": "plain words",
    r"\bhardly\b": "a number",
    r"\bwakes?\b|\bwoken\b": "begins to deliver",
    r"json\.exception|parse_error": "the program's own words",
}
PER_MINUTE = re.compile(r"\b1/min\b")
UNITS = r"(?:mm2?|cm[23]|kPa|Pa|rpm|ms|deg[CF]?|°C|N m|kW|g/s|kg|rad/s|K|Hz|%|kN|N)"
JOINED = re.compile(r"(?<![\w.=/-])[-+]?\d+(?:\.\d+)?" + UNITS + r"(?![\w/])")
# A line of a printed case keeps key, value and comment together: it is read again as a case.
CASE_LINE = re.compile(r"^[a-z_]+ = .*  # ")


def problems_of(text):
    found = []
    for number, line in enumerate(text.split("\n"), 1):
        if len(line) > COLUMNS and not CASE_LINE.match(line):
            found.append(f"line {number} has {len(line)} columns: {line}")
        if PER_MINUTE.search(line):
            found.append(f"line {number}: rpm, not 1/min: {line}")
        if joined := JOINED.search(line):
            found.append(f"line {number}: a space belongs before the unit in \"{joined[0]}\": {line}")
        found += [f"line {number}: \"{word[0]}\", better: {better}: {line}"
                  for pattern, better in INSTEAD.items() if (word := re.search(pattern, line))]
    return found


def can_fail():
    """Each rule on a line that breaks it, and on one that keeps it."""
    bad = ["mean 3438 1/min", "power left 70%", "gap of 0.5mm", "x" * 101, "4.0e-13 of what moved", "cylinder 1, trapped",
           "level (float datum 0)", "5 charges do not light", "right at the top", "0.084 g blown back out"]
    good = ["mean 3438 rpm, 70 % at 0.5 mm", "main_jet=1.65 butterfly_36.toml v_twin_750 5e-3 2.5K_1", "x" * 100,
            'bore = "30 mm"  # ' + "x" * 120]
    return [f"not noticed: {line[:60]}" for line in bad if not problems_of(line)] + \
           [f"refused without reason: {line[:60]}: {problems_of(line)}" for line in good if problems_of(line)]


def commands():
    """Exit code and words of each."""
    some = ["--speeds", "2500, 4500 rpm", "--openings", "5, 100 %", "--no-charts"]
    one = ["--openings", "5, 30, 100 %", "--speeds", "3000 rpm", "--no-charts"]
    names = ["run", "check", "new", "measure", "list", "verify", "map", "overlap", "blips", "altitude", "jets", "sheet",
             "compare", "repeat"]
    yield from ((0, [name, "--help"]) for name in names)
    for words in ([], ["--help"], ["list"], ["list", "keys"], ["list", "channels", "blip_piston"]):
        yield 0, words
    yield 0, ["check", "bikes/mule_750", "--no-computation"]
    yield 0, ["run", "blip", "--no-trace"]
    yield 0, ["run", "full_throttle_pull_piston", "--no-trace", "--set", "run.duration=1 s"]
    yield 1, ["run", "warm_idle", "--no-trace", "--set", "carburetor.slow.jet.blocked=90 %"]
    yield 0, ["map", "bikes/goat_400", *some, "--uncertain", "8"]
    yield 0, ["map", "bikes/goat_400", *some, "-o", "starved.h5", "--set", "carburetor.main.jet.blocked=99 %"]
    yield 0, ["overlap", "bikes/courier_650", *one]
    yield 0, ["blips", "bikes/mule_750", "--no-charts"]
    yield 0, ["altitude", "bikes/goat_400", *one, "--altitudes", "0, 2700 m", "--uncertain", "8", "--beside",
           "bikes/mule_750"]
    yield 0, ["jets", "bikes/goat_400", *some, "--altitudes", "2700 m", "--uncertain", "8", "--target", "full=13.2:1"]
    yield 0, ["compare", "bikes/goat_400", "bikes/mule_750", *some, "--altitudes", "0, 2700 m"]
    yield 2, ["jets", "bikes/goat_400", "--target", "full=13"]
    yield 2, ["map", "bikes/goat_400", "--speeds", "3000"]


def run(program, expected, words, folder):
    done = subprocess.run([program, *words], cwd=folder, capture_output=True, text=True, stdin=subprocess.DEVNULL,
                          timeout=500)
    shown = " ".join(["glassbowl", *words])
    code = [] if done.returncode == expected else [f"ends with {done.returncode}, not {expected}:\n{done.stderr}"]
    errors = "\n".join(line[:COLUMNS] for line in done.stderr.split("\n"))  # an error shows the user's own line whole
    return [f"{shown}: {problem}" for problem in code + problems_of(done.stdout) + problems_of(errors)]


def main():
    program, folder, root = (pathlib.Path(argument).resolve() for argument in sys.argv[1:4])
    problems = can_fail()
    number = re.search(r"no_fuel_lambda = ([\d.]+)", (root / "sim/api/no_fuel.hpp").read_text())
    if f"v > {float(number[1]):g} ?" not in (root / "viz/page/script.js").read_text():
        problems.append("viz/page/script.js says \"no fuel\" from another lambda on than sim/api/no_fuel.hpp")
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    count = 0
    if sys.argv[4:] == ["verify"]:
        problems += run(program, 0, ["verify"], folder)
        count = 1
    else:
        for expected, words in commands():
            problems += run(program, expected, words, folder)
            count += 1
    for problem in problems:
        print(problem)
    if not problems:
        print(f"the output of {count} commands is in order")
    return 1 if problems else 0


if __name__ == "__main__":
    sys.exit(main())
