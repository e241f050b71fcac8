//go:build !unix

package store

// processAlive cannot be told here, so a process may always be alive.
func processAlive(int) bool { return true }
