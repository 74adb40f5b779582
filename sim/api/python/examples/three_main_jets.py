"""A ride with three main jets: three_main_jets.py [CASE]

Prints mean lambda and torque of each. All shipped cases are invented. A mixture set too lean overheats and seizes
pistons: the workshop manual comes first.
"""
import sys

import glassbowl

case = sys.argv[1] if len(sys.argv) > 1 else "full_throttle_pull"
print("main jet   mean lambda   mean brake torque")
for bore in ("1.60 mm", "1.70 mm", "1.80 mm"):
    trace = glassbowl.run(case, {"carburetor.main.jet.bore": bore})
    torque = trace["cycle_brake_torque"]
    print(f"{bore:<11}{float(trace['cycle_lambda'].mean()):<14.3f}{float(torque.mean()):.1f} {torque.attrs['units']}")
