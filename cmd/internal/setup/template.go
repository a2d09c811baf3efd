package setup

import _ "embed"

// Template is a setup file to fill in: every key, commented out, with its
// default or an example.
//
//go:embed template.toml
var Template string
