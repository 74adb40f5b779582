"""Opens a finished trace with h5py, xarray and ncdump, as a user would, and checks what they see.

Usage: read_with_python.py TRACE
"""

import subprocess
import sys

import h5py
import numpy as np
import xarray

path = sys.argv[1]
checks = 0


def check(claim, holds):
    global checks
    checks += 1
    if not holds:
        sys.exit(f"{path}: failed: {claim}")


def text(value):
    return value.decode() if isinstance(value, bytes) else str(value)


channels = {}
with h5py.File(path, "r") as file:
    for name, dataset in file.items():
        if name == "case_resolved":
            check("case_resolved is one text", dataset.shape == () and len(dataset.asstr()[()]) > 0)
            continue
        check(f"{name} is flat in the root group", isinstance(dataset, h5py.Dataset) and dataset.ndim == 1)
        check(f"{name} is lower_snake_case", name == name.lower() and name.isidentifier())
        for attribute in ("units", "long_name", "part"):
            check(f"{name} has {attribute}", text(dataset.attrs[attribute]) != "")
        if name in ("time", "cycle"):
            check(f"{name} is a scale", h5py.h5ds.is_scale(dataset.id))
            dimension = name
        else:
            check(f"{name} lies on one scale", len(dataset.dims[0]) == 1)
            dimension = dataset.dims[0][0].name.lstrip("/")
            check(f"{name} and its scale know of one another", h5py.h5ds.is_attached(dataset.id, file[dimension].id, 0))
        check(f"{name} lies on time or cycle", dimension in ("time", "cycle"))
        check(f"{name} is as long as its scale", dataset.shape == file[dimension].shape)
        channels[name] = (dimension, text(dataset.attrs["units"]), dataset.dtype, dataset[...])
    check("time is float64 in s", channels["time"][1] == "s" and channels["time"][2] == np.float64)
    check("cycle is a pure number", channels["cycle"][1] == "1")
    check("every row has a time", not np.isnan(file["time"][...]).any())
    check("time rises", (np.diff(file["time"][...]) > 0).all())
    root = {name: text(value) for name, value in file.attrs.items()}
    for name in ("title", "Conventions", "program", "program_version", "status"):
        check(f"the root has {name}", root[name] != "")
    check("Conventions is CF-1.10", root["Conventions"] == "CF-1.10")
    case = file["case_resolved"].asstr()[()]
check("there are channels beside the scales", len(channels) > 2)

with xarray.open_dataset(path) as data:
    check("xarray sees all channels", set(channels) | {"case_resolved"} == set(data.variables))
    check("xarray takes the scales for coordinates", {"time", "cycle"} <= set(data.coords))
    check("xarray reads the case", str(data["case_resolved"].values) == case)
    check("xarray reads the status", data.attrs["status"] == root["status"])
    for name, (dimension, units, dtype, values) in channels.items():
        variable = data[name]
        check(f"xarray: {name} lies on {dimension}", variable.dims == (dimension,))
        check(f"xarray: unit of {name}", variable.attrs.get("units") == units)
        check(f"xarray: {name} keeps its type", variable.dtype == dtype)
        check(f"xarray: values of {name}", np.array_equal(variable.values, values, equal_nan=True))

dump = subprocess.run(["ncdump", "-h", path], capture_output=True, text=True)
check(f"ncdump succeeds: {dump.stderr}", dump.returncode == 0 and dump.stderr == "")
for name, (dimension, units, dtype, _) in channels.items():
    kind = {"float32": "float", "float64": "double"}[dtype.name]
    check(f"ncdump: {name}", f"{kind} {name}({dimension}) ;" in dump.stdout)
    check(f"ncdump: unit of {name}", f'{name}:units = "{units}" ;' in dump.stdout)
check("ncdump: the case", "string case_resolved ;" in dump.stdout)
check("ncdump: the status", f':status = "{root["status"]}" ;' in dump.stdout)

print(f"{path}: {len(channels)} channels, {checks} checks held")
