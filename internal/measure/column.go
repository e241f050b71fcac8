package measure

// TypedColumns are the columns that one typed row fills, in order.
func (a About) TypedColumns() []ColumnSpec {
	var out []ColumnSpec
	for _, role := range a.Typed {
		for _, c := range a.Columns {
			if c.Role == role {
				out = append(out, c)
			}
		}
	}
	for _, c := range a.Columns {
		if len(a.Typed) == 0 && c.Required && c.Role != "time" {
			out = append(out, c)
		}
	}
	for _, c := range a.Columns {
		if len(out) == 0 && c.Role != "time" {
			out = append(out, c)
		}
	}
	return out
}

// BareUnit is the unit that a number without one is taken in.
func (c ColumnSpec) BareUnit() string {
	if c.Bare != "" {
		return c.Bare
	}
	return c.Unit
}

// BaseUnits are the units in which a column can be stored, the first its own.
func (c ColumnSpec) BaseUnits() []string { return append([]string{c.Unit}, c.Units...) }
