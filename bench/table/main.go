// Command table runs the workloads of bench/ against general tools, side by
// side on the same inputs, and prints one table of ratios. bench/run builds
// what it needs and starts it from the root of the source tree.
//
//	table [-out DIR] [-only P1,P9] [-rounds 3]
//
// Exit status 1: a workload failed, or figures of the two sides differ.
package main

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
)

func main() {
	out := flag.String("out", "bench-out", "folder of the built programs, inputs and the table")
	only := flag.String("only", "", "ids of workloads to run, with commas; all where empty")
	rounds := flag.Int("rounds", 3, "runs of each side")
	flag.Parse()
	if *rounds < 1 || flag.NArg() > 0 {
		fmt.Fprintln(os.Stderr, "table: expected -out DIR, -only IDS, -rounds 1 or more, and nothing else")
		os.Exit(2)
	}
	if err := run(*out, *only, *rounds); err != nil {
		fmt.Fprintln(os.Stderr, "table:", err)
		os.Exit(1)
	}
}

// run measures, prints and writes the table.
func run(out, only string, rounds int) error {
	py := findPython([]string{"/usr/bin/python3", "python3"})
	t := table{Heading: heading(py)}
	for _, w := range workloads(out, py.path) {
		if !wanted(only, w.id) {
			continue
		}
		fmt.Fprintf(os.Stderr, "%s %s ...\n", w.id, w.title)
		t.Entries = append(t.Entries, w.entry(append(py.missing(w.modules), w.noProgram()...), rounds))
	}
	text := t.String()
	fmt.Print(text)
	if err := os.WriteFile(filepath.Join(out, "table.txt"), []byte(text), 0o644); err != nil {
		return err
	}
	return t.Failure()
}

// wanted says whether a workload was asked for.
func wanted(only, id string) bool {
	if only == "" {
		return true
	}
	for _, o := range strings.Split(only, ",") {
		if strings.EqualFold(strings.TrimSpace(o), id) {
			return true
		}
	}
	return false
}
