package web

import (
	"math"
	"strconv"
	"strings"

	"setwright/internal/measure"
	"setwright/internal/workshop"
	"setwright/quantity"
)

// sheetRows is how many readings a run page shows at a time.
const sheetRows = 60

// sheetView is a stretch of readings ready to be shown.
type sheetView struct {
	Heads      []string
	Rows       []sheetLine
	From, To   int // from 1
	Total      int
	Prev, Next string // addresses; empty at the ends
}

type sheetLine struct {
	Number int
	Cells  []string
	Struck bool
}

// viewSheet writes each column in a scale of its own.
func viewSheet(sheet workshop.Sheet, id string) sheetView {
	v := sheetView{From: sheet.First + 1, To: sheet.First + len(sheet.Rows), Total: sheet.Total}
	scales := make([]quantity.Scale, len(sheet.Columns))
	for i, c := range sheet.Columns {
		var values []float64
		for _, row := range sheet.Rows {
			if !math.IsNaN(row.Values[i]) {
				values = append(values, row.Values[i])
			}
		}
		scales[i] = quantity.ScaleFor(values, c.Unit)
		head := scales[i].Label
		if c.Unit == "s" {
			head = "min:s"
		}
		v.Heads = append(v.Heads, measure.Capital(conditionLabel(c.Role))+", "+head)
	}
	for _, row := range sheet.Rows {
		line := sheetLine{Number: row.Row + 1, Struck: row.Struck}
		for i, x := range row.Values {
			cell := ""
			switch {
			case math.IsNaN(x):
			case sheet.Columns[i].Unit == "s":
				cell = minutesSeconds(x)
			default:
				cell = printer.In(quantity.Exact(x), scales[i])
			}
			line.Cells = append(line.Cells, cell)
		}
		v.Rows = append(v.Rows, line)
	}
	for i := range sheet.Columns {
		alignDecimals(v.Rows, i)
	}
	at := func(from int) string { return "/runs/" + pathOf(id) + "?from=" + strconv.Itoa(from) + "#readings" }
	if sheet.First > 0 {
		v.Prev = at(max(1, v.From-sheetRows))
	}
	if v.To < v.Total {
		v.Next = at(v.To + 1)
	}
	return v
}

// minutesSeconds prints a time of a reading: "12:20", "12:20.5".
func minutesSeconds(seconds float64) string {
	sign := ""
	if seconds < 0 {
		sign, seconds = "−", -seconds
	}
	ms := math.Round(1000 * seconds)
	text := strconv.FormatFloat(math.Mod(ms, 60_000)/1000, 'f', -1, 64)
	if math.Mod(ms, 60_000) < 10_000 {
		text = "0" + text
	}
	return sign + strconv.FormatFloat(math.Floor(ms/60_000), 'f', 0, 64) + ":" + text
}

// alignDecimals gives all numbers of a column as many decimals as the longest has:
// the noughts the instrument showed.
func alignDecimals(rows []sheetLine, column int) {
	decimals := func(cell string) int {
		_, after, _ := strings.Cut(cell, ".")
		return len(after)
	}
	most := 0
	for _, row := range rows {
		most = max(most, decimals(row.Cells[column]))
	}
	for _, row := range rows {
		cell := &row.Cells[column]
		short := most - decimals(*cell)
		if *cell == "" || short == 0 {
			continue
		}
		if short == most {
			*cell += "."
		}
		*cell += strings.Repeat("0", short)
	}
}
