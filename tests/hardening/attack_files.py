#!/usr/bin/env python3
"""Gives the program files and surroundings made to hold it, fill its memory, or crash it: bytes behind a seal,
compression bombs, virtual datasets over pipes, studies that ask for too much, flipped bytes, closed standard streams,
and limits on threads and memory.

    attack_files.py --program build/release/bin/glassbowl --hostile build/release/bin/hostile_files
                    [--view .../glassbowl-view] [--times 1] [--seed 1] [CLASS...]

The short round is among the tests. Ends with 1 and names them if there are holes.
"""
import argparse
import json
import os
import pathlib
import random
import resource
import shutil
import subprocess
import sys
import tempfile
import time

LONGEST = 40.0  # [s] for any one try: each takes a fraction of a second on a machine with nothing else to do
MAP = ["--speeds", "3000 rpm", "--openings", "30 %", "--no-charts"]


class Tools:
    def __init__(self, given):
        self.given, self.random = given, random.Random(given.seed)
        self.folder = pathlib.Path(tempfile.mkdtemp(prefix="glassbowl_attack_"))
        self.tries, self.holes = 0, []
        held = ["load.kind=held_speed", "load.speed=3000 rpm", "run.settle=0.2s", "run.duration=0.2s"]
        self.run(["run", "blip", *(word for one in held for word in ("--set", one)), "-o", "sound.h5"])
        self.run(["map", "bikes/goat_400", *MAP, "-o", "study.h5"])
        assert self.path("sound.h5").exists() and self.path("study.h5").exists()

    def path(self, name):
        return self.folder / name

    def count(self, usual):
        return max(1, round(usual * self.given.times))

    def copy(self, source, name):
        shutil.copyfile(self.path(source), self.path(name))
        return self.path(name)

    def run(self, words, limits=(), closed=(), program=None, nobody=False):
        """Exit code (None: it was held), what it said, and how long it took."""
        def prepare():
            if nobody and os.geteuid() == 0:  # whoever may do everything has no limit on threads
                os.setuid(65534)
            for what, most in limits:
                resource.setrlimit(what, (most, most))
            for stream in closed:
                os.close(stream)
        begin = time.monotonic()
        child = subprocess.Popen([program or self.given.program, *words], cwd=self.folder, preexec_fn=prepare,
                                 stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
        try:
            out, err = child.communicate(timeout=LONGEST)
            code = child.returncode
        except subprocess.TimeoutExpired:
            child.kill()
            out, err = child.communicate()
            code = None
        return code, err.decode(errors="replace"), time.monotonic() - begin

    def hostile(self, *words):
        subprocess.run([self.given.hostile, *map(str, words)], cwd=self.folder, check=True, timeout=120)

    def check(self, sound, what, end):
        self.tries += 1
        if not sound:
            self.holes.append(f"{what}: code {end[0]}, {end[2]:.1f} s, {end[1].strip()[:200]!r}")

    def refused(self, words, what, said=""):
        end = self.run(words)
        self.check(end[0] in (1, 2) and said in end[1] and end[1].count("glassbowl: ") == 1, what, end)


def tails(tools):
    """Any bytes behind the seal of a finished trace are damage."""
    sizes = [1, 2, 31, 32, 33, 511, 512, 4096]
    for number in range(tools.count(40)):
        size = sizes[number] if number < len(sizes) else tools.random.randrange(1, 20_000)
        with open(tools.copy("sound.h5", "x.h5"), "ab") as file:
            file.write(tools.random.choice([bytes(size), tools.random.randbytes(size)]))
        tools.refused(["run", "x.h5", "-o", "y.h5"], f"{size} bytes behind the seal", "differs from what was written")


def bombs(tools):
    """Little that unpacks to much is refused, or costs no more than its budget."""
    for _ in range(tools.count(6)):
        columns, rows = tools.random.randrange(50, 200), tools.random.randrange(2_000_000, 6_000_000)
        chunk = tools.random.choice([rows, rows // 3, 1_000_000])
        tools.copy("sound.h5", "x.h5")
        tools.hostile("bomb", "x.h5", columns, rows, chunk)
        what = f"{columns} columns of {rows} zeros in chunks of {chunk}"
        tools.refused(["run", "x.h5", "-o", "y.h5"], what, "x.h5: ")
        tools.refused(["check", "x.h5"], what, "x.h5: ")
        tools.refused(["repeat", "x.h5", "-o", "y.h5"], what, "x.h5: ")
        if tools.given.view:
            end = tools.run(["x.h5", "--size", "320x180", "--screenshot", "x.png"], program=tools.given.view)
            tools.check(end[0] in (1, 2), f"viewer, {what}", end)


def virtuals(tools):
    """A file that leads into another is refused before that one is opened: a pipe would hold whoever opens it."""
    if not tools.path("pipe").exists():
        os.mkfifo(tools.path("pipe"))
    for name in ["time", "cycle", "case_resolved", "manifold_pressure", "another"]:
        for source in [tools.path("pipe"), "pipe", tools.path("study.h5")]:
            tools.copy("sound.h5", "x.h5")
            tools.hostile("virtual", "x.h5", name, source)
            for words in [["check", "x.h5"], ["run", "x.h5", "-o", "y.h5"], ["map", "x.h5", *MAP, "-o", "y.h5"]]:
                tools.refused(words, f"{words[0]}: '{name}' in {source}", "lies in another file")
    for name in ["torque", "case_resolved", "another"]:
        tools.copy("study.h5", "x.h5")
        tools.hostile("virtual", "x.h5", name, tools.path("pipe"))
        tools.refused(["repeat", "x.h5", "-o", "y.h5"], f"repeat: '{name}' in a pipe", "lies in another file")


def requests(tools):
    """A study's file may ask for no more than the command line."""
    def many(count, low, high):
        return [low + (high - low) * i / count for i in range(count)]
    sound = {"study": "map", "speeds_rad_s": [300.0], "openings": [0.3], "altitudes_m": [], "warmer_K": [],
             "variants": [], "tries_SI": {}, "targets": {}, "change": [], "beside": "", "beside_name": "",
             "tolerance": 5e-4, "cycles_in_a_row": 3, "most_cycles": 300}
    wrong = [("speeds_rad_s", many(3000, 100, 600)), ("speeds_rad_s", [0.0, 1e-300]), ("speeds_rad_s", [-300.0]),
             ("speeds_rad_s", [1e9]), ("speeds_rad_s", ["fast"]), ("speeds_rad_s", 7), ("openings", [-5.0]),
             ("openings", [1e10]), ("openings", [0.3, 0.3]), ("openings", [0.4, 0.3]), ("altitudes_m", [1e6]),
             ("warmer_K", [-300.0]), ("tries_SI", {"wishbone": [1e-3]}), ("tries_SI", {"main_jet": [9.0]}),
             ("targets", {"top": 0.9}), ("targets", {"full": 14.7}), ("change", ["engine.borre=80 mm"]),
             ("change", ["x" * 100_000]), ("beside", "x = ["), ("beside_name", "n" * 10_000), ("tolerance", 1e-300),
             ("tolerance", -1.0), ("cycles_in_a_row", 0), ("most_cycles", 1e300), ("most_cycles", -5),
             ("study", "\u001b[31mmap"), ("study", ""),
             ("variants", [{"name": "x", "sets": ["carburetor.pum.fitted=false"]}]),
             ("variants", [{"name": str(i), "sets": []} for i in range(1000)])]
    for name, value in wrong:
        tools.copy("study.h5", "x.h5")
        tools.hostile("asks", "x.h5", json.dumps(sound | {name: value}))
        tools.refused(["repeat", "x.h5", "-o", "y.h5", "--no-charts"], f"{name} = {json.dumps(value)[:60]}")
        tools.check(not tools.path("y.h5").exists(), f"{name}: a study is written", (0, "", 0.0))
    for text in ["", "[" * 100_000, "{}", "null", "{\"study\": \"map\"}"]:
        tools.copy("study.h5", "x.h5")
        tools.hostile("asks", "x.h5", text)
        tools.refused(["repeat", "x.h5", "-o", "y.h5"], f"inputs {text[:20]!r}")
    for three in [("speeds_rad_s", "openings", "altitudes_m"), ("openings", "warmer_K", "altitudes_m")]:
        ranges = {"speeds_rad_s": (100, 600), "openings": (0, 1), "altitudes_m": (0, 3000), "warmer_K": (-20, 20)}
        tools.copy("study.h5", "x.h5")
        tools.hostile("asks", "x.h5", json.dumps(sound | {name: many(180, *ranges[name]) for name in three}))
        tools.refused(["repeat", "x.h5", "-o", "y.h5"], f"many of {three}", "points")


def flips(tools):
    """Flipped bytes of a study: it is repeated, or refused with one message."""
    sound = tools.path("study.h5").read_bytes()
    for _ in range(tools.count(60)):
        bytes_ = bytearray(sound)
        for _ in range(tools.random.randrange(1, 5)):
            bytes_[tools.random.randrange(len(bytes_))] ^= 1 << tools.random.randrange(8)
        tools.path("x.h5").write_bytes(bytes_)
        end = tools.run(["repeat", "x.h5", "-o", "y.h5", "--no-charts", "--force"])
        tools.check(end[0] in (0, 1, 2) and end[1].count("glassbowl: ") == (end[0] != 0), "flipped bytes", end)


def streams(tools):
    """Closed standard streams: no crash, and nothing printed goes into a file."""
    for closed in [(0,), (1,), (2,), (0, 1), (0, 2), (1, 2), (0, 1, 2)]:
        wanted = 1 if 1 in closed else 0
        for words in [["repeat", "study.h5", "-o", "y.h5", "--no-charts", "--force"],
                      ["run", "sound.h5", "-o", "y.h5", "--force"], ["check", "sound.h5"], ["run", "none"],
                      ["repeat", "sound.h5"], ["--help"]]:
            end = tools.run(words, closed=closed)
            codes = (2,) if words[1:] == ["none"] else (1, 2) if words[1:] == ["sound.h5"] and words[0] == "repeat" \
                else (wanted,)
            tools.check(end[0] in codes, f"{words[:2]} with {closed} closed", end)
        if tools.path("y.h5").exists():
            again = tools.run(["check", "y.h5"])
            tools.check(again[0] == 0, f"the trace written with {closed} closed", again)


def threads(tools):
    """Fewer threads or less memory than asked for: the study is computed with what there is, or one message."""
    tools.folder.chmod(0o777)
    for number in range(tools.count(24)):
        most = tools.random.choice([2, 8, 64, 256])
        limits = [(resource.RLIMIT_NPROC, tools.random.randrange(1, 7))]
        if number % 2:
            limits = [(resource.RLIMIT_AS, tools.random.randrange(160 << 20, 500 << 20))]
        words = ["map", "bikes/goat_400", "--speeds", "2000, 3000, 4000, 5000 rpm", "--openings", "20, 30 %",
                 "--no-charts", "--threads", str(most), "-o", f"threads{number}.h5"]
        end = tools.run(words, limits=limits, nobody=True)
        tools.check(end[0] in ((0, 1) if number % 2 else (0,)), f"{most} threads, {limits}", end)


CLASSES = [tails, bombs, virtuals, requests, flips, streams, threads]


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    for name in ["--program", "--hostile"]:
        parser.add_argument(name, required=True, type=lambda path: pathlib.Path(path).resolve())
    parser.add_argument("--view", type=lambda path: pathlib.Path(path).resolve())
    parser.add_argument("--times", type=float, default=1.0, help="how much more than a short round")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("classes", nargs="*", metavar="CLASS", help=", ".join(c.__name__ for c in CLASSES))
    given = parser.parse_args()
    wanted = [c for c in CLASSES if not given.classes or c.__name__ in given.classes]
    if len(wanted) < len(given.classes):
        parser.error("no such class")
    tools = Tools(given)
    try:
        for one in wanted:
            before, holes, begin = tools.tries, len(tools.holes), time.monotonic()
            one(tools)
            print(f"{one.__name__}: {tools.tries - before} tries in {time.monotonic() - begin:.0f} s, "
                  f"{len(tools.holes) - holes} holes", flush=True)
            for hole in tools.holes[holes:][:20]:
                print(f"  {hole}")
    finally:
        shutil.rmtree(tools.folder, ignore_errors=True)
    print(f"{tools.tries - len(tools.holes)} passed, {len(tools.holes)} failed")
    return 1 if tools.holes or not tools.tries else 0


if __name__ == "__main__":
    sys.exit(main())
