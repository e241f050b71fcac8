package main

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"setwright/internal/intake"
	"setwright/internal/measure"
	"setwright/internal/workshop"
)

// givenFile is a file named on the command line: a log, or a recording with
// what is written on it.
type givenFile struct {
	workshop.SoundFile
	recorded bool
}

// soundFlags adds the flags for recordings where a measurement takes any; the
// function returns the channel wanted.
func soundFlags(cmd *cobra.Command, about measure.About) func() (int, error) {
	channel := "1"
	if len(about.Recordings) > 0 {
		cmd.Flags().StringVar(&channel, "channel", channel, "of a recording: its number from 1, left, right, or mean")
	}
	return func() (int, error) { return parseChannel(channel) }
}

// parseChannel reads --channel.
func parseChannel(text string) (int, error) {
	ch, err := workshop.ParseChannel(text)
	if err != nil {
		return 0, usagef("--channel: %w", err)
	}
	return ch, nil
}

// givenFiles opens what was named, logs and recordings told apart by content.
func givenFiles(args []string, channel func() (int, error)) ([]givenFile, error) {
	ch, err := channel()
	if err != nil {
		return nil, err
	}
	var out []givenFile
	for _, arg := range args {
		name, labels, err := splitLabels(arg)
		if err != nil {
			return nil, err
		}
		src, err := intake.FileSource(name)
		if err != nil {
			return nil, err
		}
		f := givenFile{SoundFile: workshop.SoundFile{Source: src, Channel: ch, Role: labels["as"], Labels: labels}}
		delete(f.Labels, "as")
		if f.recorded, err = workshop.IsRecording(src); err != nil {
			return nil, err
		}
		if labels != nil && !f.recorded {
			return nil, usagef("%s: labels after @ are for recordings; this file is none", name)
		}
		out = append(out, f)
	}
	return out, nil
}

// labelStart finds where a label begins: at the start or after a comma.
var labelStart = regexp.MustCompile(`(?:^|,)\s*([A-Za-z_]+)\s*=`)

// splitLabels splits "tone.wav@input=-73 dBm,signal=on" into the name of the
// file and its labels. A file that has such a name itself is meant as it is.
func splitLabels(arg string) (name string, labels map[string]string, err error) {
	at := strings.LastIndex(arg, "@")
	if _, err := os.Stat(arg); err == nil || at < 0 {
		return arg, nil, nil
	}
	text := arg[at+1:]
	starts := labelStart.FindAllStringSubmatchIndex(text, -1)
	if len(starts) == 0 || starts[0][0] != 0 {
		if _, err := os.Stat(arg[:at]); err == nil {
			return "", nil, usagef("%s: found %q after @, expected labels as in %s@input=-73dBm,signal=on", arg[:at], text, filepath.Base(arg[:at]))
		}
		return arg, nil, nil
	}
	labels = make(map[string]string)
	for i, s := range starts {
		end := len(text)
		if i+1 < len(starts) {
			end = starts[i+1][0]
		}
		label, value := strings.ToLower(text[s[2]:s[3]]), strings.TrimSpace(text[s[1]:end])
		switch _, twice := labels[label]; {
		case twice:
			return "", nil, usagef("%s: found the label %s twice, expected it once", arg[:at], label)
		case value == "":
			return "", nil, usagef("%s: found nothing after %s=, expected a value", arg[:at], label)
		}
		labels[label] = value
	}
	return arg[:at], labels, nil
}

// soundRuns groups recordings into runs: together where the measurement takes
// many of that kind, else one by one.
func soundRuns(about measure.About, files []givenFile) [][]workshop.SoundFile {
	var out [][]workshop.SoundFile
	var together []workshop.SoundFile
	many := slices.ContainsFunc(about.Recordings, func(s measure.RecordingSpec) bool { return s.Many }) || len(about.Recordings) > 1
	for _, f := range files {
		switch {
		case !f.recorded:
		case many:
			together = append(together, f.SoundFile)
		default:
			out = append(out, []workshop.SoundFile{f.SoundFile})
		}
	}
	if together != nil {
		out = append(out, together)
	}
	return out
}

// soundHelp tells what recordings a measurement takes and how they are given.
func soundHelp(about measure.About) string {
	if len(about.Recordings) == 0 {
		return ""
	}
	var b strings.Builder
	b.WriteString("\nRecordings (WAV, RF64, FLAC) are taken as they are:\n")
	for _, spec := range about.Recordings {
		fmt.Fprintf(&b, "  %s\n", wrap(spec.Role+": "+measure.Capital(spec.Title)+". "+spec.Help, 88, "    "))
		for _, l := range spec.Labels {
			text := "@" + l.Name + "=" + l.Example
			if len(l.Choices) > 0 {
				text = "@" + l.Name + "=" + strings.Join(l.Choices, "|")
			}
			fmt.Fprintf(&b, "    %s\n", wrap(text+"  "+l.Help, 86, "      "))
		}
	}
	if len(about.Recordings) > 1 {
		b.WriteString("    @as=" + about.Recordings[0].Role + "  which of these a file is, where it is not the first\n")
	}
	b.WriteString("What was set while a recording was made is written behind its name: tone.wav@name=value,name=value\n")
	return b.String()
}

// soundLines says what the recordings are.
func soundLines(a workshop.FileAnalysis) []string {
	var out []string
	for _, rec := range a.Recordings {
		out = append(out, workshop.RecordingTitle(rec)+": "+workshop.RecordingForm(rec))
	}
	return out
}
