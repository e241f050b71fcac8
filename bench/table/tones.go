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

// toneTrackSingle is the same with the tool's transforms in single precision,
// which is enough for this recording and twice as fast; only shown.
func (m makeFiles) toneTrackSingle() workload {
	w := m.toneTrack()
	w.id, w.title, w.tool = "P4s", "the same", "SciPy in single precision"
	w.ours = m.ours("P4s", "p4", m.file("hour.wav"))
	w.theirs = m.theirs("P4s", "p4/reference.py", m.file("hour.wav"), "single")
	w.agree = m.agree("P4s", "p4/agree.py")
	w.aims = []aim{{cpuRatio, 0}}
	return w
}
