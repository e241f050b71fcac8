module setwright/tools

go 1.26.8

require (
	github.com/evanw/esbuild v0.28.2 // indirect
	golang.org/x/perf v0.0.0-20260908200009-22c9c6c9d4da // indirect
	honnef.co/go/tools v0.8.2 // indirect
)
