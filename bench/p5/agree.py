"""Compares the JSON outputs of the two sides of P5: agree.py OURS THEIRS. Exits
1 where integrated loudness differs by more than 0.001 LU, the range by more than
0.1 LU (theirs takes a value every second, ours every 100 ms), or the true peak by
more than +0.4 and -0.2 dB (theirs is the one that reads low between positions)."""
import json
import sys

ours, theirs = (json.load(open(f)) for f in sys.argv[1:3])
apart = {k: ours[k] - theirs[k] for k in theirs}
limits = {"integrated": (-0.001, 0.001), "range": (-0.1, 0.1), "true_peak": (-0.2, 0.4)}
said = ", ".join(f"{k.replace('_', ' ')} {ours[k]:.3f}, {d:+.4f} apart" for k, d in apart.items())
if ours.keys() != theirs.keys() or any(not limits[k][0] <= d <= limits[k][1] for k, d in apart.items()):
    sys.exit(said)
print(said)
