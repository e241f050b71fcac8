package workshop

import (
	"context"
	"fmt"
	"strings"

	"setwright/internal/measure"
	"setwright/internal/receiver"
	"setwright/judge"
	"setwright/quantity"
)

// ClaimReport is a modification judged on its claims.
type ClaimReport struct {
	Modification receiver.Modification
	Set          receiver.Set
	Pair         Pair
	Comparison   *Comparison // nil where there is no pair or no runs on both sides
	Claims       []JudgedClaim
	Sentences    []string
	Notes        []string
}

// JudgedClaim is one claim with its verdict. Verdict is nil where it could not
// be judged; Why says why.
type JudgedClaim struct {
	Claim   receiver.Claim
	Spec    measure.FigureSpec
	Title   string
	Verdict *judge.ClaimVerdict
	Why     string
}

// JudgeModification judges every claim of a modification on the runs of the two
// configurations that differ by it alone.
func (s *Shop) JudgeModification(ctx context.Context, selector string, o CompareOptions) (ClaimReport, error) {
	m, err := s.FindModification(ctx, selector)
	if err != nil {
		return ClaimReport{}, err
	}
	rep := ClaimReport{Modification: m}
	if rep.Set, err = s.Book.Set(ctx, m.SetID); err != nil {
		return rep, err
	}
	configs, err := s.Book.Configurations(ctx, m.SetID)
	if err != nil {
		return rep, err
	}
	rep.Pair = pairOf(m, configs)
	if rep.Pair.Found {
		if err := s.comparePair(ctx, &rep, o); err != nil {
			return rep, err
		}
	}
	rep.Claims = s.judgeClaims(ctx, rep)
	rep.Sentences = rep.sentences()
	return rep, nil
}

// comparePair compares the configurations without and with the modification.
func (s *Shop) comparePair(ctx context.Context, rep *ClaimReport, o CompareOptions) error {
	before, err := s.Find(ctx, rep.Pair.Before.ID)
	if err != nil {
		return err
	}
	after, err := s.Find(ctx, rep.Pair.After.ID)
	if err != nil {
		return err
	}
	for _, t := range []Target{before, after} {
		runs, err := s.targetRuns(ctx, t)
		if err != nil {
			return err
		}
		if len(runs) == 0 {
			rep.Notes = append(rep.Notes, fmt.Sprintf("%s has no finished runs yet", t.Name))
		}
	}
	if len(rep.Notes) > 0 {
		return nil
	}
	c, err := s.compareTargets(ctx, before, after, o)
	if err != nil {
		return err
	}
	rep.Comparison = &c
	return nil
}

// judgeClaims judges the claims of a modification together, so that the chance
// of any wrong word among them is held.
func (s *Shop) judgeClaims(ctx context.Context, rep ClaimReport) []JudgedClaim {
	var out []JudgedClaim
	var questions []judge.ClaimQuestion
	var asked []int
	for _, c := range rep.Modification.Claims {
		j, q := s.claimQuestion(ctx, rep, c)
		if q != nil {
			questions, asked = append(questions, *q), append(asked, len(out))
		}
		out = append(out, j)
	}
	for i, v := range judge.JudgeClaims(questions) {
		out[asked[i]].Verdict = &v
	}
	return out
}

// claimQuestion is what is asked of one claim on the comparison of its
// modification; nil where it cannot be judged, and then the claim says why.
func (s *Shop) claimQuestion(ctx context.Context, rep ClaimReport, c receiver.Claim) (JudgedClaim, *judge.ClaimQuestion) {
	spec, _, _ := s.Registry.Figure(c.Figure)
	out := JudgedClaim{Claim: c, Spec: spec, Title: FigureTitle(spec, c.Conditions)}
	switch {
	case !rep.Pair.Found:
		out.Why = rep.Pair.Why
		return out, nil
	case rep.Comparison == nil:
		out.Why = strings.Join(rep.Notes, "; ")
		return out, nil
	case rep.Comparison.Fairness.Blocked:
		out.Why = strings.Join(rep.Comparison.Sentences, " ")
		return out, nil
	}
	row := findRow(*rep.Comparison, c)
	if row == nil {
		out.Why = fmt.Sprintf("no run on both sides gives %s", out.Title)
		return out, nil
	}
	return out, &judge.ClaimQuestion{
		Before: sideOf(rep.Comparison.A, *row), After: sideOf(rep.Comparison.B, *row), Claim: claimOf(c),
		Criterion: criterionOf(s.amountsOrDefaults(ctx).apply(spec)),
		Options:   judge.Options{Unpaired: true, KnownScatter: s.knownScatter(ctx, rep.Comparison.A, *rep.Comparison, *row)},
	}
}

// findRow finds the figure that a claim is about. A figure that is not judged
// by default is looked for among all figures of both sides.
func findRow(c Comparison, claim receiver.Claim) *ComparedFigure {
	for _, row := range figureRows(c, []string{claim.Figure}) {
		if sameConditions(row.Conditions, claim.Conditions) {
			return &row
		}
	}
	return nil
}

// sameConditions says whether a figure's own conditions are those a claim asks
// for.
func sameConditions(figure, claim map[string]string) bool {
	for k, v := range claim {
		if have, ok := figure[k]; ok && have != v {
			return false
		}
	}
	return true
}

func claimOf(c receiver.Claim) judge.Claim {
	return judge.Claim{Figure: c.Figure, Direction: judge.Direction(c.Direction), Amount: c.Amount, Relative: c.Relative}
}

// sentences puts the report in words: the answer first.
func (r ClaimReport) sentences() []string {
	if len(r.Claims) == 0 {
		return []string{fmt.Sprintf("Nothing is claimed for %q yet: add what it is said to do.", r.Modification.Title)}
	}
	var out []string
	for _, c := range r.Claims {
		word := string(judge.CannotTellIf)
		if c.Verdict != nil {
			word = string(c.Verdict.Word)
		}
		line := fmt.Sprintf("%s: %s.", measure.Capital(word), c.Claim.Words)
		if c.Verdict == nil {
			out = append(out, line+" "+strings.TrimSuffix(measure.Capital(c.Why), ".")+".")
			continue
		}
		if v := c.Verdict.Change; v.NA > 0 && v.NB > 0 {
			line += fmt.Sprintf(" %s: %s before, %s after, change %s.", measure.Capital(c.Title),
				quantity.FormatOutcome(v.AForm, v.Unit), quantity.FormatOutcome(v.BForm, v.Unit), quantity.FormatOutcome(v.DifferenceForm, v.Unit))
		}
		if c.Verdict.Word == judge.CannotTellIf && c.Verdict.Needed.Sentence != "" {
			line += " " + c.Verdict.Needed.Sentence
		}
		out = append(out, line)
	}
	return out
}
