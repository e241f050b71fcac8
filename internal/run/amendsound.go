package run

import (
	"fmt"
	"maps"
)

// CheckRecording says what is wrong with an amendment of one of a run's
// recordings, or nil; amendments of other kinds are not looked at.
func (a Amendment) CheckRecording(recs []Recording) error {
	switch a.Kind {
	case AmendLabel, AmendLeave, AmendTake:
	default:
		return nil
	}
	switch {
	case len(recs) == 0:
		return fmt.Errorf("amendment of recording %d: the run has no recordings", a.Row+1)
	case a.Row < 0 || a.Row >= len(recs):
		return fmt.Errorf("amendment of recording %d: the run has recordings 1 to %d", a.Row+1, len(recs))
	case a.Kind == AmendLabel && a.Role == "":
		return fmt.Errorf("amendment of a label: its name is missing")
	}
	return nil
}

// ApplyToRecordings returns the recordings as analyses see them, with the
// amendments applied in order. The recordings given stay as they are.
func ApplyToRecordings(recs []Recording, amendments []Amendment) []Recording {
	left := make(map[int]bool)
	for _, a := range amendments {
		switch a.Kind {
		case AmendLeave:
			left[a.Row] = true
		case AmendTake:
			delete(left, a.Row)
		}
	}
	var out []Recording
	for i, r := range ApplyLabels(recs, amendments) {
		if !left[i] {
			out = append(out, r)
		}
	}
	return out
}

// ApplyLabels returns all recordings with their labels put right, those left out
// too.
func ApplyLabels(recs []Recording, amendments []Amendment) []Recording {
	out := make([]Recording, len(recs))
	for i, r := range recs {
		out[i] = r
		out[i].Labels = maps.Clone(r.Labels)
	}
	for _, a := range amendments {
		if a.Kind != AmendLabel || a.CheckRecording(recs) != nil {
			continue
		}
		if out[a.Row].Labels == nil {
			out[a.Row].Labels = make(map[string]string)
		}
		out[a.Row].Labels[a.Role] = a.Text
	}
	return out
}

// recordingWords says an amendment of a recording, or of nothing but a note, in
// words.
func (a Amendment) recordingWords() string {
	switch a.Kind {
	case AmendLabel:
		return fmt.Sprintf("%s of recording %d put right to %q: %s", a.Role, a.Row+1, a.Text, a.Reason)
	case AmendLeave:
		return fmt.Sprintf("recording %d left out: %s", a.Row+1, a.Reason)
	case AmendTake:
		return fmt.Sprintf("recording %d taken in again: %s", a.Row+1, a.Reason)
	}
	return a.Reason
}
