package workshop

import (
	"context"
	"sort"
	"strings"

	"setwright/internal/receiver"
)

// Pair is the configurations on which a claim of a modification is judged: the
// same set without and with it, nothing else changed. Found says whether there
// is such a pair; Why says what is missing or which other pairs there are.
type Pair struct {
	Found         bool
	Before, After receiver.Configuration
	Why           string
}

// pairOf finds two configurations that differ by the modification alone. Where
// several do, the pair with the fewest other modifications is taken.
func pairOf(m receiver.Modification, configs []receiver.Configuration) Pair {
	var pairs []Pair
	for _, after := range configs {
		if !has(after, m.ID) {
			continue
		}
		for _, before := range configs {
			if sameBut(before, after, m.ID) {
				pairs = append(pairs, Pair{Found: true, Before: before, After: after})
			}
		}
	}
	switch {
	case len(pairs) > 0:
		sort.SliceStable(pairs, func(i, j int) bool {
			return len(pairs[i].Before.Modifications) < len(pairs[j].Before.Modifications)
		})
		if len(pairs) > 1 {
			pairs[0].Why = "other pairs of configurations differ by it too; this one has the fewest other changes"
		}
		return pairs[0]
	case len(having(configs, m.ID)) == 0:
		return Pair{Why: "no configuration of the set has this modification in: add one, with its state, when it is fitted"}
	}
	return Pair{Why: "no two configurations differ by this modification alone, so nothing can be laid at its door: measure the set with it out and everything else the same"}
}

// sameBut says whether after is before plus the modification and nothing else.
func sameBut(before, after receiver.Configuration, modification string) bool {
	if has(before, modification) || before.Parts != after.Parts {
		return false
	}
	return key(append([]string{modification}, before.Modifications...)) == key(after.Modifications)
}

func key(ids []string) string {
	sorted := append([]string(nil), ids...)
	sort.Strings(sorted)
	return strings.Join(sorted, "\n")
}

// ConfigurationsWith names the configurations that have a modification in.
func (s *Shop) ConfigurationsWith(ctx context.Context, m receiver.Modification) ([]string, error) {
	configs, err := s.Book.Configurations(ctx, m.SetID)
	if err != nil {
		return nil, err
	}
	var out []string
	for _, c := range having(configs, m.ID) {
		out = append(out, c.Name)
	}
	return out, nil
}
