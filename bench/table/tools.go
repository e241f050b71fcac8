package main

import (
	"fmt"
	"os"
	"os/exec"
	"runtime"
	"strings"
)

// packages names the Debian package that holds a Python module.
var packages = map[string]string{"numpy": "python3-numpy", "scipy": "python3-scipy", "sqlite3": "python3"}

// modules lists the keys of packages in a fixed order.
var modules = []string{"numpy", "scipy", "sqlite3"}

// python is the interpreter that the other side runs on, and the versions of
// the modules it has.
type python struct {
	path     string // empty where there is none
	versions map[string]string
}

// findPython returns the first candidate with the most of the modules: an
// interpreter early in the path may lack what the system's one has.
func findPython(candidates []string) python {
	var best python
	for _, c := range candidates {
		path, err := exec.LookPath(c)
		if err != nil {
			continue
		}
		found := python{path: path, versions: map[string]string{}}
		for _, m := range modules {
			if v, ok := moduleVersion(path, m); ok {
				found.versions[m] = v
			}
		}
		if best.path == "" || len(found.versions) > len(best.versions) {
			best = found
		}
	}
	return best
}

// moduleVersion imports a module and returns its version.
func moduleVersion(path, module string) (string, bool) {
	version := module + ".__version__"
	if module == "sqlite3" {
		version = "sqlite3.sqlite_version"
	}
	cmd := exec.Command(path, "-c", fmt.Sprintf("import %s; print(%s)", module, version))
	cmd.Env = toolEnv()
	out, err := cmd.Output()
	return strings.TrimSpace(string(out)), err == nil
}

// missing returns the Debian packages of the modules that cannot be had.
func (p python) missing(modules []string) []string {
	var out []string
	for _, m := range modules {
		if _, ok := p.versions[m]; !ok {
			out = append(out, packages[m])
		}
	}
	return out
}

// noProgram returns the packages of a program that bench/run could not compile
// or that is not in the path.
func (w workload) noProgram() []string {
	if w.program == "" {
		return nil
	}
	if _, err := exec.LookPath(w.program); err == nil {
		return nil
	}
	return w.packages
}

// toolEnv is the environment of the other side: a kernel forced on its linear
// algebra would slow it down.
func toolEnv() []string {
	var out []string
	for _, e := range os.Environ() {
		if !strings.HasPrefix(e, "OPENBLAS_CORETYPE=") && !strings.HasPrefix(e, "OPENBLAS_L2_SIZE=") {
			out = append(out, e)
		}
	}
	return out
}

// heading says what ran where, and how busy the machine was.
func heading(p python) string {
	parts := []string{runtime.Version() + " " + runtime.GOOS + "/" + runtime.GOARCH, fmt.Sprintf("%d processors", runtime.NumCPU())}
	for _, m := range modules {
		if v, ok := p.versions[m]; ok {
			parts = append(parts, m+" "+v)
		}
	}
	if load, ok := loadAverage(); ok {
		parts = append(parts, fmt.Sprintf("load %.1f at the start", load))
		if load > float64(runtime.NumCPU())/2 {
			parts = append(parts, "BUSY: others slow both sides, wall-clock ratios most; repeat on a quiet machine")
		}
	}
	return strings.Join(parts, ", ")
}

// loadAverage is the average of the last minute, where the system tells it.
func loadAverage() (float64, bool) {
	data, err := os.ReadFile("/proc/loadavg")
	if err != nil {
		return 0, false
	}
	var load float64
	_, err = fmt.Sscan(string(data), &load)
	return load, err == nil
}
