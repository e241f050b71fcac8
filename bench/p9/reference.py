"""The general tool's side of workload P9: numpy.loadtxt of the same log. Prints JSON.

    reference.py FILE    FILE holds a heading and lines of three numbers with commas
"""
import json
import sys

import numpy as np

table = np.loadtxt(sys.argv[1], delimiter=",", skiprows=1, encoding="utf-8")
print(json.dumps({
    "rows": len(table),
    "columns": [[float(c.sum()), float(c.min()), float(c.max()), float(c[-1])] for c in table.T],
}))
