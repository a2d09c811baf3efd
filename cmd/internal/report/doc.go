// Package report turns results into what a person or a program reads. Each
// result becomes one Document; text, CSV and Markdown are written from that
// alone. JSON is written from structs of its own, whose keys are stable.
package report
