"""The general tool's side of workload P2r: scipy.optimize.least_squares with the
Huber loss (knee 6 Hz) on a warm-up of two exponentials and a line, then on
resamples of it. Prints JSON.

    reference.py FILE [RESAMPLES]    FILE holds 7200 little-endian float64, one a second
"""
import json
import sys

import numpy as np
from scipy.optimize import least_squares

y = np.fromfile(sys.argv[1], dtype="<f8") - 4.2e6
count = int(sys.argv[2]) if len(sys.argv) > 2 else 100
n = len(y)
t = np.arange(n, dtype=float)
last = float(n - 1)


def curve(p):
    return p[0] + p[1] * (t - last) + p[2] * np.exp(-t / p[4]) + p[3] * np.exp(-t / p[5])


def picks(resample):
    i = np.arange(n, dtype=np.uint64) + np.uint64(10**9 + resample * n + 1)
    z = np.uint64(20080701) + i * np.uint64(0x9E3779B97F4A7C15)
    z = (z ^ (z >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    z = (z ^ (z >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    return (z ^ (z >> np.uint64(31))) % np.uint64(n)


scale = [10, 1e-3, 100, 1000, 100, 1000]


def huber(y, start):
    return least_squares(lambda p: curve(p) - y, start, loss="huber", f_scale=6.0, x_scale=scale).x


fit = huber(y, [10, 1e-3, 250, -1800, 170, 1100])
at = curve(fit)
residual = y - at
rows = [huber(at + residual[picks(k)], fit).tolist() for k in range(count)]
print(json.dumps({"fit": fit.tolist(), "resamples": rows}))
