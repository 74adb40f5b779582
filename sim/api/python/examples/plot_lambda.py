"""Lambda over time in a run: plot_lambda.py [CASE [PICTURE]]

Without python3-matplotlib it prints the figures. All shipped cases are invented.
"""
import sys

import glassbowl

case = sys.argv[1] if len(sys.argv) > 1 else "blip"
picture = sys.argv[2] if len(sys.argv) > 2 else "lambda.png"
trace = glassbowl.run(case)
time = trace["cycle_start"] + trace["cycle_duration"]

try:
    import matplotlib
    matplotlib.use("Agg")
    from matplotlib import pyplot
except ImportError:
    print("time s   lambda of cylinder 1")
    for t, value in zip(time.values, trace["cycle_cylinder_1_lambda"].values):
        print(f"{t:6.3f}   {value:.3f}")
else:
    for name in (n for n in trace.variables if n.startswith("cycle_cylinder_") and n.endswith("_lambda")):
        pyplot.plot(time, trace[name], label=trace[name].attrs["part"])
    pyplot.xlabel("time [s]")
    pyplot.ylabel("in-cylinder lambda")
    pyplot.title(trace.attrs["title"])
    pyplot.legend()
    pyplot.savefig(picture)
    print(picture)
