package workshop

import "setwright/internal/run"

// LeftOut says whether a recording of a run was left out by an amendment.
func LeftOut(res Result, n int) bool {
	out := false
	for _, a := range res.Amendments {
		if a.Row == n && (a.Kind == run.AmendLeave || a.Kind == run.AmendTake) {
			out = a.Kind == run.AmendLeave
		}
	}
	return out
}
