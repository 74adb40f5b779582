#!/usr/bin/env python3
"""Lays the summaries of two blips (glassbowl run --json) side by side: compare_blips.py WITH.json WITHOUT.json"""
import json
import sys


def milliseconds(value):
    return "not reached" if value is None else f"{1e3 * value:.0f} ms"


def lag_line(share):
    return (f"{share} % of the rise later than with an ideal mixture",
            lambda s: milliseconds(s.get(f"blip_lag_{share}_s")))


LINES = [
    lag_line(10),
    lag_line(50),
    lag_line(90),
    ("highest cycle-mean speed", lambda s: f"{s['speed_highest_rpm']:.0f} rpm"),
    ("misfires after the throttle opened", lambda s: str(s["blip_misfired_cycles"])),
    ("leanest in-cylinder lambda after it opened", lambda s: f"{s['blip_lambda_leanest']:.2f}"),
    ("fuel from the accelerator pump", lambda s: f"{100 * s['circuit_share'].get('pump', 0.0):.1f} % of all"),
]


def main():
    blips = []
    for path in sys.argv[1:3]:
        with open(path, encoding="utf-8") as file:
            blips.append(json.load(file))
    print(f"\n{'One throttle blip':<52}{'with pump':>14}{'without':>14}")
    for name, of in LINES:
        print(f"  {name:<50}{of(blips[0]):>14}{of(blips[1]):>14}")


if __name__ == "__main__":
    main()
