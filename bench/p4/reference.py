"""The general tool's side of workload P4: SciPy, one real FFT a second of a
mapped file, then the slope of the phase at the strongest line from second to
second. Prints JSON.

    reference.py FILE.wav [single]    one channel, 16 bit, a whole number of hertz as
                                      rate; single: transforms in single precision
"""
import json
import sys

import numpy as np
from scipy.fft import rfft
from scipy.io import wavfile

rate, x = wavfile.read(sys.argv[1], mmap=True)
kind = np.float32 if "single" in sys.argv[2:] else np.float64
seconds = len(x) // rate
line = None
phase = np.empty(seconds)
bins = np.empty(seconds)
for k in range(seconds):
    z = rfft(x[k * rate:(k + 1) * rate].astype(kind))
    a = np.abs(z[20:])
    line = 20 + int(a.argmax())
    bins[k], phase[k] = line, np.angle(z[line])
# A second starts after a whole number of cycles of every bin: what the phase
# moves on is what the tone lies beside its bin.
hz = bins[1:] + np.remainder(np.diff(phase) + np.pi, 2 * np.pi) / (2 * np.pi) - 0.5
print(json.dumps({"hz": hz.tolist()}))
