package main

import (
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"setwright/internal/workshop"
	"setwright/judge"
)

// newClaim builds "claim MODIFICATION" and "claim plan CLAIM".
func newClaim() *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "claim MODIFICATION",
		Short: "Judge what a modification is said to do; plan the runs for it",
		Long: `Judges every claim of a modification on the runs without and with it: kept, kept in
part, not kept, or cannot tell yet. Before anyone solders: setwright claim plan.`,
		Args: cobra.ExactArgs(1),
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print one JSON object")
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		return withShop(cmd, false, func(shop *workshop.Shop) error {
			bar := newProgress(cmd.ErrOrStderr(), "judging")
			rep, err := shop.JudgeModification(cmd.Context(), args[0], workshop.CompareOptions{Progress: bar.set})
			bar.done()
			if err != nil {
				return err
			}
			if asJSON {
				return printJSON(cmd.OutOrStdout(), claimJSON(rep))
			}
			printClaims(cmd.OutOrStdout(), rep)
			return nil
		})
	}
	cmd.AddCommand(newClaimPlan())
	return cmd
}

func printClaims(w io.Writer, rep workshop.ClaimReport) {
	fmt.Fprintf(w, "%s, %s\n", rep.Set.Name, rep.Modification.Title)
	if rep.Pair.Found {
		fmt.Fprintf(w, "Judged on %q against %q.\n", rep.Pair.After.Name, rep.Pair.Before.Name)
	}
	fmt.Fprintln(w)
	if rep.Comparison != nil {
		printFairness(w, *rep.Comparison)
	}
	for _, s := range rep.Sentences {
		fmt.Fprintln(w, wrap(s, 92, "  "))
	}
	for _, c := range rep.Claims {
		if c.Verdict == nil {
			continue
		}
		v := c.Verdict.Change
		fmt.Fprintf(w, "\n%s\n  before %s, after %s, change %s\n", c.Title, printer.Outcome(v.AForm, v.Unit), printer.Outcome(v.BForm, v.Unit), printer.Outcome(v.DifferenceForm, v.Unit))
		for _, r := range c.Verdict.Reasons {
			fmt.Fprintf(w, "  %s\n", wrap(r, 90, "  "))
		}
	}
	if rep.Modification.Undo != "" {
		fmt.Fprintf(w, "\nTo undo: %s\n", wrap(rep.Modification.Undo, 80, "  "))
	}
}

// claimJSON is the object that --json prints.
func claimJSON(rep workshop.ClaimReport) any {
	type one struct {
		ID         string              `json:"id"`
		Figure     string              `json:"figure"`
		Conditions map[string]string   `json:"conditions,omitempty"`
		Words      string              `json:"words"`
		Verdict    judge.ClaimWord     `json:"verdict"`
		Why        string              `json:"why,omitempty"`
		Judged     *judge.ClaimVerdict `json:"judged,omitempty"`
		RunsNeeded int                 `json:"runs_needed"`
	}
	out := struct {
		Modification string   `json:"modification"`
		Before       string   `json:"before,omitempty"`
		After        string   `json:"after,omitempty"`
		Sentences    []string `json:"sentences"`
		Claims       []one    `json:"claims"`
		Notes        []string `json:"notes"`
	}{Modification: rep.Modification.ID, Before: rep.Pair.Before.ID, After: rep.Pair.After.ID, Sentences: rep.Sentences, Claims: []one{}, Notes: append([]string{}, rep.Notes...)}
	for _, c := range rep.Claims {
		o := one{ID: c.Claim.ID, Figure: c.Claim.Figure, Conditions: c.Claim.Conditions, Words: c.Claim.Words, Verdict: judge.CannotTellIf, Why: c.Why, Judged: c.Verdict}
		if c.Verdict != nil {
			o.Verdict = c.Verdict.Word
			o.RunsNeeded = max(c.Verdict.Needed.MoreA, c.Verdict.Needed.MoreB)
		}
		out.Claims = append(out.Claims, o)
	}
	return out
}

func newClaimPlan() *cobra.Command {
	var swap string
	var o workshop.PlanOptions
	var asJSON, look bool
	cmd := &cobra.Command{
		Use:   "plan CLAIM",
		Short: "Which runs a claim needs, in which order, and how many are made",
		Long: `Works out from what the book knows (value before, scatter from run to run) how many
cold mornings a claim needs, whether this bench can resolve it at all, and in which
order the runs are best made. The plan is kept in the book and counts the runs as
they come in; --look shows it again without making it anew.`,
		Args: cobra.ExactArgs(1),
	}
	cmd.Flags().StringVar(&swap, "swap", string(judge.BySolder), "how the modification goes in and out: switch, soldering, \"one way\"")
	cmd.Flags().IntVar(&o.PerDay, "per-day", 1, "runs that can be made in a day (cold starts: one)")
	cmd.Flags().BoolVar(&asJSON, "json", false, "print one JSON object")
	cmd.Flags().BoolVar(&look, "look", false, "show the plan as it was made, with the count so far")
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		switch o.Swap = judge.Swap(swap); o.Swap {
		case judge.BySwitch, judge.BySolder, judge.OneWay:
		default:
			return usagef("--swap %q: expected switch, soldering or \"one way\"", swap)
		}
		if o.PerDay < 1 {
			return usagef("--per-day %d: expected one run a day at least", o.PerDay)
		}
		return withShop(cmd, false, func(shop *workshop.Shop) error {
			rep, err := planOrLook(cmd, shop, args[0], o, look)
			if err != nil {
				return err
			}
			if asJSON {
				return printJSON(cmd.OutOrStdout(), map[string]any{
					"claim": rep.Claim.ID, "words": rep.Claim.Words, "plan": rep.Plan, "progress": rep.Progress, "notes": rep.Assumptions,
				})
			}
			printPlan(cmd.OutOrStdout(), rep)
			return nil
		})
	}
	return cmd
}

func planOrLook(cmd *cobra.Command, shop *workshop.Shop, claim string, o workshop.PlanOptions, look bool) (workshop.PlanReport, error) {
	if !look {
		return shop.PlanClaim(cmd.Context(), claim, o)
	}
	rep, ok, err := shop.StoredPlan(cmd.Context(), claim)
	if err == nil && !ok {
		err = fmt.Errorf("no plan has been made for %s yet: leave --look out", rep.Claim.ID)
	}
	return rep, err
}

func printPlan(w io.Writer, rep workshop.PlanReport) {
	fmt.Fprintf(w, "%s: %s\n\n", rep.Modification.Title, rep.Claim.Words)
	for _, s := range rep.Plan.Sentences {
		fmt.Fprintln(w, wrap(s, 92, "  "))
	}
	if rep.Progress.Sentence != "" {
		fmt.Fprintf(w, "\nSo far: %s\n", wrap(rep.Progress.Sentence, 90, "  "))
	}
	printList(w, "What the plan rests on", rep.Assumptions)
}
