// Bundle turns the page scripts and styles under internal/web/src into the
// files that the binary carries, internal/web/assets. Its output is committed,
// so that building the program needs Go alone; `make generate` runs it again.
package main

import (
	"fmt"
	"os"

	"github.com/evanw/esbuild/pkg/api"
)

func main() {
	if err := run(); err != nil {
		fmt.Fprintln(os.Stderr, "bundle:", err)
		os.Exit(1)
	}
}

// run bundles every entry point. It is started in the repository's top folder.
func run() error {
	result := api.Build(api.BuildOptions{
		EntryPoints: []string{"internal/web/src/setwright.ts", "internal/web/src/setwright.css", "internal/web/src/passon.ts"},
		Outdir:      "internal/web/assets",
		Bundle:      true,
		Write:       true,
		Charset:     api.CharsetUTF8,
		Target:      api.ES2020,
		Format:      api.FormatESModule,
		External:    []string{"/assets/*"},
		LogLevel:    api.LogLevelWarning,
	})
	if n := len(result.Errors); n > 0 {
		return fmt.Errorf("%d errors, the first: %s", n, result.Errors[0].Text)
	}
	return nil
}
