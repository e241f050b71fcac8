package shoptest

import (
	"archive/zip"
	"bytes"
	"fmt"
	"strings"
)

// BadFile is a log that cannot be read, and what is said about it after its
// name: the same on a terminal and on a page.
type BadFile struct {
	Name, Data string
	Want       string
}

// BadFiles are logs as they go wrong on a bench. Each is refused with one
// message, and nothing of it is stored.
func BadFiles() []BadFile {
	const (
		text   = "a log as text, .xlsx or .ods"
		rows   = "t_s,f_hz\n0,7065300\n60,7065400\n"
		lines  = "if there are readings in it, say how the lines are made (--separator, --decimal, --skip)"
		mended = "open it in its program and save it again, or save it as CSV"
	)
	return []BadFile{
		{"empty.csv", "", ": found an empty file, expected a log with readings"},
		{"blank lines.csv", "\n \r\n\t\n", ": found an empty file, expected a log with readings"},
		{"only headings.csv", "t_s,f_hz\n", `, line 1: found no row of numbers (the first line is "t_s,f_hz"), expected rows of numbers; ` + lines},
		{"one row.csv", "t_s,f_hz\n0,7065300\n", ": found one reading, expected two at least; a single number is a note, not a run"},
		{"knocked.csv", rows + "120,knocked\n180,7065500\n", `, line 4, column 2 (frequency): found "knocked", expected a number in Hz; take it out, or mark the line as a comment with #`},
		{"backwards.csv", rows + "30,7065500\n180,7065500\n", ", line 4, column 1 (time): found a time 30 s before that of the row above, expected times that never run backwards; " +
			"if the log was started anew, split it at this line; if a clock passed midnight, say that the times are clock times (--time clock)"},
		{"nan.csv", "t_s,f_hz\n0,NaN\n60,7065400\n120,7065450\n", `, line 2, column 2 (frequency): found "NaN", expected a finite number; if it stands for no reading, say so (--missing nan)`},
		{"infinite.csv", rows + "120,-Inf\n180,7065450\n", `, line 4, column 2 (frequency): found "-Inf", expected a finite number; if it stands for no reading, say so (--missing -inf)`},
		{"too large.csv", rows + "120,1e400\n180,7065450\n", `, line 4, column 2 (frequency): found "1e400", expected a number in Hz; take it out, or mark the line as a comment with #`},
		{"two units.csv", "time,frequency\ns,Hz\n0,7065300\n60,7065400\n120,7065.4\n180,7065500\n", `, line 5, column 2 (frequency): found "7065.4" after 7065300 Hz, expected one unit in the whole column; ` +
			"write the unit into each cell, or split the log where it changes"},
		{"wide.csv", Wide(100_000, 3), ", line 1: found more than 1000 columns, expected at most 1000; choose the columns that matter, or check the separator"},
		{"binary.csv", strings.Repeat("\x89\x00\x01\xfe\xff\x02", 500), ": found a binary file (it holds zero bytes), expected " + text + "; export the readings as CSV"},
		{"program.csv", "\x7fELF\x02\x01\x01" + strings.Repeat("\x00", 200), ": found a program, expected " + text + "; choose the log itself"},
		{"words.csv", "Dear Sir,\nthe set is well.\n", `, line 1: found no row of numbers (the first line is "Dear Sir,"), expected rows of numbers; ` + lines},
		{"broken.xlsx", "PK\x03\x04" + strings.Repeat("junk", 300), ": a spreadsheet that cannot be read (zip: not a valid zip file); " + mended},
		{"photographs.xlsx", packed("shelf.jpg", "not a picture either"), ": found a packed file without a table in it, expected " + text + "; unpack it first"},
		{"empty sheet.xlsx", packed("xl/workbook.xml", `<workbook><sheets><sheet name="log" sheetId="1"/></sheets></workbook>`), ": a spreadsheet that cannot be read (EOF); " + mended},
	}
}

// Wide is a log with that many columns and rows.
func Wide(columns, rows int) string {
	var b strings.Builder
	for r := range rows {
		for c := range columns {
			fmt.Fprintf(&b, "%d,", r+c)
		}
		b.WriteString("0\n")
	}
	return b.String()
}

// packed is a zip file with one member.
func packed(member, content string) string {
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	w, err := z.Create(member)
	if err == nil {
		_, err = w.Write([]byte(content))
	}
	if err == nil {
		err = z.Close()
	}
	if err != nil {
		panic(err) // nothing outside the program is written to
	}
	return b.String()
}
