#!/usr/bin/env python3
"""Shows that the published checks can fail: every listed constant of the models is made 5 % greater, one at
a time, and at least one comparison must turn red.

The models are copied to a temporary folder in which each listed constant carries a factor. The published
checks are compiled once against the copy and run once per constant. A part is caught when a change of any
of its constants is; constants that no check notices are printed. Fails when fewer than nine parts in ten
are caught, or when a pattern below no longer fits its header.

Run by hand:  tests/published/perturb.py      (Python 3 standard library and a C++20 compiler)
"""
import argparse
import concurrent.futures
import pathlib
import re
import subprocess
import sys
import tempfile

# header: [(name, pattern)]; the pattern's only group is the constant or term that is changed.
PARTS = {
    "constants.hpp": [
        ("g0", r"double g0 = ([\d.]+);"),
        ("R_air", r"double R_air = ([\d.]+);"),
        ("pi", r"double pi = ([\d.]+);"),
        ("gas_constant", r"double gas_constant = ([\d.]+);"),
    ],
    "fluids/atmosphere.hpp": [
        ("sea-level temperature", r"= (c::T_sea_level) - c::lapse_rate"),
        ("lapse rate", r"(c::lapse_rate) \* altitude"),
        ("Buck 18.678", r"\(\((18\.678) -"),
        ("Buck 257.14", r"\((257\.14) \+ t\)"),
        ("molar mass ratio", r"(0\.62198) \* e"),
        ("Sutherland 1.458e-6", r"(1\.458e-6) \* T"),
        ("Sutherland 110.4", r"\+ (110\.4)\)"),
        ("vapour's lightness", r"(0\.37802) \* e\) / \(constants"),
    ],
    "fluids/fuel.hpp": [
        ("density", r"density_20 = Real\(([\d.]+)\)"),
        ("density slope", r"density_slope = Real\(-([\d.]+)\)"),
        ("viscosity exponent", r"viscosity_exponent = Real\(([\d.]+)\)"),
        ("kinematic viscosity", r"kinematic_viscosity_20 =\s+Real\(([\d.e-]+)\)"),
        ("heating value", r"heating_value = Real\(([\d.e]+)\)"),
        ("latent heat", r"latent_heat = Real\(([\d.e]+)\)"),
        ("stoichiometric ratio", r"stoichiometric_ratio = Real\(([\d.]+)\)"),
        ("boiling, first", r"boiling_first = Real\(([\d.]+)\)"),
        ("vaporisation slope", r"vaporisation_slope = Real\(([\d.]+)\)"),
    ],
    "fluids/gas_mixture.hpp": [
        ("air cv", r"gas\.a = \{Real\(([\d.]+)\)"),
        ("air cv slope", r"gas\.b = \{Real\(([\d.]+)\)"),
        ("burned cv", r"fuel\.liquid_heat_capacity, Real\(([\d.]+)\)\}"),
        ("burned cv slope", r"Real\(0\), Real\(([\d.]+)\)\};"),
    ],
    "gas/flow_function.hpp": [
        ("first exponent", r"pow\(r, (2\.0) / gamma\)"),
        ("velocity from drive", r"sqrt\((2\.0) \* rho / sqrt\(F \* F"),
        ("critical ratio", r"z_critical_\((1\.0) - std::pow"),
    ],
    "gas/restriction.hpp": [
        ("loss", r"- Real\((0\.5)\) \* flow"),
        ("inertance", r"\((inertance \* A2) \+"),
    ],
    "gas/volume.hpp": [
        ("energy to temperature", r"heat2 = (2\.0) \*"),
        ("ideal gas law", r"pV = (mR) \*"),
    ],
    "numerics/smooth_root.hpp": [("width", r"\+ (d) \* d\)")],
    "throat/throttle_plate.hpp": [
        ("shaft terms", r"free =\s+1\.0 - c / c0 \+ (2\.0) /"),
        ("shaft limit", r"limited = 1\.0 - (2\.0) /"),
        ("expansion loss", r"bore_area \* (f) / \(1\.0 - f\)"),
        ("edge position", r"return (0\.5) \* plate\.bore \* sine"),
        ("edge gap", r"positive_part\((0\.5) \* plate\.bore"),
    ],
    "throat/choke_plate.hpp": [
        ("discharge", r"discharge = Real\(([\d.]+)\)"),
        ("quarter turn", r"sine\((0\.5) \* constants::pi"),
    ],
    "throat/venturi.hpp": [
        ("dynamic pressure", r"x = (0\.5) \* mass_flow"),
        ("square term", r"4\.0 \* (15\.0) / 14\.0"),
    ],
    "throat/needle.hpp": [("annulus", r"return (0\.25) \* constants::pi")],
    "throat/vacuum_piston.hpp": [
        ("diaphragm area", r"A_d = (0\.25) \*"),
        ("weight", r"weight = (piston\.mass) \*"),
        ("spring", r"\+ (piston\.spring_rate) \* lift"),
        ("chamber area", r"Real A = (0\.25) \*"),
    ],
    "fuel/jet.hpp": [
        ("laminar 20", r"ultimate_discharge\(length_over_bore\) \+ (20\.0) / reynolds"),
        ("laminar 2.25", r"/ reynolds \* \(1\.0 \+ (2\.25) \*"),
        ("ultimate 0.827", r"(0\.827) - 0\.0085 \* min"),
        ("ultimate 0.0085", r"0\.827 - (0\.0085) \* min"),
        ("short jet 0.810", r"Real\((0\.810)\),"),
        ("transition 0.005", r"return (0\.005) \*"),
        ("inverse 20", r"laminar = (20\.0) \*"),
        ("area", r"return (0\.25) \* constants::pi \* d \* d"),
    ],
    "fuel/mixture_screw.hpp": [
        ("area", r"screw\.discharge \* (0\.25) \*"),
        ("taper", r"D - (2\.0) \* screw\.turns"),
    ],
    "fuel/transfer_ports.hpp": [("radius", r"Real r = (0\.5) \* port\.diameter")],
    "fuel/liquid_column.hpp": [
        ("inertance", r"net / \((inertance) \+"),
        ("outflow", r"smooth_positive_part\((inflow) \+"),
    ],
    "fuel/emulsion_tube.hpp": [
        ("hole area", r"row\.count \* (0\.25) \*"),
        ("capillarity", r"\(1\.0 - (capillary) / sqrt"),
    ],
    "fuel/emulsion_channel.hpp": [
        ("filling", r"smooth_positive_part\((0\.8) \* c\.volume"),
        ("gas law", r"pressure = (s\.gas) \* k\.pressure"),
        ("mixture density", r"density = (mass) \* k\.per_volume"),
    ],
    "fuel/main_circuit.hpp": [
        ("distribution parameter", r"return (1\.2) \*"),
        ("slug velocity", r"return (0\.35) \*"),
        ("capillarity at the lip", r"k\.lip = (4\.0) \*"),
        ("capillarity at the holes", r"k\.capillary = (4\.0) \*"),
        ("jet inertance", r"k\.jet_column = (k\.jet\.inertance) \+"),
        ("riser's head", r"k\.head = (as<Real>\(constants::gravity\)) \* k\.per_area"),
        ("bowl's head", r"b\.bowl_pressure \+ (rho) \* g"),
    ],
    "fuel/accelerator_pump.hpp": [
        ("diaphragm area", r"return (0\.25) \* constants::pi \* pump"),
        ("override spring", r"\((pump\.override_rate) \*"),
        ("pull-over", r"bowl_pressure \+ (pump\.pull_over) \*"),
    ],
    "fuel/bowl.hpp": [
        ("seat area", r"seat = (0\.25) \* constants::pi"),
        ("cone", r"sine\((0\.5) \* bowl\.needle_angle"),
        ("weir", r"rho \* (0\.4) \* as<Real>\(weir_width\)"),
        ("level from mass", r"return (mass) / \(rho"),
    ],
    "fuel/tank_feed.hpp": [
        ("tap", r"tap = feed\.discharge \* (0\.25) \*"),
        ("head", r"height = (feed\.head) -"),
    ],
    "mixture/evaporation.hpp": [("vapour's partial pressure", r"p_v = (vapour_mass) \*")],
    "mixture/wall_film.hpp": [
        ("deposition", r"film\.deposition \* (4\.0) / diameter"),
        ("evaporation", r"evaporated = (film_mass) \* k\.drying"),
        ("creep", r"crept = (film_mass) \* k\.creep"),
    ],
    "engine/crank_geometry.hpp": [
        ("crank radius", r"Real a = (0\.5) \* c\.stroke"),
        ("swept volume", r"return (0\.25) \* constants::pi"),
    ],
    "engine/valve_lift.hpp": [
        ("discharge 0.69", r"return (0\.69) -"),
        ("discharge 2.6", r"0\.69 - (2\.6) \*"),
        ("curtain", r"curtain = valve_discharge.*\* (constants::pi) \*"),
    ],
    "engine/combustion.hpp": [
        ("Wiebe a", r"double wiebe_a = ([\d.]+);"),
        ("Wiebe m", r"double wiebe_m = ([\d.]+);"),
        ("duration 2.2", r"return (2\.2) \* c"),
        ("duration 3.74", r"- (3\.74) \* c"),
        ("duration 2.54", r"\+ (2\.54);"),
        ("lean limit", r"lean_limit = Real\(([\d.]+)\)"),
        ("rich limit", r"rich_limit = Real\(([\d.]+)\)"),
        ("mixture scatter", r"w = (0\.5513) \*"),
    ],
    "engine/wall_heat.hpp": [
        ("Hohenberg 130", r"return (130\.0) \*"),
        ("Hohenberg 0.8", r"exponential\((0\.4) \* logarithm\(push"),
        ("Woschni 3.26", r"return (3\.26) \*"),
        ("Woschni 0.55", r"-\s+(0\.55) \* logarithm\(temperature\)"),
    ],
    "engine/friction.hpp": [
        ("constant", r"constant = Real\(([\d.e]+)\)"),
        ("linear", r"linear = Real\(([\d.e]+)\)"),
        ("quadratic", r"quadratic = Real\(([\d.e]+)\)"),
        ("per peak pressure", r"per_peak = Real\(([\d.]+)\)"),
        ("car engines", r"1e5 \* \((0\.97) \+"),
    ],
    "engine/load.hpp": [
        ("drag", r"force = (0\.5) \* air_density"),
        ("weight", r"(load\.vehicle_mass) \* as<Real>\(constants::gravity\)"),
        ("lever", r"return (load\.vehicle_mass) \* lever"),
    ],
}

MAIN = """
#include <cstdio>
#include <cstdlib>
#include "sim/validation/check.hpp"
double glassbowl_perturb(int constant) {
  static const char* chosen = std::getenv("GLASSBOWL_PERTURB");
  static const int number = chosen ? std::atoi(chosen) : -1;
  static const char* factor = std::getenv("GLASSBOWL_PERTURB_FACTOR");
  static const double value = factor ? std::atof(factor) : 1.05;
  return constant == number ? value : 1.0;
}
int main() {
  for (const auto& row : glassbowl::validation::run_part_checks())
    if (glassbowl::validation::verdict(row) == glassbowl::validation::Verdict::fails)
      std::printf("%s: %s\\n", row.part.c_str(), row.what.c_str());
}
"""


def instrument(source, target):
    """Copies models/ with a factor on every listed constant; returns [(header, name)] in their order."""
    listed = []
    for header in sorted(source.rglob("*.hpp")):
        name = header.relative_to(source).as_posix()
        text = header.read_text(encoding="utf-8")
        spans = []
        for constant, pattern in PARTS.get(name, []):
            found = list(re.finditer(pattern, text))
            if len(found) != 1:
                sys.exit(f"models/{name}: pattern of '{constant}' fits {len(found)} times, must fit once:\n  {pattern}")
            spans.append((found[0].span(1), len(listed)))
            listed.append((name, constant))
        for (begin, end), number in sorted(spans, reverse=True):
            text = f"{text[:begin]}(::glassbowl_perturb({number}) * ({text[begin:end]})){text[end:]}"
        # A factor that is chosen when the program runs is not a constant expression.
        text = re.sub(r"inline constexpr (\w+) (\w+)(\{| = )", r"inline const \1 \2\3", text)
        text = text.replace("constexpr explicit", "explicit")
        out = target / "models" / name
        out.parent.mkdir(parents=True, exist_ok=True)
        out.write_text(text, encoding="utf-8")
    missing = set(PARTS) - {name for name, _ in listed}
    if missing:
        sys.exit(f"no such header in models/: {', '.join(sorted(missing))}")
    return listed


def build(root, work, compiler, jobs):
    (work / "perturb.hpp").write_text("#pragma once\ndouble glassbowl_perturb(int constant);\n")
    main = work / "perturb_main.cpp"
    main.write_text(MAIN)
    # Only checks of the models alone: those that run the solver are too slow to repeat per constant.
    sources = [main]
    for path in sorted((root / "sim" / "validation").glob("*.cpp")):
        text = path.read_text(encoding="utf-8")
        on_solver = re.search(r'#include "sim/(?!validation/(?!engine_))', text)
        if not path.name.endswith("_test.cpp") and not on_solver:
            sources.append(path)

    def compile_one(path):
        out = work / (path.stem + ".o")
        subprocess.run([compiler, "-std=c++20", "-O1", "-ffp-contract=off", "-include", work / "perturb.hpp",
                        "-I", work, "-I", root, "-c", path, "-o", out], check=True)
        return out

    with concurrent.futures.ThreadPoolExecutor(jobs) as pool:
        objects = list(pool.map(compile_one, sources))
    program = work / "perturbed"
    subprocess.run([compiler, *objects, "-o", program], check=True)
    return program


def failures(program, number, factor):
    run = subprocess.run([program], env={"GLASSBOWL_PERTURB": str(number), "GLASSBOWL_PERTURB_FACTOR": str(factor)},
                         capture_output=True, text=True, timeout=60, check=True)
    return run.stdout.splitlines()


def main():
    arguments = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    arguments.add_argument("--source", type=pathlib.Path, default=pathlib.Path(__file__).resolve().parents[2])
    arguments.add_argument("--compiler", default="g++")
    arguments.add_argument("--factor", type=float, default=1.05)
    arguments.add_argument("--jobs", type=int, default=2)
    arguments.add_argument("--verbose", action="store_true", help="print the first red check of each constant")
    options = arguments.parse_args()

    with tempfile.TemporaryDirectory(prefix="glassbowl-perturb-") as folder:
        work = pathlib.Path(folder)
        listed = instrument(options.source / "models", work)
        program = build(options.source, work, options.compiler, options.jobs)
        before = failures(program, -1, options.factor)
        if before:
            sys.exit("red before anything was changed:\n  " + "\n  ".join(before))
        with concurrent.futures.ThreadPoolExecutor(options.jobs) as pool:
            red = list(pool.map(lambda n: failures(program, n, options.factor), range(len(listed))))

    caught_parts = {header for (header, _), rows in zip(listed, red) if rows}
    for (header, constant), rows in zip(listed, red):
        if options.verbose and rows:
            print(f"models/{header}: {constant}: {len(rows)} red, first: {rows[0]}")
    unnoticed = [f"models/{h}: {c}" for (h, c), rows in zip(listed, red) if not rows]
    if unnoticed:
        print(f"constants that no check notices at a factor of {options.factor}:")
        print("\n".join("  " + line for line in unnoticed))
    not_caught = sorted(set(PARTS) - caught_parts)
    print("parts not caught: " + (", ".join(not_caught) if not_caught else "none"))
    print(f"{len(caught_parts)} of {len(PARTS)} parts caught; {len(listed) - len(unnoticed)} of {len(listed)} constants")
    return 0 if len(caught_parts) >= 0.9 * len(PARTS) else 1


if __name__ == "__main__":
    sys.exit(main())
