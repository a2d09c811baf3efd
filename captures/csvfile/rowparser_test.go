package csvfile

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
)

// rowsOf reads rows of time, A, B, of which the last column may be passed over,
// as the reader does; plainly reads every line cell by cell.
func rowsOf(text string, delim, point byte, both, plainly bool) parsedRows {
	plan := &rowPlan{
		delim: delim, point: point, width: 3, timed: true, step: 8, wholeStep: true, low: 4, span: 8, factor: 1,
		columns: []cellPlan{
			{role: timeCell, exp: 6, end: delim},
			{role: voltsCell, end: delim, exp: -3},
		},
	}
	lineEnd := byte('\n')
	if strings.Contains(text, "\r\n") {
		lineEnd = '\r'
	}
	if both {
		plan.columns[1] = cellPlan{role: passedOver}
		plan.columns = append(plan.columns, cellPlan{role: voltsCell, end: lineEnd})
	}
	p := newRowParser(plan)
	block := &textBlock{rows: parsedRows{volts: make([][]float64, 1)}}
	out := &block.rows
	end := copy(block.text[:blockBytes], text)
	out.begin(p.cells)
	if !plainly {
		p.parse(&block.text, end, out)
	} else {
		for at := 0; at < end; out.remarks.lines++ {
			out.makeRoom(p.cells)
			length := bytes.IndexByte(block.text[at:end], '\n')
			p.oddRow(block.text[at:at+length], out)
			at += length + 1
		}
	}
	out.finish(1)
	return *out
}

// checkRows reads rows in both ways and compares what they give.
func checkRows(t *testing.T, text string, delim, point byte, both bool) {
	t.Helper()
	got, want := rowsOf(text, delim, point, both, false), rowsOf(text, delim, point, both, true)
	if got.rows != want.rows || got.first != want.first || got.last != want.last || got.remarks != want.remarks {
		t.Fatalf("%q:\nfound %d rows, times %d to %d, %+v\nwant  %d rows, times %d to %d, %+v",
			text, got.rows, got.first, got.last, got.remarks, want.rows, want.first, want.last, want.remarks)
	}
	if !slices.Equal(got.jumps, want.jumps) {
		t.Fatalf("%q: jumps are %v, want %v", text, got.jumps, want.jumps)
	}
	for i, v := range got.volts[0] {
		if math.Float64bits(v) != math.Float64bits(want.volts[0][i]) {
			t.Fatalf("%q: sample %d is %v, want %v", text, i, v, want.volts[0][i])
		}
	}
}

// Rows in every way that instruments write them, the way changing from row to
// row, with times that jump, stand and run back.
func TestRowsAreReadAlike(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	forms := []string{"%.6f", "%.6f", "%.6f", "%.3f", "%.9f", "%g", "%.5E", "%.3e", "%.17g", "%+.4f", "%.0f", " %.2f", "%.14f", "%.1f ", "%08.3f"}
	steps := []int{8, 8, 8, 8, 8, 8, 8, 8, 8, 8, 8, 16, 0, -8, 7, 9, 1000000, -1000000, 92, 100}
	for range 2000 {
		delim, point := ",;\t "[rng.IntN(4)], byte('.')
		if delim == ';' {
			point = ','
		}
		timeForm, form := forms[rng.IntN(3)], forms[rng.IntN(len(forms))]
		lineEnd := []string{"\n", "\n", "\r\n"}[rng.IntN(3)]
		var b strings.Builder
		ticks := rng.IntN(3)*99999000 - 400
		for range rng.IntN(60) {
			if rng.IntN(10) == 0 {
				form = forms[rng.IntN(len(forms))]
			}
			if rng.IntN(30) == 0 {
				timeForm = forms[rng.IntN(len(forms))]
			}
			row := fmt.Sprintf(timeForm+"|"+form+"|"+form, float64(ticks)/1e6, 20*rng.NormFloat64(), rng.NormFloat64()/20)
			if point == ',' {
				row = comma(row)
			}
			if row = strings.ReplaceAll(row, "|", string(delim)); rng.IntN(40) == 0 {
				at := rng.IntN(len(row))
				row = row[:at] + string("09.,-eE\t;x"[rng.IntN(10)]) + row[at+rng.IntN(2):]
			}
			b.WriteString(row + lineEnd)
			step := 8
			if rng.IntN(8) == 0 {
				step = steps[rng.IntN(len(steps))]
			}
			ticks += step
		}
		checkRows(t, b.String(), delim, point, rng.IntN(2) == 0)
	}
}

func FuzzRows(f *testing.F) {
	f.Add("0.000000,1.25,-3\n0.000008,-1.25,4\n0.000016,11.25,4.5\n0.000024,1e3,4.5\n", uint8(0), false)
	f.Add("99.999992,1.25,-3\n100.000000,-1.25,4\n100.000008,11.25,4.5\n", uint8(0), true)
	f.Add("0.000008,1.25,-3\r\n0.000016,-1.25,4\r\n0.000024,11.25,4\r5\r\n", uint8(0), true)
	f.Add("9,1,1\n9,1,1\n1,1,1\n", uint8(0), true)
	f.Add("0,000008;1,5;2,5\n0,000016;1,5;2,5\n", uint8(1), true)
	f.Add("0.000008  1.5 2.5\n0.000016  1.5 2.5\n", uint8(2), true)
	f.Fuzz(func(t *testing.T, text string, dialect uint8, both bool) {
		text = text[:min(len(text), blockBytes-1)]
		if !strings.HasSuffix(text, "\n") {
			text += "\n"
		}
		d := []struct{ delim, point byte }{{',', '.'}, {';', ','}, {' ', '.'}, {'\t', '.'}, {'|', '.'}}[dialect%5]
		checkRows(t, text, d.delim, d.point, both)
	})
}

// Numbers that have one digit more now and then do not have to be learned
// again each time.
func TestTwoFormsAreRemembered(t *testing.T) {
	cell := cellPlan{role: voltsCell, end: '\n', forms: [2]form{noForm, noForm}}
	p := newRowParser(&rowPlan{delim: ',', point: '.', width: 1, factor: 1, columns: []cellPlan{cell}})
	block := &textBlock{rows: parsedRows{volts: make([][]float64, 1)}}
	block.rows.begin(p.cells)
	end := copy(block.text[:], "9.5\n10.5\n")
	p.parse(&block.text, end, &block.rows)
	for _, text := range []string{"8.25", "-9.5\n", "12.5\n", "-1.0\n"} {
		end = copy(block.text[:], text)
		next := p.alike(&p.cells[0], &block.text, 0, &block.rows)
		if remembered := text != "8.25"; remembered != (next == end) {
			t.Errorf("%q: next cell at %d", text, next)
		}
	}
}
