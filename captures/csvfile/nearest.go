package csvfile

import "strings"

// Nearest returns the known name that a misspelt one most likely means, ""
// where none is near. Of equally near names it is the first.
func Nearest(name string, known []string) string {
	best, bestEdits := "", len(name)/3+2
	for _, candidate := range known {
		if edits := edits(strings.ToLower(name), candidate); edits < bestEdits {
			best, bestEdits = candidate, edits
		}
	}
	return best
}

// edits is the Levenshtein distance of two names, in bytes.
func edits(a, b string) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		diagonal := row[0]
		row[0] = i + 1
		for j := range len(b) {
			change := diagonal
			if a[i] != b[j] {
				change++
			}
			diagonal = row[j+1]
			row[j+1] = min(change, row[j]+1, row[j+1]+1)
		}
	}
	return row[len(b)]
}
