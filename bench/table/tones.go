package main

// toneTrack is P4: the frequency of a tone second by second.
func (m makeFiles) toneTrack() workload {
	hour := m.file("hour.wav")
	return workload{
		id: "P4", title: "frequency of a tone each second of an hour of 48 kHz, 17 dB over white noise",
		tool: "SciPy, FFT of 1 s and slope of phase", modules: []string{"numpy", "scipy"},
		input:  []string{m.file("hour"), hour},
		ours:   m.ours("P4", "p4", hour),
		theirs: m.theirs("P4", "p4/reference.py", hour),
		agree:  m.agree("P4", "p4/agree.py"),
		aims:   []aim{{cpuRatio, 0.2}, {wallRatio, 0}, {peakMemory, 64}},
	}
}
