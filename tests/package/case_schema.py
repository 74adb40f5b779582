#!/usr/bin/env python3
"""The JSON Schema of cases against an independent validator (python3-jsonschema): it is sound, takes every shipped
case and what workshops write, and refuses broken cases, each for its own reason.

    case_schema.py PROGRAM CASES
"""
import json
import pathlib
import subprocess
import sys
import tomllib

import jsonschema

# Ways to write a value that the program takes.
GOOD = """
carburetor.main.jet.bore = "1.25 mm"
carburetor.main.jet.bore = "1.25mm"
carburetor.main.jet.bore = " 1.25  mm "
carburetor.main.jet.bore = "3/64 in"
carburetor.main.jet.bore = "49 thou"
carburetor.main.jet.bore = "1.25 mm ± 0.01 mm"
carburetor.main.jet.bore = "1.25 mm +- 1 %"
carburetor.mixing_volume = "45 cm3 +- 10 cm3"
carburetor.mixing_volume = "45 ccm ± 10 ccm"
carburetor.main.jet.flow_rating = "266 cm3/min"
engine.compression_ratio = 8.5
engine.compression_ratio = 8
engine.compression_ratio = "8.5:1"
engine.compression_ratio = "8.5 +- 0.3"
engine.firing = ["0 deg", "405 deg"]
engine.firing = "0 deg"
engine.wall_temperature = "150 C"
engine.wall_temperature = "300 °F"
engine.wall_temperature = "-10 degC"
engine.starter_speed = "400 rpm"
engine.starter_speed = "400 rpm"
engine.starter_speed = "7 Hz"
rider.throttle = "20 %"
rider.throttle = [["0 s", "0 %"], ["60 ms", "60 %"]]
air.altitude = "8858 ft"
air.altitude = [["0 s", "0 m"], ["20 s", "2700 m"]]
base = "bikes/mule_750"
invented = true
"""

# Broken cases, each by one line; behind it what is wrong.
BROKEN = """
carburetor.main.jet.bore = "1.25 l"                     # a volume
carburetor.main.jet.bore = "1.25"                       # no unit
carburetor.main.jet.bore = 1.25                         # no unit
carburetor.main.jet.bore = "1,25 mm"                    # comma
carburetor.main.jet.bore = "wide"                       # no number
carburetor.main.jet.bore = "-1.25 mm"                   # negative
carburetor.main.jet.bore = ["1.25 mm"]                  # a list
carburetor.main.jet.bore = true                         # no quantity
carburetor.main.jet.bore = "1.25 mm ± wide"             # limits without a number
carburetor.main.jet.bore = "1.25 mm mm"                 # unit twice
carburetor.main.jet.bore = "0x10 mm"                    # hexadecimal
carburetor.main.jet.bore = "nan mm"                     # no finite number
carburetor.main.jet.boer = "1.25 mm"                    # key unknown
carburetor.main.jett.bore = "1.25 mm"                   # section unknown
carburetor.main.jet = "1.25 mm"                         # a section
carburator.main.jet.bore = "1.25 mm"                    # section unknown
carburetor.main.jet.flow_rating = "266 mm"              # a length
carburetor.mixing_volume = "45 mm2"                     # an area
carburetor.mixing_volume = "45 cm3 +- 10 mm"            # limits of another kind
carburetor.kind = "diaphragm"                           # no such choice
carburetor.kind = 2                                     # no name
engine.compression_ratio = 40                           # above
engine.compression_ratio = 1                            # below
engine.compression_ratio = "8.5 mm"                     # a length
engine.compression_ratio = [8.5]                        # a list
engine.bore = "80 kg"                                   # a mass
engine.bore = {size = "80 mm"}                          # a table
engine.firing = ["0 deg", "405 mm"]                     # a length in a list
engine.firing = ["0 deg", 405]                          # no unit in a list
engine.firing = ["0 deg", "1 deg", "2 deg", "3 deg", "4 deg", "5 deg", "6 deg", "7 deg", "8 deg"]  # too many
engine.wall_temperature = "150"                         # no unit
engine.wall_temperature = "150 kPa"                     # a pressure
engine.starter_speed = "400 km/h"                       # a velocity
engine.inertia = "0.03 kg m"                            # no moment of inertia
engine.intake.count = 9                                 # above
rider.throttle = 20                                     # no unit
rider.throttle = "20"                                   # no unit
rider.throttle = [["0 s", "0 %"], ["60 ms"]]            # no pair
rider.throttle = [["0 s", "0 %", "1 %"]]                # no pair
rider.throttle = [["0 %", "0 s"]]                       # the wrong way round
rider.throttle = []                                     # no points
air.altitude = "2700 mbar"                              # a pressure
carburetor.pump.fitted = "yes"                          # no flag
carburetor.pump.fitted = 1                              # no flag
load.speed = "4000"                                     # no unit
run.duration = "2 m"                                    # a length
run.method = "fixed"                                    # no such choice
title = 5                                               # no text
invented = "true"                                       # no flag
base = 3                                                # no path
base = ["bikes/mule_750", 3]                            # no path
colour = "red"                                          # key unknown
"""


def lines(text):
    return [line for line in text.splitlines() if line]


def main():
    program, cases = sys.argv[1], pathlib.Path(sys.argv[2])
    printed = subprocess.run([program, "list", "keys", "--schema"], check=True, capture_output=True, text=True).stdout
    schema = json.loads(printed)
    jsonschema.Draft202012Validator.check_schema(schema)
    validator = jsonschema.Draft202012Validator(schema)
    problems = []

    shipped = cases / "case.schema.json"
    if shipped.read_text(encoding="utf-8") != printed:
        problems.append(f"{shipped} is not what the program prints: glassbowl list keys --schema > {shipped.name}")

    files = [file for file in sorted(cases.glob("*/*.toml")) if file.parent.name != "lessons"]
    for file in files:
        text = file.read_text(encoding="utf-8")
        named = text.splitlines()[0].removeprefix("#:schema ")
        if (file.parent / named).resolve() != shipped.resolve():
            problems.append(f"{file}: its first line does not name the schema")
        for error in validator.iter_errors(tomllib.loads(text)):
            problems.append(f"{file}: refused: {list(error.path)}: {error.message}")
    for line in lines(GOOD):
        for error in validator.iter_errors(tomllib.loads(line)):
            problems.append(f"{line}: refused: {error.message}")
    for line in lines(BROKEN):
        if validator.is_valid(tomllib.loads(line)):
            problems.append(f"{line}: taken")
    # What each key's own example and default say must be legal.
    def examine(entry, path):
        for name, inner in entry.get("properties", {}).items():
            examine(inner, path + [name])
        for value in entry.get("examples", []) + ([entry["default"]] if "default" in entry else []):
            if not validator.evolve(schema={**entry, "$defs": schema["$defs"]}).is_valid(value):
                problems.append(f"{'.'.join(path)}: its own example or default {value} is refused")
    examine(schema, [])
    if len(files) < 25 or len(lines(BROKEN)) < 40:
        problems.append("too few cases were tried")
    print("\n".join(problems) or f"{len(files)} shipped cases and {len(lines(GOOD))} forms taken, "
          f"{len(lines(BROKEN))} broken cases refused")
    return 1 if problems else 0


if __name__ == "__main__":
    sys.exit(main())
