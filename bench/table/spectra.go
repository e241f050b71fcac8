package main

// welch is P3: the mean spectrum of an hour.
func (m makeFiles) welch() workload {
	hour := m.file("hour.wav")
	return workload{
		id: "P3", title: "Welch spectrum, segments of 65536, Hann, half overlap, of an hour of 48 kHz, 16 bit, reading included",
		tool: "SciPy, FFT a segment at a time", modules: []string{"numpy", "scipy"},
		input:  []string{m.file("hour"), hour},
		ours:   m.ours("P3", "p3", hour),
		theirs: m.theirs("P3", "p3/reference.py", hour),
		agree:  m.agree("P3", "p3/agree.py"),
		aims:   []aim{{cpuRatio, 1.5}, {wallRatio, 0.9}, {peakMemory, 32}},
	}
}
