package web

import (
	"net/http"
	"net/url"
	"setwright/internal/workshop"
	"strings"
	"time"
)

// Form is a form as data; the template "form" draws it.
type Form struct {
	Action  string
	Submit  string // what the button says
	Fields  []Field
	Problem string // what was wrong with what was sent
	Hidden  []Field
	Cancel  string // address to go back to, empty for none
}

// Field is one entry of a form.
type Field struct {
	Name, Label string
	Value       string
	Kind        string // "", "select", "area", "check", "date", "moment"
	Choices     []Choice
	Help        string
	Example     string
	Required    bool
	Wide        bool
}

// Choice is one of the choices of a select.
type Choice struct{ Value, Text string }

// Checked says whether a check box is set.
func (f Field) Checked() bool { return f.Value != "" }

// fill puts what was sent into the fields, so that a form that was refused is
// shown with its values.
func fill(fields []Field, sent url.Values) []Field {
	if len(sent) == 0 {
		return fields
	}
	out := append([]Field(nil), fields...)
	for i, f := range out {
		if v, ok := sent[f.Name]; ok && len(v) > 0 {
			out[i].Value = v[0]
		} else if f.Kind == "check" {
			out[i].Value = ""
		}
	}
	return out
}

// read parses the form of a request.
func read(r *http.Request) (url.Values, error) {
	if err := r.ParseForm(); err != nil {
		a := answerOf(err)
		if a.status == http.StatusRequestEntityTooLarge {
			return nil, a
		}
		return nil, badRequest("The form could not be read: %v.", err)
	}
	return r.PostForm, nil
}

// text is a trimmed entry of a form.
func text(form url.Values, name string) string { return strings.TrimSpace(form.Get(name)) }

// lines splits an entry of several lines or comma-separated words.
func lines(s string) []string {
	var out []string
	for _, part := range strings.FieldsFunc(s, func(r rune) bool { return r == '\n' || r == '\r' || r == ',' }) {
		if part = strings.TrimSpace(part); part != "" {
			out = append(out, part)
		}
	}
	return out
}

// when reads a moment of the form; empty is the zero time.
func when(form url.Values, name, label string) (time.Time, error) {
	t, err := workshop.ParseMoment(form.Get(name))
	if err != nil {
		return t, badRequest("%s: %v.", label, err)
	}
	return t, nil
}
