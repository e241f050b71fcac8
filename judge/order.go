package judge

import "fmt"

// order returns the names of the states in the order of the runs, n of each, and
// how many at the end return to a.
//
//   - switch: a b b a, then b a a b, and so on. A steady drift of the set over
//     the days then adds the same to both means (exactly, when n is even).
//   - soldering: half of a, all of b, the other half of a: the same balance with
//     two changes only.
//   - one way: all of a, then all of b. Nothing guards against drift.
func order(swap Swap, n int, a, b string) (runs []string, returns int) {
	switch swap {
	case BySwitch:
		return alternate(n, a, b), 0
	case OneWay:
		return append(repeat(a, n), repeat(b, n)...), 0
	}
	first := (n + 1) / 2
	back := max(1, n-first)
	runs = append(repeat(a, first), repeat(b, n)...)
	return append(runs, repeat(a, back)...), back
}

func repeat(name string, n int) []string {
	out := make([]string, n)
	for i := range out {
		out[i] = name
	}
	return out
}

// alternate returns 2n names in blocks a b b a, b a a b; a last pair is a b or
// b a, whichever the next block would begin with.
func alternate(n int, a, b string) []string {
	block := []string{a, b, b, a, b, a, a, b}
	out := make([]string, 2*n)
	for i := range out {
		out[i] = block[i%len(block)]
	}
	return out
}

// explainOrder says why the order is as it is.
func (p *Plan) explainOrder(in PlanInput) {
	switch in.swap() {
	case BySwitch:
		p.say("Alternate the two states as listed (a b b a): whatever drifts steadily from day to day then falls on both alike.")
	case OneWay:
		p.say("The change can't be undone, so all runs of %s come first. Nothing will then tell the modification from what the set does by itself in the meantime: keep the runs close together, and note ambient and line voltage.", p.NameA)
	default:
		p.say("Each change takes soldering, so the runs are made in blocks. Undo it for the last %s: what the set does by itself in those weeks then falls on both sides alike, and a shift by the soldering itself shows.", lastRuns(p.Returns))
	}
	if p.PerDay == 1 {
		p.say("One start from cold a day.")
	}
}

// Progress is how far a plan has come.
type Progress struct {
	DoneA    int    `json:"done_a"`
	DoneB    int    `json:"done_b"`
	LeftA    int    `json:"left_a"`
	LeftB    int    `json:"left_b"`
	Next     string `json:"next"` // state of the next run, empty when done
	DaysLeft int    `json:"days_left"`
	Done     bool   `json:"done"`
	InOrder  bool   `json:"in_order"` // the runs so far were made in the order planned
	Sentence string `json:"sentence"`
}

// Progress counts the runs made so far, given as the names of their states in
// the order of time; names that are no part of the plan are not counted. Runs
// out of order count, and are told. A perDay of 0 stands for the plan's own number.
func (p Plan) Progress(made []string, perDay int) Progress {
	g := Progress{InOrder: true}
	counted := 0
	for _, name := range made {
		switch name {
		case p.NameA:
			g.DoneA++
		case p.NameB:
			g.DoneB++
		default:
			continue
		}
		if counted < len(p.Order) && p.Order[counted] != name {
			g.InOrder = false
		}
		counted++
	}
	needA, needB := p.totals()
	g.LeftA, g.LeftB = max(0, needA-g.DoneA), max(0, needB-g.DoneB)
	if perDay <= 0 {
		perDay = max(1, p.PerDay)
	}
	g.DaysLeft = days(g.LeftA+g.LeftB, perDay)
	g.Done = p.CanDecide && g.LeftA+g.LeftB == 0
	g.Next = p.next(g)
	g.Sentence = p.progressWords(g)
	return g
}

// totals is how many runs of either state the order holds.
func (p Plan) totals() (a, b int) {
	for _, name := range p.Order {
		if name == p.NameA {
			a++
		} else {
			b++
		}
	}
	return a, b
}

// next is the first state in the order of which runs are still wanted there.
func (p Plan) next(g Progress) string {
	a, b := g.DoneA, g.DoneB
	for _, name := range p.Order {
		if name == p.NameA {
			if a--; a < 0 {
				return name
			}
		} else if b--; b < 0 {
			return name
		}
	}
	return ""
}

// lastRuns counts the runs at the end of a plan.
func lastRuns(n int) string {
	if n == 1 {
		return "run"
	}
	return fmt.Sprintf("%d runs", n)
}

func (p Plan) progressWords(g Progress) string {
	if !p.CanDecide {
		return "The plan has no runs: this bench can't decide it."
	}
	if g.Done {
		return "All planned runs are made: judge them now."
	}
	text := fmt.Sprintf("Made: %d of %d runs of %s, %d of %d of %s. Next: %s.", g.DoneA, g.DoneA+g.LeftA, p.NameA, g.DoneB, g.DoneB+g.LeftB, p.NameB, g.Next)
	if !g.InOrder {
		text += " The order is not the one planned, so what the set does by itself may weigh on one side."
	}
	return text
}
