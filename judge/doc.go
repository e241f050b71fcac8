// Package judge says whether two groups of runs differ, and says it in words
// that are meant: better, worse, no difference that matters, cannot tell yet.
//
// # Words
//
//   - observation: what one run found for one figure. It is a value with its
//     within-run uncertainty, an interval, a bound, a count or a choice.
//   - side: the observations of one state, configuration or set. Verdicts are
//     said of side b against side a: "better" means that b is better.
//   - difference: mean of b less mean of a.
//   - matters: the smallest difference worth speaking of, Δ, stated for each
//     figure with its reason. See [Criterion].
//   - run-to-run scatter: the standard deviation, over runs made anew, of what
//     one unchanged set yields. It can't be seen within a single run.
//   - known scatter: run-to-run scatter known from other repeats. See [Spread].
//   - verdict: a word with the difference, its uncertainty and its reasons.
//
// # Three statements, one word
//
// For the difference δ three statements are tested, each at α = 0.05:
//
//   - real: δ = 0 is refused by the two-sided t test (Welch 1947, unequal
//     spread; degrees of freedom by Welch-Satterthwaite, JCGM 100 G.4.1).
//   - large: the 95 % interval lies wholly beyond Δ on one side.
//   - small: |δ| < Δ by two one-sided t tests at 5 % each (Schuirmann 1987),
//     that is, the 90 % interval lies within −Δ to +Δ.
//
// Small gives "no difference that matters", also where the difference is real.
// Else large gives "better" or "worse"; else real gives "better (worse),
// perhaps by too little to matter"; else "cannot tell yet". Large and small
// can't both hold, because the 95 % interval contains the 90 % one.
//
// # What scatter shows and what it does not
//
// The value of run i on a side is mean + run-to-run effect + Σ c(i,s)·e(s) over
// named sources s. The mean of n runs gets two kinds of uncertainty:
//
//  1. Scatter, s/√n with n − 1 degrees of freedom. It already holds the noise
//     that each run has of its own: nothing of that is added again.
//  2. Named sources, as far as the scatter does not show them. For one source
//     with coefficients c(i) and their mean c̄, the scatter s²/n shows, in
//     expectation, w = (Σc² − n·c̄²)/(n(n−1)), while the mean is off by c̄².
//     What is added is c̄² − w, never less than nothing. So a source of one run
//     alone adds nothing (c̄² = w); one common to all runs of a side, such as the
//     time base of the counter, adds all of itself, once (w = 0); one that was
//     common to some of the runs adds its part. Common to both sides it cancels
//     in the difference first, by arithmetic.
//
// The true scatter can't be smaller than what the runs' own stated noise makes
// of it. Where few runs agree by luck, s² is therefore raised to the variance
// that the stated sources predict between runs, Σ(Σc² − n·c̄²)/(n−1). The
// degrees of freedom stay n − 1: that errs towards "cannot tell yet".
//
// With one run on a side there is no scatter to see and the word is "cannot
// tell yet", unless known scatter is given; the verdict says which it used.
// Known scatter holds the runs' own noise too, so sources of the kind
// [quantity.FromRun] are not added to it; all other sources are.
//
// # Bounds and intervals
//
// A statement is made only where it holds for every value that bounds and
// intervals allow. For a fixed multiple k the condition d − k·u >= 0 is concave
// in the readings, so the corners of the box they allow are enough to look at.
// A bound "more than L" is replaced by L, the least it can be, where that is
// the cautious choice (the mean of min(X, L) is not above that of X), and
// forbids the statement where it is not. L hides the scatter of what lies
// beyond it: a side with bounds gets at least the scatter of the other side, and
// at least the known one.
//
// # Few runs, pairs, counts, families
//
// Welch's test errs too often where a group has two, three or four runs of
// another spread; the degrees of freedom are then lowered so that 5 % are kept
// (fewRunsDoF in scatter.go has the simulation). Known scatter made apart from the
// runs compared is pooled with theirs unless they scatter visibly more.
//
// Runs made in pairs (one morning, one antenna, alternated) are judged by the
// pairs' differences from three pairs on. Counts are judged as chance events by
// an exact test, or by their scatter where they scatter more than such events.
// Several figures are judged together by [CompareAll], which holds the chance
// of any wrong word.
//
// # Sources
//
// B. L. Welch, Biometrika 34 (1947) 28-35; F. E. Satterthwaite, Biometrics
// Bull. 2 (1946) 110-114; D. J. Schuirmann, J. Pharmacokin. Biopharm. 15 (1987)
// 657-680; E. C. Fieller, J. R. Statist. Soc. B 16 (1954) 175-185; S. Holm,
// Scand. J. Statist. 6 (1979) 65-70; F. E. Grubbs, Ann. Math. Statist. 21 (1950)
// 27-58; B. Rosner, Technometrics 25 (1983) 165-172; JCGM 100:2008.
// All from memory, formulas checked by simulation and against SciPy 1.10.1.
package judge
