"""The general tool's side of workload P1, in plain NumPy: one pass per averaging
time, the second differences shared by the three deviations. Prints JSON.

    numpy.py FILE    FILE holds phase points as little-endian float64
"""
import json
import sys

import numpy as np

x = np.fromfile(sys.argv[1], dtype="<f8")
n = len(x)
out = {"overlapping": {}, "modified": {}, "overlapping_hadamard": {}}
m = 1
while 5 * m <= n - 1:
    second = x[2 * m:] - 2 * x[m:-m] + x[:-2 * m]
    out["overlapping"][m] = float(np.sqrt(np.dot(second, second) / (2 * len(second))) / m)
    if 6 * m <= n - 1:
        third = second[m:] - second[:-m]
        out["overlapping_hadamard"][m] = float(np.sqrt(np.dot(third, third) / (6 * len(third))) / m)
        sums = np.cumsum(np.concatenate(([0.0], second)))
        sums = sums[m:] - sums[:-m]
        out["modified"][m] = float(np.sqrt(np.dot(sums, sums) / (2 * len(sums))) / m / m)
    m *= 2
print(json.dumps(out))
