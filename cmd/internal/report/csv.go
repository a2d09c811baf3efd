package report

import (
	"encoding/csv"
	"io"
	"slices"
)

// CSV writes the document's data table with exact numbers, one header for all
// sensors. Unknown values are empty cells.
func CSV(w io.Writer, d Document) error {
	writer := csv.NewWriter(w)
	headed := false
	for _, section := range d.Sections {
		for _, table := range section.Tables {
			if !table.Data {
				continue
			}
			if !headed {
				if err := writer.Write(keys(table)); err != nil {
					return err
				}
				headed = true
			}
			if err := writeRows(writer, table); err != nil {
				return err
			}
		}
	}
	writer.Flush()
	return writer.Error()
}

// HasData tells whether the document has anything that CSV is made of.
func (d Document) HasData() bool {
	for _, section := range d.Sections {
		if slices.ContainsFunc(section.Tables, func(t Table) bool { return t.Data && len(t.Rows) > 0 }) {
			return true
		}
	}
	return false
}

func keys(t Table) []string {
	list := make([]string, len(t.Columns))
	for i, c := range t.Columns {
		list[i] = c.Key
	}
	return list
}

func writeRows(writer *csv.Writer, t Table) error {
	for _, row := range t.Rows {
		cells := make([]string, len(row))
		for i, c := range row {
			cells[i] = c.Exact
		}
		if err := writer.Write(cells); err != nil {
			return err
		}
	}
	return nil
}
