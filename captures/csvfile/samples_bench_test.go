package csvfile

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"armcurve/captures"
)

// BenchmarkSamples reads three columns of which one is wanted, in the ways
// that instruments write them.
func BenchmarkSamples(b *testing.B) {
	const rows = 200000
	for _, form := range []struct {
		name, header string
		row          func(i int) string
	}{
		{"plain", "time,A,B\n", func(i int) string {
			return fmt.Sprintf("%.8f,%.4f,%.4f", float64(i)*1e-5, 2.5*math.Sin(float64(i)/30), -0.05*math.Cos(float64(i)/7))
		}},
		{"scientific", "time,A,B\n", func(i int) string {
			return fmt.Sprintf("%.6E,%.4E,%.4E", float64(i)*1e-5, 2.5*math.Sin(float64(i)/30), -0.05*math.Cos(float64(i)/7))
		}},
		{"17 digits", "time,A,B\n", func(i int) string {
			return fmt.Sprintf("%.5f,%.16g,%.16g", float64(i)*1e-5, 2.5*math.Sin(float64(i)/30), -0.05*math.Cos(float64(i)/7))
		}},
		{"decimal comma, CRLF", "time;A;B\r\n", func(i int) string {
			return comma(fmt.Sprintf("%.5f;%.3f;%.3f\r", float64(i)*1e-5, 2.5*math.Sin(float64(i)/30), -0.05*math.Cos(float64(i)/7)))
		}},
	} {
		var text strings.Builder
		text.WriteString(form.header)
		for i := range rows {
			text.WriteString(form.row(i) + "\n")
		}
		b.Run(form.name, func(b *testing.B) {
			b.SetBytes(int64(text.Len()))
			b.ReportAllocs()
			var block captures.Block
			for b.Loop() {
				source, err := OpenSamples(strings.NewReader(text.String()), "bench.csv", SamplesOptions{Channels: []string{"A"}})
				if err != nil {
					b.Fatal(err)
				}
				for err == nil {
					err = source.Next(&block)
				}
			}
		})
	}
}
