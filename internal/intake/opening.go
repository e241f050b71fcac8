package intake

import (
	"archive/zip"
	"bytes"
	"fmt"
	"io"
	"strings"
)

// openSample finds the format and the encoding and samples the source.
func openSample(src Source, wanted []ColumnSpec, over Override, lay *Layout) (*sample, error) {
	head, err := readHead(src)
	if err != nil {
		return nil, err
	}
	if len(bytes.TrimSpace(bytes.TrimPrefix(head, bomUTF8))) == 0 {
		return nil, refuse(Problem{File: src.Name, Found: "an empty file", Expected: "a log with readings"})
	}
	if bytes.HasPrefix(head, []byte("PK\x03\x04")) {
		return openSpreadsheet(src, wanted, over, lay)
	}
	lay.Format = sure(FormatText, "it is text")
	lay.Encoding = guessEncoding(head)
	if over.Encoding != "" {
		lay.Encoding = given(over.Encoding)
	}
	if !strings.HasPrefix(lay.Encoding.Value, "utf-16") {
		if err := notText(src.Name, head); err != nil {
			return nil, err
		}
	}
	return sampleText(src, lay.Encoding.Value)
}

func readHead(src Source) ([]byte, error) {
	f, err := src.Open()
	if err != nil {
		return nil, err
	}
	defer f.Close()
	head, err := io.ReadAll(io.LimitReader(f, 64<<10))
	if err != nil {
		return nil, refuse(Problem{File: src.Name, Found: "the file could not be read: " + err.Error()})
	}
	return head, nil
}

// openSpreadsheet tells the two formats apart and samples the sheet named, else
// the first one with numbers in it.
func openSpreadsheet(src Source, wanted []ColumnSpec, over Override, lay *Layout) (*sample, error) {
	format, names, err := sheetNames(src)
	if err != nil {
		return nil, err
	}
	lay.Format = sure(format, "the file is a spreadsheet")
	lay.Encoding = sure("utf-8", "spreadsheets always are")
	lay.Sheets = names
	lay.Separator = sure(SepCells, "a spreadsheet has cells")
	if over.Sheet != "" {
		lay.Sheet = given(over.Sheet)
		return sampleSheet(src, lay)
	}
	var first *sample
	for i, name := range names[:min(len(names), 20)] {
		lay.Sheet = sure(name, "it is the only sheet")
		if len(names) > 1 {
			lay.Sheet = unsure(name, fmt.Sprintf("it is the first of %d sheets that holds numbers", len(names)))
		}
		s, err := sampleSheet(src, lay)
		if err != nil {
			return nil, err
		}
		if i == 0 {
			first = s
		}
		d := dialect{separator: SepCells, decimal: MarkPoint, thousands: MarkNone}
		if d.judge(cut(s.head, d.layout())); d.first >= 0 {
			return s, nil
		}
	}
	lay.Sheet.Value = names[0]
	return first, nil
}

// sheetNames says which spreadsheet format a zip file is and which sheets it has.
func sheetNames(src Source) (format string, names []string, err error) {
	f, err := src.Open()
	if err != nil {
		return "", nil, err
	}
	defer f.Close()
	data, err := sheetBytes(f, src)
	if err != nil {
		return "", nil, err
	}
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return "", nil, broken(src.Name, err)
	}
	var book workbookXML
	if decodeMember(z, "xl/workbook.xml", &book) == nil {
		for _, s := range book.Sheets {
			names = append(names, s.Name)
		}
		format = FormatXLSX
	} else {
		format = FormatODS
		if names, err = odsNames(src.Name, z); err != nil {
			return "", nil, err
		}
	}
	if len(names) == 0 {
		return "", nil, refuse(Problem{File: src.Name, Found: "a packed file without a table in it", Expected: "a log as text, .xlsx or .ods",
			Advice: "unpack it first"})
	}
	return format, names, nil
}
