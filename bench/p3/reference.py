"""The general tool's side of workload P3: Welch's mean spectrum, one real FFT of
SciPy a segment of a mapped file, sums kept in place. Prints JSON.

    reference.py FILE.wav    one channel, 16 bit
"""
import json
import sys

import numpy as np
from scipy.fft import rfft
from scipy.io import wavfile

N = 65536
rate, x = wavfile.read(sys.argv[1], mmap=True)
window = 0.5 - 0.5 * np.cos(2 * np.pi * np.arange(N) / N)
power = np.zeros(N // 2 + 1)
segment = np.empty(N)
count = 0
for start in range(0, len(x) - N + 1, N // 2):
    np.multiply(x[start:start + N], 1 / 32768, out=segment)
    segment -= segment.mean()
    segment *= window
    z = rfft(segment, overwrite_x=True)
    power += z.real**2 + z.imag**2
    count += 1
power *= 2 / (rate * np.sum(window**2) * count)
power[[0, -1]] /= 2
print(json.dumps({"segments": count, "density": power.tolist()}))
