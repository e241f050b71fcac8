package intake

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"strings"
)

// odsRows are the rows of one sheet of an OpenDocument spreadsheet (ISO/IEC
// 26300, table:table and below), streamed. Repeated cells and rows are given as
// often as they stand for, within limits; repeated empty ones at the end of a row
// or sheet are not.
type odsRows struct {
	file   string
	dec    *xml.Decoder
	member io.Closer
	sheet  string

	line   int // of the row given last
	repeat int // how often it is still to be given
	row    [][]byte
	given  int
}

// openODS opens the sheet that the layout names, else the first.
func openODS(f io.ReadCloser, src Source, lay *Layout) (rowReader, error) {
	data, err := sheetBytes(f, src)
	if err != nil {
		return nil, err
	}
	f.Close()
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return nil, broken(src.Name, err)
	}
	m, err := openMember(z, src.Name, "content.xml")
	if err != nil {
		return nil, err
	}
	if m == nil {
		return nil, broken(src.Name, fmt.Errorf("it has no content.xml"))
	}
	r := &odsRows{file: src.Name, dec: xml.NewDecoder(m), member: m}
	if err := r.seek(lay); err != nil {
		m.Close()
		return nil, err
	}
	return r, nil
}

// seek goes to the sheet wanted and notes the names on the way.
func (o *odsRows) seek(lay *Layout) error {
	var names []string
	for {
		tok, err := o.dec.Token()
		if errors.Is(err, io.EOF) {
			return refuse(Problem{File: o.file, Found: "sheets named " + quote(strings.Join(names, ", ")),
				Expected: "a sheet named " + quote(lay.Sheet.Value)})
		}
		if err != nil {
			return broken(o.file, err)
		}
		start, ok := tok.(xml.StartElement)
		if !ok || start.Name.Local != "table" {
			continue
		}
		name := attr(start, "name")
		if len(names) < 100 {
			names = append(names, name)
		}
		if lay.Sheet.Value == "" || lay.Sheet.Value == name {
			o.sheet = name
			return nil
		}
		if err := o.dec.Skip(); err != nil {
			return broken(o.file, err)
		}
	}
}

func (o *odsRows) next() (row, error) {
	if o.repeat > 0 {
		o.repeat--
		o.line++
		return o.count()
	}
	for {
		tok, err := o.dec.Token()
		if errors.Is(err, io.EOF) {
			return row{line: o.line}, io.EOF
		}
		if err != nil {
			return row{}, broken(o.file, err)
		}
		switch e := tok.(type) {
		case xml.EndElement:
			if e.Name.Local == "table" {
				return row{line: o.line}, io.EOF
			}
		case xml.StartElement:
			if e.Name.Local != "table-row" {
				continue
			}
			n := repeats(e, "number-rows-repeated")
			if err := o.readRow(); err != nil {
				return row{}, err
			}
			if len(o.row) == 0 { // empty rows are skipped together
				o.line += n
				continue
			}
			o.line++
			o.repeat = n - 1
			return o.count()
		}
	}
}

func (o *odsRows) count() (row, error) {
	if o.given++; o.given > maxSheetRows {
		return row{}, refuse(Problem{File: o.file, Line: o.line, Found: fmt.Sprintf("more than %d rows", maxSheetRows),
			Expected: "a spreadsheet of an ordinary size", Advice: "save the sheet as CSV"})
	}
	return row{line: o.line}, nil
}

// readRow reads the cells up to the end of a table-row.
func (o *odsRows) readRow() error {
	o.row = nil
	waiting := 0 // empty cells that count only if a filled one follows
	for {
		tok, err := o.dec.Token()
		if err != nil {
			return broken(o.file, err)
		}
		switch e := tok.(type) {
		case xml.EndElement:
			if e.Name.Local == "table-row" {
				return nil
			}
		case xml.StartElement:
			if e.Name.Local != "table-cell" && e.Name.Local != "covered-table-cell" {
				if err := o.dec.Skip(); err != nil {
					return broken(o.file, err)
				}
				continue
			}
			n := repeats(e, "number-columns-repeated")
			text, err := o.cellText(e)
			if err != nil {
				return err
			}
			if len(text) == 0 {
				waiting += n
				continue
			}
			if len(o.row)+waiting+n > maxColumns {
				return tooWide(o.file, o.line+1, len(o.row)+waiting+n)
			}
			for range waiting {
				o.row = append(o.row, nil)
			}
			for range n {
				o.row = append(o.row, text)
			}
			waiting = 0
		}
	}
}

// cellText gives a cell as it would be typed: the value where the cell has one,
// else its first paragraphs.
func (o *odsRows) cellText(e xml.StartElement) ([]byte, error) {
	var text bytes.Buffer
	depth := 1
	for depth > 0 {
		tok, err := o.dec.Token()
		if err != nil {
			return nil, broken(o.file, err)
		}
		switch t := tok.(type) {
		case xml.StartElement:
			depth++
			if t.Name.Local == "s" {
				text.WriteByte(' ')
			}
			if t.Name.Local == "annotation" { // a remark on the cell is not the cell
				depth--
				if err := o.dec.Skip(); err != nil {
					return nil, broken(o.file, err)
				}
			}
		case xml.EndElement:
			depth--
		case xml.CharData:
			if depth > 1 && text.Len() < 1<<16 {
				text.Write(t)
			}
		}
	}
	switch attr(e, "value-type") {
	case "float", "currency", "percentage":
		return []byte(attr(e, "value")), nil
	case "date":
		return []byte(attr(e, "date-value")), nil
	case "time":
		return isoDuration(attr(e, "time-value")), nil
	}
	return trim(text.Bytes()), nil
}

// isoDuration turns "PT19H05M30.5S" into "19:05:30.5" (XML Schema part 2,
// section 3.2.6: duration, the time part).
func isoDuration(s string) []byte {
	rest, ok := strings.CutPrefix(s, "PT")
	if !ok {
		return []byte(s)
	}
	part := map[byte]string{'H': "0", 'M': "0", 'S': "0"}
	for rest != "" {
		i := strings.IndexAny(rest, "HMS")
		if i <= 0 {
			return []byte(s)
		}
		part[rest[i]] = rest[:i]
		rest = rest[i+1:]
	}
	pad := func(v string) string {
		if len(v) < 2 || v[1] == '.' || v[1] == ',' {
			return "0" + v
		}
		return v
	}
	return []byte(strings.TrimLeft(part['H'][:len(part['H'])-1], "0") + part['H'][len(part['H'])-1:] + ":" + pad(part['M']) + ":" + pad(part['S']))
}

func (o *odsRows) cells() [][]byte { return o.row }

func (o *odsRows) unended() bool { return false }

func (o *odsRows) close() error { return o.member.Close() }

// odsNames lists the sheets of an OpenDocument spreadsheet.
func odsNames(file string, z *zip.Reader) ([]string, error) {
	m, err := openMember(z, file, "content.xml")
	if err != nil || m == nil {
		return nil, err
	}
	defer m.Close()
	dec := xml.NewDecoder(m)
	var names []string
	for len(names) < 1000 {
		tok, err := dec.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, broken(file, err)
		}
		if e, ok := tok.(xml.StartElement); ok && e.Name.Local == "table" {
			names = append(names, attr(e, "name"))
			if err := dec.Skip(); err != nil {
				return nil, broken(file, err)
			}
		}
	}
	return names, nil
}
