package judge

import "fmt"

// ClaimQuestion is one claim to be judged.
type ClaimQuestion struct {
	Before, After Side
	Claim         Claim
	Criterion     Criterion
	Options       Options
}

// claimStatements are the p values of what a claim is judged by; 1 where a
// statement can't be made. See [ClaimVerdict].
type claimStatements struct {
	kept  float64 // short by less than what matters, one-sided
	way   float64 // moved the promised way, two-sided
	other float64 // moved the other way, two-sided
	short float64 // less than promised, twice one-sided
	small float64 // within ±Δ of no change
	large float64 // beyond ±Δ, twice one-sided; for "unchanged"
}

func noClaimStatements() claimStatements { return claimStatements{1, 1, 1, 1, 1, 1} }

// word applies the definition of [ClaimVerdict].
func (s claimStatements) word(promised Direction) ClaimWord {
	moved := s.way < alpha
	switch {
	case promised == Unchanged && s.small < alpha:
		return Kept
	case promised == Unchanged && s.large < alpha:
		return NotKept
	case promised == Unchanged:
		return CannotTellIf
	case s.kept < alpha && moved:
		return Kept
	case s.small < alpha || s.other < alpha:
		return NotKept
	case s.short < alpha && moved:
		return KeptInPart
	}
	return CannotTellIf
}

// JudgeClaims judges several claims together, as those of one modification. Each
// kind of statement is stepped down by Holm over the claims it bears on, as in
// [CompareAll]: the chance that any claim is wrongly called kept by the amount
// stays below 5 %, so does the chance that any change is wrongly shown, or wrongly
// called too small to matter.
func JudgeClaims(qs []ClaimQuestion) []ClaimVerdict {
	vs := make([]ClaimVerdict, len(qs))
	var tested []int
	for i, q := range qs {
		vs[i] = q.test()
		if vs[i].wrong == "" && vs[i].Change.Tested {
			tested = append(tested, i)
		}
	}
	if len(tested) > 1 {
		adjustClaims(vs, tested)
	}
	for i, q := range qs {
		level, alone := alpha, vs[i].alone
		if vs[i].Family > 1 {
			level /= float64(vs[i].Family)
		}
		vs[i].conclude(q, level)
		if vs[i].Family > 1 && vs[i].Word != alone {
			vs[i].say(fmt.Sprintf("Judged together with %s: alone it would be %q.", number(vs[i].Family-1, "other claim", "other claims"), string(alone)))
		}
	}
	return vs
}

// adjustClaims steps every statement down over the tested claims.
func adjustClaims(vs []ClaimVerdict, tested []int) {
	for _, i := range tested {
		vs[i].Family, vs[i].alone = len(tested), vs[i].statements.word(vs[i].Claim.Direction)
	}
	moved := func(d Direction) bool { return d != Unchanged }
	always := func(Direction) bool { return true }
	for _, f := range []struct {
		p     func(*claimStatements) *float64
		bears func(Direction) bool
	}{
		{func(s *claimStatements) *float64 { return &s.kept }, moved},
		{func(s *claimStatements) *float64 { return &s.way }, moved},
		{func(s *claimStatements) *float64 { return &s.other }, moved},
		{func(s *claimStatements) *float64 { return &s.short }, moved},
		{func(s *claimStatements) *float64 { return &s.small }, always},
		{func(s *claimStatements) *float64 { return &s.large }, func(d Direction) bool { return d == Unchanged }},
	} {
		var at []*float64
		var p []float64
		for _, i := range tested {
			if f.bears(vs[i].Claim.Direction) {
				at = append(at, f.p(&vs[i].statements))
				p = append(p, *at[len(at)-1])
			}
		}
		for j, h := range Holm(p) {
			*at[j] = h
		}
	}
}
