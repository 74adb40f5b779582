"""What all classes of attack share: a folder of its own for each try, the program in it, and a list of holes."""
import contextlib
import os
import pathlib
import random
import resource
import shutil
import signal
import subprocess
import tempfile

SHORT_RUN = """
title = "Short test run"
base = "bikes/mule_750.toml"
[load]
kind = "held_speed"
speed = "3000 1/min"
[rider]
throttle = "30 %"
[run]
settle = "0.02 s"
duration = "0.05 s"
"""
MAP = ["--speeds", "4000 1/min", "--openings", "30, 100 %"]
SHEET = MAP + ["--try", "main_jet=1.6, 1.675 mm"]
PATIENCE = 60  # [s]


class End:
    def __init__(self, code, out, err):
        self.code, self.out, self.err = code, out, err


class Workshop:
    """A temporary folder with a short case in it."""

    def __init__(self, tools, folder=None):
        self.tools = tools
        self.outer = pathlib.Path(tempfile.mkdtemp(prefix="glassbowl-attack-"))
        self.folder = pathlib.Path(folder) if folder else self.outer / "work"
        self.folder.mkdir(exist_ok=True)
        (self.folder / "short.toml").write_text(SHORT_RUN)

    def __enter__(self):
        return self

    def __exit__(self, *_):
        shutil.rmtree(self.outer, ignore_errors=True)

    def __truediv__(self, name):
        return self.folder / name

    def start(self, words, limit=None, program=None, environment=None):
        def prepare():
            signal.signal(signal.SIGXFSZ, signal.SIG_DFL)
            if limit is not None:
                resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))

        return subprocess.Popen([str(program or self.tools.program), *words], cwd=self.folder, stdin=subprocess.DEVNULL,
                                stdout=subprocess.PIPE, stderr=subprocess.PIPE, preexec_fn=prepare,
                                env={**os.environ, **(environment or {})})

    def run(self, words, **how):
        child = self.start(words, **how)
        try:
            out, err = child.communicate(timeout=PATIENCE)
        except subprocess.TimeoutExpired:
            child.kill()
            child.communicate()
            return End(None, "", "hung")
        return End(child.returncode, out.decode(errors="replace"), err.decode(errors="replace"))

    def names(self):
        return {path.relative_to(self.folder).as_posix() for path in self.folder.rglob("*")}

    def bytes_of(self, name):
        path = self.folder / name
        return path.read_bytes() if path.is_file() and not path.is_symlink() else None


class Tools:
    """The programs under attack, how much to try, and what was found."""

    def __init__(self, program, view, times, seed):
        self.program, self.view, self.times = program, view, times
        self.random = random.Random(seed)
        self.tries, self.holes = 0, []

    def shop(self, folder=None):
        return Workshop(self, folder)

    def count(self, several):
        """How often to repeat what a short round does `several` times."""
        return max(1, round(several * self.times))

    def check(self, sound, words, end, hole):
        """One try; `hole` says what is wrong unless `sound`."""
        self.tries += 1
        said = end.err.strip().splitlines() if end else []
        if end is not None:
            if end.code is None:
                sound, hole = False, "hangs"
            elif end.code < 0 or end.code > 2:
                sound, hole = False, f"ends with {end.code}"
            elif end.code != 0 and not said:
                sound, hole = False, f"ends with {end.code} and says nothing"
            elif "internal fault" in end.err or "HDF5: " in end.err:
                sound, hole = False, "an internal fault"
        if not sound:
            self.holes.append(f"{hole}: {words} -> {end.code if end else ''} {said[:2]}")


@contextlib.contextmanager
def small_disk(kib):
    """A file system of that size, or None where this user may not mount one."""
    outer = pathlib.Path(tempfile.mkdtemp(prefix="glassbowl-disk-"))
    folder = outer / "work"  # a trace says the name of its case's folder
    folder.mkdir()
    mounted = subprocess.run(["mount", "-t", "tmpfs", "-o", f"size={kib}k", "tmpfs", folder],
                             stderr=subprocess.DEVNULL).returncode == 0
    try:
        yield folder if mounted else None
    finally:
        if mounted:
            subprocess.run(["umount", folder], check=False)
        folder.rmdir()
        outer.rmdir()
