#!/usr/bin/env python3
"""The Python module and its examples on the built program; a trace in xarray, h5py and ncdump; the CF conventions
as far as traces follow them.

    python_module.py PROGRAM MODULE_FOLDER WORK
"""
import os
import pathlib
import re
import subprocess
import sys

import h5py

program, module, work = sys.argv[1], pathlib.Path(sys.argv[2]).resolve(), pathlib.Path(sys.argv[3])
work.mkdir(parents=True, exist_ok=True)
os.environ["GLASSBOWL"] = program
os.environ["PYTHONPATH"] = str(module)
sys.path.insert(0, str(module))
import glassbowl  # noqa: E402  (its folder is known only now)

SHORT = {"run.settle": "0.2 s", "run.duration": "0.3 s", "rider.throttle": [["0 s", "30 %"]]}
problems = []


def expect(true, what):
    if not true:
        problems.append(what)


kept = work / "kept.h5"
kept.unlink(missing_ok=True)
trace = glassbowl.run("slow_sweep", SHORT, keep=kept)
rows = trace["time"].values
expect(abs(rows[-1] - 0.3) < 1e-9 and trace["time"].attrs["units"] == "s", f"the last row is at {rows[-1]}")
expect(float(trace["throttle"].max()) == float(trace["throttle"].min()), "the throttle that was set is not held")
expect(trace.attrs["program_version"] and trace.attrs["status"] == "complete", "version or status is missing")
expect("glassbowl " + trace.attrs["program_version"]
       == subprocess.run([program, "--version"], capture_output=True, text=True).stdout.splitlines()[0],
       "the trace names another version than the program")

# CF-1.10: standard names with their canonical units; means over the cycle say so by cell_methods.
for name, standard, unit in (("ambient_pressure", "air_pressure", "Pa"),
                             ("ambient_temperature", "air_temperature", "K"), ("altitude", "altitude", "m")):
    expect(trace[name].attrs.get("standard_name") == standard and trace[name].attrs["units"] == unit,
           f"{name} has not the standard name {standard}")
expect(trace.attrs["Conventions"] == "CF-1.10", "the conventions are not named")
form = re.compile(r"time: mean( \(comment: [^)]*\))?")
for name, variable in trace.variables.items():
    method = variable.attrs.get("cell_methods")
    is_mean = variable.attrs.get("long_name", "").endswith(", mean over the cycle")
    expect(is_mean == (method is not None), f"{name}: cell_methods is {method}")
    expect(method is None or form.fullmatch(method), f"{name}: cell_methods is {method}")
# What they say is so: the mean of the rows of a cycle is the cycle's mean. Rows are 0.1 ms apart, so sums over a
# cycle are off by its ends.
cycle = 1
begin = float(trace["cycle_start"][cycle])
end = begin + float(trace["cycle_duration"][cycle])
within = trace["manifold_pressure"].where((trace["time"] >= begin) & (trace["time"] < end))
expect(abs(float(within.mean()) / float(trace["cycle_manifold_pressure"][cycle]) - 1) < 5e-3,
       "the mean over a cycle is not what its rows have")
trace.close()

with h5py.File(kept) as file:
    expect(file["lambda"].attrs["units"] in ("1", b"1") and len(file["lambda"]) == len(rows), "h5py sees another trace")
dump = subprocess.run(["ncdump", "-h", str(kept)], capture_output=True, text=True)
expect(dump.returncode == 0 and "cell_methods" in dump.stdout and "float lambda(time)" in dump.stdout,
       f"ncdump: {dump.stderr}{dump.stdout[:300]}")

for wrong, said in ((lambda: glassbowl.channel(trace, "lamda"), "did you mean lambda?"),
                    (lambda: glassbowl.run("blip", {"run.durration": "1 s"}), "did you mean"),
                    (lambda: glassbowl.run("blipp"), 'did you mean "blip"?')):
    try:
        wrong()
        problems.append(f"no error says: {said}")
    except (KeyError, glassbowl.Failure) as failure:
        expect(said in str(failure), f"{failure}: does not say {said}")

(work / "short.toml").write_text('base = "runs/full_throttle_pull.toml"\n[run]\nsettle = "0.1 s"\nduration = "0.2 s"\n')
# Without matplotlib, whose picture is looked at by hand, the first one prints its figures.
(work / "matplotlib.py").write_text("raise ImportError\n")
os.environ["PYTHONPATH"] += ":" + str(work)
for name, arguments, line in (("plot_lambda", ["short.toml"], r"^ 0\.\d+   [01]\.\d+$"),
                              ("three_main_jets", ["short.toml"], r"^1\.80 mm +[01]\.\d+ +-?\d+\.\d N m$"),
                              ("map_table", ["bikes/mule_750", "4000 rpm", "60, 100 %"], r"^lambda")):
    done = subprocess.run([sys.executable, "-B", module / "examples" / f"{name}.py", *arguments], cwd=work,
                          capture_output=True, text=True)
    expect(done.returncode == 0, f"{name}: {done.stderr}")
    expect(re.search(line, done.stdout, re.MULTILINE), f"{name} prints: {done.stdout}")
print("\n".join(problems) or "the module and its examples work")
sys.exit(1 if problems else 0)
