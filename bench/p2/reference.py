"""The general tool's side of workload P2: scipy.optimize.curve_fit on a warm-up
of two exponentials and a line, then on resamples of it. Prints JSON. It is given
the analytic Jacobian and its own tolerances: the fastest that still agrees.

    reference.py FILE [RESAMPLES]    FILE holds 7200 little-endian float64, one a second
"""
import json
import sys

import numpy as np
from scipy.optimize import curve_fit

y = np.fromfile(sys.argv[1], dtype="<f8") - 4.2e6
count = int(sys.argv[2]) if len(sys.argv) > 2 else 1000
n = len(y)
t = np.arange(n, dtype=float)
last = float(n - 1)


def curve(t, limit, slope, a1, a2, tau1, tau2):
    return limit + slope * (t - last) + a1 * np.exp(-t / tau1) + a2 * np.exp(-t / tau2)


def jacobian(t, limit, slope, a1, a2, tau1, tau2):
    e1, e2 = np.exp(-t / tau1), np.exp(-t / tau2)
    out = np.empty((n, 6), order="F")
    out[:, 0], out[:, 1], out[:, 2], out[:, 3] = 1, t - last, e1, e2
    out[:, 4], out[:, 5] = a1 * e1 * t / tau1**2, a2 * e2 * t / tau2**2
    return out


def picks(resample):
    i = np.arange(n, dtype=np.uint64) + np.uint64(10**9 + resample * n + 1)
    z = np.uint64(20080701) + i * np.uint64(0x9E3779B97F4A7C15)
    z = (z ^ (z >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    z = (z ^ (z >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    return (z ^ (z >> np.uint64(31))) % np.uint64(n)


fit, _ = curve_fit(curve, t, y, p0=[10, 0, 200, -1500, 200, 1000], jac=jacobian)
at = curve(t, *fit)
residual = y - at
rows = [curve_fit(curve, t, at + residual[picks(k)], p0=fit, jac=jacobian)[0].tolist() for k in range(count)]
print(json.dumps({"fit": fit.tolist(), "resamples": rows}))
