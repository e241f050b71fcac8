package intake

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"path"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"
)

// serialKind is what a spreadsheet's number format makes of a day number.
type serialKind uint8

const (
	plainNumber   serialKind = iota
	serialDate               // a date, with or without time of day
	serialClock              // a time of day
	serialElapsed            // hours past 24
)

// xlsxRows are the rows of one sheet of an Office Open XML workbook (ISO/IEC
// 29500). Numbers are taken as stored, not as formatted; cells whose format
// shows a date or a time are written out as such.
type xlsxRows struct {
	file  string
	book  *excelize.File
	rows  *excelize.Rows
	kinds map[int]serialKind // by column from 0
	y1904 bool
	line  int
	out   [][]byte
}

// openXLSX opens the sheet that the layout names, else the first.
func openXLSX(f io.ReadCloser, src Source, lay *Layout) (rowReader, error) {
	data, err := sheetBytes(f, src)
	if err != nil {
		return nil, err
	}
	f.Close()
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return nil, broken(src.Name, err)
	}
	if err := swells(src.Name, z); err != nil {
		return nil, err
	}
	x := &xlsxRows{file: src.Name}
	err = x.guard(func() error { return x.open(data, z, lay) })
	if err != nil {
		x.close()
		return nil, broken(src.Name, err)
	}
	return x, nil
}

// swells refuses a file whose members claim to unpack beyond reason. A member
// that unpacks to more than it claims is refused by archive/zip.
func swells(file string, z *zip.Reader) error {
	var packed, unpacked uint64
	for _, m := range z.File {
		packed += m.CompressedSize64
		unpacked += m.UncompressedSize64
		if m.UncompressedSize64 > maxSheetXML {
			unpacked = math.MaxUint64 / 2
			break
		}
	}
	if unpacked > maxSheetXML || (unpacked > sheetRatioFree && unpacked/maxSheetRatio > packed) {
		return refuse(Problem{File: file, Found: "a spreadsheet that unpacks to more than it can honestly hold",
			Expected: "an ordinary spreadsheet", Advice: "save the sheet as CSV"})
	}
	return nil
}

// guard turns a panic of the workbook library, which damaged files can bring
// about, into an error.
func (x *xlsxRows) guard(do func() error) (err error) {
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("its inner structure is damaged: %v", r)
		}
	}()
	return do()
}

func (x *xlsxRows) open(data []byte, z *zip.Reader, lay *Layout) (err error) {
	x.book, err = excelize.OpenReader(bytes.NewReader(data), excelize.Options{RawCellValue: true, UnzipSizeLimit: maxSheetXML})
	if err != nil {
		return err
	}
	names := x.book.GetSheetList()
	if len(names) == 0 {
		return errors.New("it has no sheet")
	}
	sheet := lay.Sheet.Value
	if sheet == "" {
		sheet = names[0]
	}
	if x.rows, err = x.book.Rows(sheet); err != nil {
		return refuse(Problem{File: x.file, Found: "sheets named " + quote(strings.Join(names, ", ")), Expected: "a sheet named " + quote(sheet)})
	}
	if p, err := x.book.GetWorkbookProps(); err == nil && p.Date1904 != nil {
		x.y1904 = *p.Date1904
	}
	x.kinds = x.peekKinds(z, sheet)
	return nil
}

// workbookXML and relationsXML are the parts of a workbook that lead from the
// name of a sheet to its member of the file.
type workbookXML struct {
	Sheets []struct {
		Name string `xml:"name,attr"`
		ID   string `xml:"http://schemas.openxmlformats.org/officeDocument/2006/relationships id,attr"`
	} `xml:"sheets>sheet"`
}

type relationsXML struct {
	Relations []struct {
		ID     string `xml:"Id,attr"`
		Target string `xml:"Target,attr"`
	} `xml:"Relationship"`
}

// sheetMember finds the member that holds a sheet.
func sheetMember(z *zip.Reader, sheet string) string {
	var book workbookXML
	var rels relationsXML
	if decodeMember(z, "xl/workbook.xml", &book) != nil || decodeMember(z, "xl/_rels/workbook.xml.rels", &rels) != nil {
		return ""
	}
	for _, s := range book.Sheets {
		if s.Name != sheet {
			continue
		}
		for _, r := range rels.Relations {
			if r.ID == s.ID {
				if strings.HasPrefix(r.Target, "/") {
					return strings.TrimPrefix(r.Target, "/")
				}
				return path.Join("xl", r.Target)
			}
		}
	}
	return ""
}

func decodeMember(z *zip.Reader, name string, into any) error {
	m, err := openMember(z, name, name)
	if err != nil || m == nil {
		return errors.New("missing")
	}
	defer m.Close()
	return xml.NewDecoder(io.LimitReader(m, 4<<20)).Decode(into)
}

// peekKinds looks at the styles of the numbers in the first rows of a sheet: the
// last one seen in a column counts. Where anything is amiss numbers stay plain.
func (x *xlsxRows) peekKinds(z *zip.Reader, sheet string) map[int]serialKind {
	kinds := map[int]serialKind{}
	m, err := openMember(z, x.file, sheetMember(z, sheet))
	if err != nil || m == nil {
		return kinds
	}
	defer m.Close()
	dec := xml.NewDecoder(m)
	styles := map[string]serialKind{}
	for rows := 0; rows < 300; {
		tok, err := dec.Token()
		if err != nil {
			break
		}
		e, ok := tok.(xml.StartElement)
		if !ok {
			continue
		}
		if e.Name.Local == "row" {
			rows++
		}
		if t := attr(e, "t"); e.Name.Local != "c" || (t != "" && t != "n") {
			continue
		}
		column, _, err := excelize.CellNameToCoordinates(attr(e, "r"))
		if err != nil {
			continue
		}
		style := attr(e, "s")
		kind, known := styles[style]
		if !known {
			kind = x.styleKind(style)
			styles[style] = kind
		}
		kinds[column-1] = kind
	}
	return kinds
}

// styleKind says what the number format of a style shows.
func (x *xlsxRows) styleKind(style string) serialKind {
	index, err := strconv.Atoi(style)
	if err != nil {
		return plainNumber
	}
	s, err := x.book.GetStyle(index)
	if err != nil {
		return plainNumber
	}
	if s.CustomNumFmt != nil {
		return formatKind(*s.CustomNumFmt)
	}
	// Built-in formats: ISO/IEC 29500-1, 18.8.30 (numFmt), from memory.
	switch n := s.NumFmt; {
	case n >= 14 && n <= 17, n == 22, n >= 27 && n <= 36, n >= 50 && n <= 58:
		return serialDate
	case n >= 18 && n <= 21, n == 45, n == 47:
		return serialClock
	case n == 46:
		return serialElapsed
	}
	return plainNumber
}

// formatKind reads a number format: letters outside quotation marks tell.
func formatKind(format string) serialKind {
	f := strings.ToLower(format)
	if strings.Contains(f, "[h") || strings.Contains(f, "[m") || strings.Contains(f, "[s") {
		return serialElapsed
	}
	quoted, bracket := false, false
	var letters strings.Builder
	for i := 0; i < len(f); i++ {
		switch c := f[i]; {
		case c == '"':
			quoted = !quoted
		case c == '[':
			bracket = true
		case c == ']':
			bracket = false
		case c == '\\':
			i++
		case !quoted && !bracket:
			letters.WriteByte(c)
		}
	}
	switch s := letters.String(); {
	case strings.Contains(s, "general"):
		return plainNumber
	case strings.ContainsAny(s, "yd"):
		return serialDate
	case strings.ContainsAny(s, "hs"):
		return serialClock
	}
	return plainNumber
}

func (x *xlsxRows) next() (row, error) {
	var cells []string
	more := false
	err := x.guard(func() (err error) {
		if more = x.rows.Next(); !more {
			return x.rows.Error()
		}
		cells, err = x.rows.Columns()
		return err
	})
	if err != nil {
		return row{}, broken(x.file, err)
	}
	if !more {
		return row{line: x.line}, io.EOF
	}
	x.line++
	for len(cells) > 0 && cells[len(cells)-1] == "" {
		cells = cells[:len(cells)-1]
	}
	if len(cells) > maxColumns {
		return row{}, tooWide(x.file, x.line, len(cells))
	}
	x.out = x.out[:0]
	for i, c := range cells {
		if kind := x.kinds[i]; kind != plainNumber {
			c = x.serial(c, kind)
		}
		x.out = append(x.out, trim([]byte(c)))
	}
	return row{line: x.line}, nil
}

// serial writes a day number as the date or time that it stands for, to the
// millisecond, which is as fine as a day number of today holds.
func (x *xlsxRows) serial(cell string, kind serialKind) string {
	days, err := strconv.ParseFloat(cell, 64)
	if err != nil || days < 0 || days > 200000 {
		return cell
	}
	ms := int64(math.Round(days * 86400e3))
	if kind == serialElapsed || days < 60 {
		return clockText(ms, ms/3600000)
	}
	epoch := daysFromCivil(1899, 12, 30)
	if x.y1904 {
		epoch = daysFromCivil(1904, 1, 1)
	}
	date := stamp{unix: (epoch + ms/86400000) * 86400}.moment().Format("2006-01-02")
	if ms%86400000 == 0 {
		return date
	}
	return date + " " + clockText(ms, ms/3600000%24)
}

func clockText(ms, hours int64) string {
	text := fmt.Sprintf("%d:%02d:%02d", hours, ms/60000%60, ms/1000%60)
	if ms%1000 != 0 {
		text += fmt.Sprintf(".%03d", ms%1000)
	}
	return text
}

func (x *xlsxRows) cells() [][]byte { return x.out }
func (x *xlsxRows) unended() bool   { return false }

func (x *xlsxRows) close() error {
	return x.guard(func() error {
		if x.rows != nil {
			x.rows.Close()
		}
		if x.book != nil {
			return x.book.Close()
		}
		return nil
	})
}
