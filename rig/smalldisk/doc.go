// Package smalldisk gives tests a real disk that is small, gets full and may be made read-only. It works on Linux.
package smalldisk
