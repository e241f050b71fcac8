"""Compares the JSON outputs of the two sides of P9: agree.py OURS THEIRS.
Exits 1 where rows, extremes or last values differ at all, or sums by more than 1e-9."""
import json
import sys

ours, theirs = (json.load(open(f)) for f in sys.argv[1:3])
if ours["rows"] != theirs["rows"]:
    sys.exit(f"rows differ: {ours['rows']} and {theirs['rows']}")
for a, b in zip(ours["columns"], theirs["columns"], strict=True):
    if a[1:] != b[1:] or abs(a[0] / b[0] - 1) > 1e-9:
        sys.exit(f"columns differ: {a} and {b}")
print(f"{ours['rows']} rows, extremes and last values equal to the last bit")
