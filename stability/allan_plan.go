package stability

import (
	"fmt"
	"runtime"
	"slices"
	"sync"
)

// devJob is one call of [DeviationsOf].
type devJob struct {
	p       Phase
	o       DeviationOptions
	factors [][]int // for each kind
	passes  map[int]*devPass
	noise   [4]*noiseFinder // by order of difference
}

// plan settles the factors of each kind and checks that each has terms.
func (j *devJob) plan() error {
	for _, k := range j.o.Kinds {
		if k < KindAllan || k > KindHadamardTotal {
			return fmt.Errorf("deviation %v is not known", k)
		}
		factors := j.o.Factors
		if len(factors) == 0 {
			factors = Octaves(j.p, k)
		}
		if len(factors) == 0 {
			return fmt.Errorf("%w: the longest stretch without a gap has %d points, too few for any averaging time", ErrAveraging, j.p.Longest())
		}
		for _, m := range factors {
			if err := j.admit(k, m); err != nil {
				return err
			}
		}
		j.factors = append(j.factors, factors)
	}
	return nil
}

func (j *devJob) admit(k Kind, m int) error {
	if m < 1 {
		return fmt.Errorf("%w: factor %d; expected 1 or more", ErrAveraging, m)
	}
	if longest := j.p.Longest(); m >= longest || k.devTerms(longest, m) == 0 {
		return fmt.Errorf("%w: the %v deviation over %.6g s (%d readings) has no complete term; the longest stretch without a gap has %d points",
			ErrAveraging, k, float64(m)*j.p.tau0S, m, longest)
	}
	if !k.total() && k != KindAllan && k != KindHadamard {
		j.passes[m] = &devPass{m: m}
	}
	return nil
}

// devShare is how many short factors walk the record together, block by block.
const devShare = 5

// run makes the walks: factors whose block stays in the cache go together,
// each longer one by itself.
func (j *devJob) run() {
	order := make([]*devPass, 0, len(j.passes))
	for _, q := range j.passes {
		order = append(order, q)
	}
	slices.SortFunc(order, func(a, b *devPass) int { return a.m - b.m })
	var groups [][]*devPass
	for len(order) > 0 {
		n := 0
		for n < len(order) && n < devShare && order[n].blockLen() == order[0].blockLen() {
			n++
		}
		groups, order = append(groups, order[:n]), order[n:]
	}
	work := make(chan []*devPass, len(groups))
	for _, g := range groups {
		work <- g
	}
	close(work)
	var wg sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), len(groups)) {
		wg.Go(func() {
			for g := range work {
				devWalk(j.p, g)
			}
		})
	}
	wg.Wait()
}

// devWalk walks the record once for a group of factors with blocks of one length.
func devWalk(p Phase, group []*devPass) {
	for _, x := range p.segments {
		for lo := 0; lo < len(x); lo += group[0].blockLen() {
			for _, q := range group {
				q.block(x, lo)
			}
		}
	}
}
