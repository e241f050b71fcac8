"""The general tool's side of workload P2r: scipy.optimize.least_squares with the
Huber loss (knee 6 Hz) on a warm-up of two exponentials and a line, then on
resamples of it. Prints JSON. It is given the analytic Jacobian and its own
tolerances: the fastest that still agrees.

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


def jacobian(p):
    e1, e2 = np.exp(-t / p[4]), np.exp(-t / p[5])
    out = np.empty((n, 6), order="F")
    out[:, 0], out[:, 1], out[:, 2], out[:, 3] = 1, t - last, e1, e2
    out[:, 4], out[:, 5] = p[2] * e1 * t / p[4]**2, p[3] * e2 * t / p[5]**2
    return out


def picks(resample):
    i = np.arange(n, dtype=np.uint64) + np.uint64(10**9 + resample * n + 1)
    z = np.uint64(20080701) + i * np.uint64(0x9E3779B97F4A7C15)
    z = (z ^ (z >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    z = (z ^ (z >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    return (z ^ (z >> np.uint64(31))) % np.uint64(n)


scale = [10, 1e-3, 100, 1000, 100, 1000]


def huber(y, start):
    return least_squares(lambda p: curve(p) - y, start, jacobian, loss="huber", f_scale=6.0, x_scale=scale).x


fit = huber(y, [10, 1e-3, 250, -1800, 170, 1100])
at = curve(fit)
residual = y - at
rows = [huber(at + residual[picks(k)], fit).tolist() for k in range(count)]
print(json.dumps({"fit": fit.tolist(), "resamples": rows}))
