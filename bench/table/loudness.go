package main

// loudness is P5: integrated loudness and range of an hour of two channels, with
// the true peak too where the option is given.
func (m makeFiles) loudness(id, option string, cpu, wall float64) workload {
	hour, tool := m.file("hour-stereo.wav"), m.file("tool-p5")
	title := "integrated loudness and range of an hour of 48 kHz, 16 bit, two channels"
	args := []string{hour}
	if option != "" {
		title, args = "the same with true peak", []string{option, hour}
	}
	w := workload{
		id: id, title: title, tool: "libebur128, in C",
		program: tool, packages: []string{"gcc", "libebur128-dev", "python3"},
		input:  []string{m.file("hour"), "-channels", "2", "-amplitude", "0.2", "-noise", "0.05", "-fade", "24", "-period", "97", hour},
		ours:   m.ours(id, "p5", args...),
		theirs: process{args: append([]string{tool}, args...), save: m.file(id + "-tool.json")},
		agree:  m.agree(id, "p5/agree.py"),
		aims:   []aim{{cpuRatio, cpu}, {wallRatio, wall}, {peakMemory, 16}},
	}
	return w
}
