package intake

import (
	"archive/zip"
	"encoding/xml"
	"errors"
	"io"
	"strconv"
)

const (
	maxSheetFile   = 256 << 20 // bytes of a spreadsheet file
	maxSheetXML    = 2 << 30   // bytes of its table, unpacked
	maxSheetRows   = 1 << 21
	maxSheetRatio  = 500 // unpacked over packed, past the first 16 MiB
	sheetRatioFree = 16 << 20
)

// sheetBytes reads a spreadsheet file into memory, up to a limit.
func sheetBytes(f io.ReadCloser, src Source) ([]byte, error) {
	data, err := io.ReadAll(io.LimitReader(f, maxSheetFile+1))
	if err != nil {
		return nil, refuse(Problem{File: src.Name, Found: "the file could not be read: " + err.Error()})
	}
	if len(data) > maxSheetFile {
		return nil, refuse(Problem{File: src.Name, Found: "a spreadsheet of more than 256 MiB", Expected: "a smaller one", Advice: "save the sheet as CSV"})
	}
	return data, nil
}

// guarded stops reading a packed member that swells beyond reason.
type guarded struct {
	r      io.Reader
	file   string
	packed int64
	done   int64
}

func (g *guarded) Read(p []byte) (int, error) {
	n, err := g.r.Read(p)
	g.done += int64(n)
	if g.done > maxSheetXML || (g.done > sheetRatioFree && g.done/maxSheetRatio > g.packed) {
		return 0, refuse(Problem{File: g.file, Found: "a spreadsheet that unpacks to more than it can honestly hold",
			Expected: "an ordinary spreadsheet", Advice: "save the sheet as CSV"})
	}
	return n, err
}

// openMember opens a member of a zip file, guarded; nil if it is not there.
func openMember(z *zip.Reader, file, name string) (io.ReadCloser, error) {
	for _, m := range z.File {
		if m.Name != name {
			continue
		}
		r, err := m.Open()
		if err != nil {
			return nil, broken(file, err)
		}
		return struct {
			io.Reader
			io.Closer
		}{&guarded{r: r, file: file, packed: int64(m.CompressedSize64)}, r}, nil
	}
	return nil, nil
}

// broken refuses a spreadsheet that cannot be read.
func broken(file string, err error) error {
	var known *Problems
	if errors.As(err, &known) {
		return known
	}
	return refuse(Problem{File: file, Found: "a spreadsheet that cannot be read (" + err.Error() + ")",
		Advice: "open it in its program and save it again, or save it as CSV"})
}

func attr(e xml.StartElement, local string) string {
	for _, a := range e.Attr {
		if a.Name.Local == local {
			return a.Value
		}
	}
	return ""
}

// repeats reads a repetition attribute; nonsense counts as 1.
func repeats(e xml.StartElement, local string) int {
	n, err := strconv.Atoi(attr(e, local))
	if err != nil || n < 1 {
		return 1
	}
	return min(n, maxSheetRows)
}
