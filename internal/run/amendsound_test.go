package run

import "testing"

func TestRecordingsStayAsTheyAreWhenAmended(t *testing.T) {
	raw := []Recording{{Name: "a.wav", Labels: map[string]string{"input": "-73 dBm"}}, {Name: "b.wav"}, {Name: "c.wav"}}
	seen := ApplyToRecordings(raw, []Amendment{
		{Kind: AmendLabel, Row: 0, Role: "input", Text: "-83 dBm", Reason: "the pad was in"},
		{Kind: AmendLabel, Row: 1, Role: "input", Text: "-93 dBm", Reason: "forgotten"},
		{Kind: AmendLeave, Row: 1, Reason: "knocked"}, {Kind: AmendTake, Row: 1, Reason: "was another one"},
		{Kind: AmendLeave, Row: 2, Reason: "knocked"}, {Kind: AmendLeave, Row: 7, Reason: "no such recording"},
	})
	if len(seen) != 2 || seen[0].Labels["input"] != "-83 dBm" || seen[1].Labels["input"] != "-93 dBm" {
		t.Errorf("amended recordings %+v", seen)
	}
	if raw[0].Labels["input"] != "-73 dBm" || raw[1].Labels != nil {
		t.Errorf("recordings as given were changed: %+v", raw)
	}
	if err := (Amendment{Kind: AmendLeave, Row: 3}).CheckRecording(raw); err == nil {
		t.Error("there is no fourth recording to leave out")
	}
}
