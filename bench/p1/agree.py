"""Compares the JSON outputs of the two sides of P1: agree.py OURS THEIRS.
Exits 1 where a value is missing or they differ by more than 1e-9 of it."""
import json
import sys

ours, theirs = (json.load(open(f)) for f in sys.argv[1:3])
worst, values = 0.0, 0
for kind, points in theirs.items():
    if set(points) != set(ours[kind]):
        sys.exit(f"{kind}: averaging factors differ: {sorted(points)} and {sorted(ours[kind])}")
    for m, value in points.items():
        worst, values = max(worst, abs(ours[kind][m] / value - 1)), values + 1
print(f"{values} values, worst relative difference {worst:.1e}")
sys.exit(0 if values and worst <= 1e-9 else 1)
