package setwright_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// numerics are the general libraries that the computing rooms may use.
const numerics = "gonum.org/v1/gonum"

// permitted lists, for each room, what it may import from this module. A name
// stands for itself and what lies below it.
var permitted = map[string][]string{
	"quantity":  {},
	"stability": {"quantity"},
	"signal":    {"quantity"},
	"recording": {"quantity", "signal"},
	"noise":     {"quantity"},
	"superhet":  {"quantity", "noise"},
	"judge":     {"quantity"},

	"internal/receiver": {"quantity"},
	"internal/run":      {"quantity", "signal", "internal/receiver"},
	"internal/measure":  {"quantity", "stability", "signal", "noise", "superhet", "judge", "internal/receiver", "internal/run", "internal/measure"},
	"internal/intake":   {"quantity", "internal/run"},
	"internal/wire":     {"quantity", "signal", "recording", "internal/run", "internal/wire"},
	"internal/store":    {"quantity", "recording", "internal/receiver", "internal/run", "internal/store"},
	"internal/workshop": {
		"quantity", "stability", "signal", "recording", "judge",
		"internal/receiver", "internal/run", "internal/measure", "internal/intake", "internal/store", "internal/wire",
	},
	"internal/chart":  {"quantity", "internal/run", "internal/measure", "internal/chart"},
	"internal/report": {"quantity", "judge", "internal/receiver", "internal/run", "internal/measure", "internal/chart", "internal/workshop", "internal/typeface"},
	"internal/web": {
		"quantity", "judge", "internal/receiver", "internal/run", "internal/measure", "internal/intake",
		"internal/chart", "internal/report", "internal/workshop", "internal/typeface", "internal/web",
	},
	"internal/demo":     {"quantity", "signal", "recording", "judge", "internal/receiver", "internal/run", "internal/measure", "internal/intake", "internal/workshop"},
	"internal/typeface": {},
}

// everything is what cmd and the checks beside the program may import.
var everything = []string{"cmd/", "bench/", "internal/web/browsertest"}

// TestArrows holds the one-way arrows of ARCHITECTURE.md: computing rooms know
// nothing of disk, network or screens; store knows no measurement; pages and
// command line compute nothing.
func TestArrows(t *testing.T) {
	out, err := exec.Command("go", "list", "-f", `{{.ImportPath}}: {{join .Imports " "}}`, "./...").Output()
	if err != nil {
		t.Fatalf("go list: %v", err)
	}
	for _, line := range strings.Split(strings.TrimRight(string(out), "\n"), "\n") {
		name, imports, _ := strings.Cut(line, ": ")
		pkg := strings.TrimPrefix(strings.TrimPrefix(name, "setwright"), "/")
		if pkg == "" || hasPrefixOf(pkg, everything) {
			continue
		}
		room, allowed := roomOf(pkg)
		if room == "" {
			t.Errorf("%s has no entry in the table of arrows: add it, with what it may import", pkg)
			continue
		}
		for _, imp := range strings.Fields(imports) {
			checkImport(t, pkg, room, allowed, imp)
		}
	}
}

// checkImport reports an import that the room may not have.
func checkImport(t *testing.T, pkg, room string, allowed []string, imp string) {
	t.Helper()
	own := strings.TrimPrefix(imp, "setwright/")
	if own != imp {
		if own != room && !hasPrefixOf(own+"/", withSlash(allowed)) {
			t.Errorf("%s imports %s, which is against the arrows", pkg, own)
		}
		return
	}
	upper := !strings.HasPrefix(pkg, "internal/")
	foreign := strings.Contains(strings.SplitN(imp, "/", 2)[0], ".")
	if upper && foreign && !strings.HasPrefix(imp, numerics) {
		t.Errorf("%s imports %s: computing rooms use the standard library and numerics only", pkg, imp)
	}
	pure := upper || pkg == "internal/measure" || strings.HasPrefix(pkg, "internal/measure/")
	if pure && hasPrefixOf(imp+"/", []string{"os/", "net/", "database/", "syscall/", "plugin/", "unsafe/"}) {
		t.Errorf("%s imports %s: computing rooms and measurements are free of disk, network and other programs", pkg, imp)
	}
}

// TestNoClock: a computing room and a measurement take the time as it is given,
// so that the same data make the same figures on any day.
func TestNoClock(t *testing.T) {
	for _, file := range pureFiles(t) {
		code, err := parser.ParseFile(token.NewFileSet(), file, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		clock := nameOf(code, "time")
		ast.Inspect(code, func(n ast.Node) bool {
			call, ok := n.(*ast.SelectorExpr)
			if !ok || !slices.Contains([]string{"Now", "Since", "Until", "After", "AfterFunc", "Tick", "NewTicker", "NewTimer", "Sleep"}, call.Sel.Name) {
				return true
			}
			if pkg, ok := call.X.(*ast.Ident); ok && clock != "" && pkg.Name == clock {
				t.Errorf("%s uses time.%s: the figures would depend on the day", file, call.Sel.Name)
			}
			return true
		})
	}
}

// pureFiles are the files of the computing rooms and of the measurements.
func pureFiles(t *testing.T) (out []string) {
	t.Helper()
	for room := range permitted {
		if strings.HasPrefix(room, "internal/") && room != "internal/measure" {
			continue
		}
		err := filepath.WalkDir(filepath.FromSlash(room), func(path string, d fs.DirEntry, err error) error {
			if err == nil && !d.IsDir() && strings.HasSuffix(path, ".go") && !strings.HasSuffix(path, "_test.go") {
				out = append(out, path)
			}
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	if len(out) < 100 {
		t.Fatalf("found %d files only", len(out))
	}
	return out
}

// nameOf is the name under which a file imports a package, "" if it does not.
func nameOf(code *ast.File, path string) string {
	for _, imp := range code.Imports {
		if imp.Path.Value != strconv.Quote(path) {
			continue
		}
		if imp.Name != nil {
			return imp.Name.Name
		}
		return path[strings.LastIndex(path, "/")+1:]
	}
	return ""
}

// roomOf returns the longest entry of the table that holds the package.
func roomOf(pkg string) (room string, allowed []string) {
	for name, list := range permitted {
		if (pkg == name || strings.HasPrefix(pkg, name+"/")) && len(name) > len(room) {
			room, allowed = name, list
		}
	}
	return room, allowed
}

func hasPrefixOf(s string, prefixes []string) bool {
	for _, p := range prefixes {
		if strings.HasPrefix(s, p) {
			return true
		}
	}
	return false
}

func withSlash(names []string) []string {
	out := make([]string, len(names))
	for i, n := range names {
		out[i] = strings.TrimSuffix(n, "/") + "/"
	}
	return out
}
