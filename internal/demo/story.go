// Package demo is the invented scenario: a lightvessel museum's two sets, what
// was done to them, and the logs of it, computed from a seed. Sets, people and
// readings are invented; the verdicts are what the program makes of them.
package demo

import (
	"context"
	"fmt"
	"io"
	"strings"
	"time"

	"setwright/internal/run"
	"setwright/internal/workshop"
)

// Tell makes the book of the invented scenario and tells its story to w, with
// the verdicts as the program gives them: nothing in the text is a number that
// was not computed on the way. The shop's clock is the story's own while it is
// told.
func Tell(ctx context.Context, shop *workshop.Shop, w io.Writer) error {
	s := &scenario{ctx: ctx, shop: shop}
	clock := shop.Clock
	shop.Clock = func() time.Time { return s.now }
	defer func() { shop.Clock = clock }()
	t := teller{scenario: s, w: w}
	t.say(`A lightvessel museum has two receivers, Turnstone and Whimbrel, a counter, and cold
		mornings. Museum, sets, readings and recordings are invented: they are computed from a seed.
		What is said about them is not: every verdict below was worked out just now.`)
	t.asFound()
	t.pair()
	t.can()
	t.regulator()
	t.rivals()
	t.evenings()
	return s.err
}

// teller tells the story while the scenario unfolds.
type teller struct {
	*scenario
	w io.Writer
}

func (t teller) head(text string) {
	if t.err == nil {
		fmt.Fprintf(t.w, "\n%s\n%s\n", text, strings.Repeat("─", len([]rune(text))))
	}
}

// say prints a paragraph of the story.
func (t teller) say(text string) {
	if t.err == nil {
		fmt.Fprintln(t.w, fill(text, 0))
	}
}

// shown prints what the program says, set off from the story.
func (t teller) shown(lines ...string) {
	if t.err != nil {
		return
	}
	for _, l := range lines {
		fmt.Fprintln(t.w, fill(l, 4))
	}
}

// asFound takes the sets in and measures them.
func (t teller) asFound() {
	t.takeIn()
	t.head("January: Turnstone as found")
	t.say(`Its note slides. The first morning there is only a clock and the dial: six glances,
		written on a card, typed in afterwards.`)
	t.glances()
	t.say(`Intervals and bounds, honestly. Then the counter, three mornings from cold; the last two:`)
	for i, m := range []struct {
		d       int
		c, v, h float64
		name    string
		write   func(sitting, []reading) []byte
	}{
		{15, 17.8, 231, 14, "turnstone 15-01.csv", semicolonLog},
		{17, 18.4, 233, 38, "turnstone 17-01.csv", semicolonLog},
		{20, 17.2, 230, 62, "ts_20jan.txt", commaLog},
	} {
		sit := morning(day(time.January, m.d), m.c, m.v, m.h, uint64(101+i))
		if i == 1 {
			sit.slips = []slip{{at: 25 * time.Minute, factor: 0.1}}
		}
		t.log("turnstone/as-found", turnstoneAsFound, sit, m.name, m.write, "")
	}
	t.sentencesOf("turnstone/as-found", 2)
	t.say(`One log holds a reading with a digit dropped. It was set aside and listed; the raw file
		is in the book, byte for byte.`)
}

// glances is the typed run.
func (t teller) glances() {
	if t.err != nil {
		return
	}
	sit := sitting{start: day(time.January, 14), every: time.Minute, lasts: 2 * time.Hour, ambientC: 18, seed: 100}
	rs := turnstoneAsFound.readings(sit)
	entry := workshop.CardEntry{Unit: "MHz", NewRun: workshop.NewRun{
		State: "turnstone/as-found", Measurement: "drift", Started: sit.start,
		Options: map[string]string{"oscillator": "set", "dial": dialText, "off_time": "15 h"},
		Setup:   run.Setup{Operator: "invented"},
	}}
	for _, minute := range []int{10, 20, 30, 45, 60, 90} {
		dial := (rs[minute-1].hz - 612e3) / 1e6
		entry.Rows = append(entry.Rows, workshop.CardRow{Time: fmt.Sprint(minute), Values: map[string]string{"frequency": fmt.Sprintf("%.4f", dial)}})
	}
	t.now = sit.start.Add(3 * time.Hour)
	r, err := t.shop.EnterCard(t.ctx, entry)
	t.must(err)
	t.result(r.ID)
}

// pair plans, fits and judges the compensating pair.
func (t teller) pair() {
	t.proposePair()
	t.head("Before anyone solders")
	t.say(`Sheet 12 proposes a compensating pair of capacitors: settling a third sooner, half the
		movement. How many cold mornings would it take to know?`)
	if t.err == nil {
		plan, err := t.shop.PlanClaim(t.ctx, "turnstone/compensating-pair#1", workshop.PlanOptions{})
		t.must(err)
		t.shown(plan.Plan.Sentences...)
	}
	t.fitPair()
	for i, m := range []struct {
		d       int
		c, v, h float64
		name    string
		write   func(sitting, []reading) []byte
	}{
		{4, 18.1, 232, 20, "turnstone 04-02.csv", semicolonLog},
		{6, 17.6, 231, 38, "ts_06feb.txt", commaLog},
		{8, 18.6, 234, 39, "ts_08feb.tsv", stampLog},
	} {
		t.log("turnstone/pair-fitted", turnstonePair, morning(day(time.February, m.d), m.c, m.v, m.h, uint64(201+i)), m.name, m.write, "")
	}
	t.head("February: the pair is in. Does it keep its promise?")
	t.claims("turnstone/compensating-pair")
}

// can judges the brass can that came with the set.
func (t teller) can() {
	t.liftCan()
	t.head("The brass can")
	t.say(`The can over the oscillator valve came with the set; a label inside promises a fifth less
		movement from cold. It lifts off in a minute, so mornings alternate: off, on, on, off.`)
	off := func(d int, c, v float64, seed uint64) {
		t.log("turnstone/pair-fitted-can-off", turnstonePair, morning(day(time.February, d), c, v, 15, seed), fmt.Sprintf("ts_%02dfeb.txt", d), commaLog, "can off")
	}
	on := func(d int, c, v float64, seed uint64) {
		t.log("turnstone/pair-fitted", turnstonePair, morning(day(time.February, d), c, v, 15, seed), fmt.Sprintf("ts_%02dfeb.txt", d), commaLog, "can back on")
	}
	off(11, 18.0, 232, 301)
	t.now = day(time.February, 12)
	t.again("turnstone/pair-fitted")
	on(13, 17.9, 231, 302)
	on(14, 18.3, 232, 303)
	t.now = day(time.February, 15)
	t.again("turnstone/pair-fitted-can-off")
	off(16, 18.2, 233, 304)
	off(18, 17.7, 231, 305)
	off(20, 18.5, 232, 306)
	t.claims("turnstone/brass-can-over-v3")
}

// regulator judges Whimbrel's regulator tube on too few runs.
func (t teller) regulator() {
	t.head("March: Whimbrel's regulator tube")
	t.say(`A tube is found for Whimbrel's empty regulator socket. There were five mornings before
		and one after: is that enough?`)
	sit := morning(day(time.March, 2), 18.2, 231, 16, 401)
	t.log("whimbrel/as-found", whimbrelAsFound, sit, "whimbrel 02-03.csv", semicolonLog, "")
	sit = morning(day(time.March, 4), 17.6, 233, 38, 402)
	sit.jumps = []jump{{at: 97 * time.Minute, sizeHz: 160}}
	t.log("whimbrel/as-found", whimbrelAsFound, sit, "whimbrel 04-03.csv", semicolonLog, "something ticked at about a quarter past nine")
	t.sentencesOf("whimbrel/as-found", 1)
	for i, d := range []int{6, 7, 8} {
		sit = morning(day(time.March, d), 18.0+0.2*float64(i), 232, 15, uint64(404+i))
		t.log("whimbrel/as-found", whimbrelAsFound, sit, fmt.Sprintf("wb_%02dmar.txt", d), commaLog, "")
	}
	t.now = day(time.March, 9)
	t.regulated()
	t.log("whimbrel/regulator-in", whimbrelRegulated, morning(day(time.March, 10), 18.4, 232, 14, 403), "wb_10mar.txt", commaLog, "")
	t.claims("whimbrel/regulator-tube-in-the-oscillator-supply")
}

// rivals compares the sets as they stand.
func (t teller) rivals() {
	t.head("Which of the two stays put?")
	if t.err != nil {
		return
	}
	c, err := t.shop.Compare(t.ctx, "turnstone/pair-fitted", "whimbrel/as-found", workshop.CompareOptions{})
	t.must(err)
	for _, f := range c.Fairness.Findings {
		t.shown("First: " + f.Text)
	}
	t.shown(c.Sentences...)
}

// claims prints the verdicts on a modification's claims.
func (t teller) claims(modification string) {
	if t.err != nil {
		return
	}
	rep, err := t.shop.JudgeModification(t.ctx, modification, workshop.CompareOptions{})
	t.must(err)
	t.shown(rep.Sentences...)
}

// result prints the sentences of a run.
func (t teller) result(runID string) {
	if t.err != nil {
		return
	}
	res, err := t.shop.Result(t.ctx, runID, nil, nil)
	t.must(err)
	t.shown(strings.Join(res.Analysis.Sentences, " "))
}

// sentencesOf prints the sentences of the last n runs of a state.
func (t teller) sentencesOf(state string, n int) {
	if t.err != nil {
		return
	}
	target, err := t.shop.Find(t.ctx, state)
	t.must(err)
	if t.err != nil {
		return
	}
	view, err := t.shop.SetView(t.ctx, target.Set.ID, false)
	t.must(err)
	for _, st := range view.States {
		if st.State.ID != target.States[0].ID {
			continue
		}
		runs := st.Runs[max(0, len(st.Runs)-n):]
		for _, r := range runs {
			t.result(r.Run.ID)
		}
	}
}

// fill breaks text at blanks to lines of at most 88 characters, indented.
func fill(text string, indent int) string {
	margin := strings.Repeat(" ", indent)
	var b strings.Builder
	n := 0
	for i, word := range strings.Fields(text) {
		l := len([]rune(word))
		switch {
		case i == 0:
			b.WriteString(margin)
			n = indent
		case n+1+l > 88:
			b.WriteString("\n" + margin)
			n = indent
		default:
			b.WriteByte(' ')
			n++
		}
		b.WriteString(word)
		n += l
	}
	return b.String()
}
