"""Lambda over speed and throttle: map_table.py [BIKE [SPEEDS [OPENINGS]]]

All shipped bikes are invented.
"""
import sys

import glassbowl

bike, speeds, openings = (sys.argv[1:] + ["bikes/mule_750", "2000, 4000 rpm", "20, 60, 100 %"][len(sys.argv) - 1:])[:3]
study = glassbowl.study("map", bike, speeds=speeds, openings=openings)
values = glassbowl.channel(study, "lambda")
print(values.attrs["long_name"])
print(values.squeeze().to_pandas().round(3))
