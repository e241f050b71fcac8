package main

import "strings"

// isUsage recognises the errors that cobra itself gives for wrong commands and
// argument counts; they carry no type.
func isUsage(err error) bool {
	s := err.Error()
	for _, start := range []string{"unknown command", "unknown flag", "unknown shorthand", "accepts ", "requires at least", "required flag", "flag needs", "invalid argument"} {
		if strings.HasPrefix(s, start) {
			return true
		}
	}
	return false
}
