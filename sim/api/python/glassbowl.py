"""glassbowl in Python: runs cases and studies, and opens their files as xarray datasets.

    import glassbowl
    trace = glassbowl.run("blip", {"carburetor.main.jet.bore": "1.60 mm"})
    trace["cycle_cylinder_1_lambda"].plot()

Every array has `units` and `long_name`; figures of the summary are attributes of the dataset. Needs the program on
the path (or its path in the environment variable GLASSBOWL), python3-xarray and python3-netcdf4.
"""
import difflib
import json
import os
import pathlib
import shutil
import subprocess
import tempfile

import xarray


class Failure(RuntimeError):
    """What the program said when it could not do what was asked, or when the engine stalled."""


def read(path):
    """Trace or study as a dataset, read as values are asked for. All times are seconds, not dates."""
    return xarray.open_dataset(path, engine="netcdf4", decode_times=False)


def run(case, sets=None, keep=None):
    """Runs a case (file or name of a shipped one) with some keys replaced, and returns its trace.

    `keep` names a file for the trace; otherwise nothing is left on disk."""
    return _computed("run", case, sets, {}, keep)


def study(name, case, sets=None, keep=None, **options):
    """Makes a study, such as study("map", "bikes/mule_750", speeds="2000, 4000 rpm"), and returns it."""
    return _computed(name, case, sets, {"no_charts": True, **options}, keep)


def channel(dataset, name):
    """An array by its name; the error for one that is missing names the nearest."""
    if name in dataset.variables:
        return dataset[name]
    near = difflib.get_close_matches(name, [str(known) for known in dataset.variables], 1)
    raise KeyError(f"there is no {name}" + (f"; did you mean {near[0]}?" if near else ""))


def _program():
    found = os.environ.get("GLASSBOWL") or shutil.which("glassbowl")
    if not found:
        raise Failure("glassbowl is not on the path; install it, or put its path into the variable GLASSBOWL")
    return found


def _computed(command, case, sets, options, keep):
    words = [_program(), command, str(case)]
    for key, value in (sets or {}).items():
        words += ["--set", f"{key}={value if isinstance(value, str) else json.dumps(value)}"]
    for option, value in options.items():
        words += ["--" + option.replace("_", "-")] + ([] if value is True else [str(value)])
    if command == "run":
        words.append("--no-sensitivity")
    with tempfile.TemporaryDirectory() as folder:
        output = pathlib.Path(keep) if keep else pathlib.Path(folder, "result.h5")
        done = subprocess.run(words + ["-o", str(output)], capture_output=True, text=True, check=False)
        if done.returncode != 0:
            raise Failure(done.stderr.strip() or done.stdout.strip())
        dataset = read(output)
        return dataset if keep else dataset.load()
