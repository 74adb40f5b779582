#!/usr/bin/python3
"""Reads every channel of traces with h5py and with netCDF4 and draws up the fuel and air budgets from them.

    mass_budget.py PROGRAM CASE...        (PROGRAM: the built glassbowl; CASE: names of shipped runs)

Runs each case with a trace into a temporary folder. Nothing of the program's own budget is used:
  both readers see the same numbers in every channel
  fuel held at the start less fuel held now = burned + exhausted + stood off + overflowed, at every row
  air held now less air held at the start = filtered + leaked in - exhausted - burned, at every row
  what is held is the sum of what the parts hold (their channels are float32)
  what the outlets delivered is the integral of the fuel flow over time
Fails with the claim that does not hold, or when a module is missing.
"""
import pathlib
import subprocess
import sys
import tempfile

try:
    import h5py
    import netCDF4
    import numpy as np
except ImportError as missing:
    sys.exit(f"mass_budget.py needs Debian's python3-h5py and python3-netcdf4: {missing}")


def check(claim, size, limit):
    holds = size <= limit  # NaN does not
    print(f"  {'holds' if holds else 'FAILS'}  {claim}: {size:.2e} of {limit:.0e}")
    if not holds:
        sys.exit(1)


def read_with_h5py(path):
    with h5py.File(path, "r") as file:
        return {name: data[...] for name, data in file.items() if data.ndim == 1}


def read_with_netcdf(path):
    with netCDF4.Dataset(path, "r") as file:
        file.set_auto_mask(False)
        return {name: data[...] for name, data in file.variables.items() if data.ndim == 1}


def matching(data, ending, without=()):
    """Sum of the channels whose names end so, in double precision."""
    names = [n for n in data if n.endswith(ending) and not n.startswith("total_") and n not in without]
    if not names:
        sys.exit(f"no channel ends with {ending}")
    return sum(data[n].astype(float) for n in names)


def budget(what, held, terms):
    """Largest imbalance of any row over the sum of all that moved until the end."""
    held = held - held[0]
    moved = [t - t[0] for t in terms]
    imbalance = np.abs(held - sum(moved)).max()
    scale = max(np.abs(held).max() + sum(np.abs(t).max() for t in moved), 1e-6)
    check(f"{what} budget, worst row over all that moved", imbalance / scale, 1e-9)


def examine(path):
    data, other = read_with_h5py(path), read_with_netcdf(path)
    if set(data) != set(other):
        sys.exit(f"h5py and netCDF4 see different channels: {set(data) ^ set(other)}")
    different = [n for n in data if not np.array_equal(data[n], other[n], equal_nan=True) or data[n].dtype != other[n].dtype]
    print(f"  {len(data)} channels, {len(data['time'])} rows")
    check("channels in which h5py and netCDF4 differ", len(different), 0)

    total = {n[len("total_"):]: values for n, values in data.items() if n.startswith("total_")}
    budget("fuel", data["fuel_held"],
           [-total[n] for n in ("fuel_burned", "fuel_exhausted", "fuel_stood_off", "fuel_overflowed")])
    budget("air", data["air_held"],
           [total["air_filtered"], total["air_leaked"], -total["air_exhausted"], -total["air_burned"]])

    # Fuel in tank, bowl, wells, channels and films is named so; gas volumes hold it as vapour and droplets.
    fuel = sum(data[n].astype(float) for n in data if n in ("tank_fuel_change", "bowl_fuel", "main_well_fuel", "main_riser_fuel"))
    for passage in ("slow", "enrichment"):
        fuel = fuel + sum(data[n].astype(float) for n in (f"{passage}_riser_fuel", f"{passage}_channel_fuel") if n in data)
    fuel = fuel + matching(data, "_vapour") + matching(data, "_droplets")
    fuel = fuel + sum(data[n].astype(float) for n in data if n.startswith("film_") and n.endswith("_fuel"))
    rest = data["fuel_held"] - fuel
    if "pump_travel" in data:  # what the pump has pushed out, it no longer holds
        travel = data["pump_travel"].astype(float)
        per_metre = np.polyfit(travel, rest, 1)[0]
        rest = rest - per_metre * travel
        if not per_metre < 0.0:
            sys.exit(f"pushed in, the pump should hold less; it holds {per_metre} kg/m more")
    check("fuel held less the sum over parts, spread [kg]", float(np.ptp(rest)), 2e-9)

    flow = data["carburetor_fuel_flow"].astype(float)
    integral = float(np.sum(0.5 * (flow[1:] + flow[:-1]) * np.diff(data["time"])))
    outlets = [n for n in total if n in ("idle_fuel", "main_fuel", "pump_fuel", "enrichment_fuel") or
               n.startswith("port_")]
    delivered = float(sum(total[n][-1] - total[n][0] for n in outlets))
    check(f"fuel delivered, {delivered * 1e6:.1f} mg, against the integral of its flow", abs(integral / delivered - 1.0), 2e-3)


def main():
    if len(sys.argv) < 3:
        sys.exit(__doc__.strip().splitlines()[2].strip())
    with tempfile.TemporaryDirectory(prefix="glassbowl-budget-") as folder:
        for case in sys.argv[2:]:
            print(case)
            path = pathlib.Path(folder) / f"{case}.h5"
            run = subprocess.run([sys.argv[1], "run", case, "--output", path], capture_output=True, text=True)
            if run.returncode != 0:
                sys.exit(run.stderr.strip() or f"running {case} ended with {run.returncode}")
            examine(path)
            path.unlink()


if __name__ == "__main__":
    main()
