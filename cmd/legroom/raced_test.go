//go:build race

package main

// The race detector's own shadow takes several times the memory that a program does.
func init() { hostileMemory *= 8 }
