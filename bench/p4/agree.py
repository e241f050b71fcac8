"""Compares the JSON outputs of the two sides of P4: agree.py OURS THEIRS. Exits
1 where ours lost a second, where the means differ by more than four standard
deviations of ours, or where our rms error about the true 1000 Hz is above 1.05 of
the Cramér-Rao bound of one second: amplitude 0.1, noise 0.01 rms, 48 kHz."""
import json
import math
import sys

ours, theirs = (json.load(open(f)) for f in sys.argv[1:3])
hz, u = ours["hz"], ours["u"]
n, eta = 48000, 0.1**2 / (2 * 0.01**2)
bound = 48000 / (2 * math.pi) * math.sqrt(12 / (eta * n * (n * n - 1)))
rms = math.sqrt(sum((f - 1000) ** 2 for f in hz) / len(hz))
stated = math.sqrt(sum(v * v for v in u) / len(u))
between = sum(hz) / len(hz) - sum(theirs["hz"]) / len(theirs["hz"])
said = (f"{len(hz)} seconds, rms error {rms / bound:.3f} of the Cramér-Rao bound, stated {stated / bound:.3f} of it; "
        f"means {between * 1e6:+.2f} µHz apart")
ok = len(hz) == len(theirs["hz"]) + 1 and min(hz) > 0 and rms <= 1.05 * bound and abs(between) < 4 * bound / math.sqrt(len(hz))
if not ok:
    sys.exit(said)
print(said)
