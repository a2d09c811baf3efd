// Package cli holds the commands: a file each binds the flags, opens what they
// name, calls the libraries and has the result written. It is the one place
// that prints, and the one that maps errors to exit codes.
package cli
