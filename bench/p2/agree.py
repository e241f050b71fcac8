"""Compares the JSON outputs of the two sides of P2 or P2r: agree.py OURS THEIRS.
Exits 1 where an estimate is missing or differs by more than 1e-5 of the fit's."""
import json
import sys

ours, theirs = (json.load(open(f)) for f in sys.argv[1:3])
if len(ours["resamples"]) != len(theirs["resamples"]):
    sys.exit(f"{len(ours['resamples'])} and {len(theirs['resamples'])} resamples")
worst, values = 0.0, 0
for a, b in zip([ours["fit"], *ours["resamples"]], [theirs["fit"], *theirs["resamples"]], strict=True):
    for x, y, scale in zip(a, b, theirs["fit"], strict=True):
        worst, values = max(worst, abs(x - y) / abs(scale)), values + 1
print(f"{values} estimates, worst relative difference {worst:.1e}")
sys.exit(0 if values and worst <= 1e-5 else 1)
