//go:build !linux

package store

import "testing"

func smallDisk(t *testing.T, _ string) string {
	t.Skip("a small file system is mounted on Linux only: a full disk was not tried")
	return ""
}
