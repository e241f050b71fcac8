"""Compares the JSON outputs of the two sides of P3: agree.py OURS THEIRS. Exits
1 where the numbers of segments differ, or any bin by more than 1e-9 of its value
and 1e-15 of the greatest (at zero there is nothing but rounding)."""
import json
import sys

ours, theirs = (json.load(open(f)) for f in sys.argv[1:3])
if ours["segments"] != theirs["segments"]:
    sys.exit(f"segments differ: {ours['segments']} and {theirs['segments']}")
a, b = ours["density"], theirs["density"]
floor = 1e-15 * max(b)
worst = max(abs(p - q) / max(q, floor) for p, q in zip(a, b, strict=True) if q > floor)
if worst > 1e-9:
    sys.exit(f"densities differ by {worst:.2g} of their value")
print(f"{len(a)} bins of {ours['segments']} segments, within {worst:.1g} of their value")
