package replay

import "math"

const (
	stripSamples = 4096
	mostStrips   = 256
)

// Strips keeps stretches of a wave, evenly spread over it, however long it is. Of
// waves recorded side by side the same stretches are kept.
type Strips struct {
	every int64 // of so many stretches one is kept
	list  []strip
}

type strip struct {
	first int64
	v     []float32 // volts; NaN where samples were lacking
}

// Wave gives the next samples, the first at position first.
func (s *Strips) Wave(first int64, v []float64) {
	for len(v) > 0 {
		k := first / stripSamples
		n := min(int((k+1)*stripSamples-first), len(v))
		if k%max(s.every, 1) == 0 {
			s.keep(first, v[:n])
		}
		first, v = first+int64(n), v[n:]
	}
}

// keep adds samples of one stretch.
func (s *Strips) keep(first int64, v []float64) {
	start := first - first%stripSamples
	if n := len(s.list); n == 0 || s.list[n-1].first != start {
		if n == mostStrips {
			s.thin()
			s.Wave(first, v)
			return
		}
		s.list = append(s.list, strip{start, make([]float32, 0, stripSamples)})
	}
	to := &s.list[len(s.list)-1]
	for int64(len(to.v)) < first-start {
		to.v = append(to.v, float32(math.NaN()))
	}
	for _, x := range v {
		to.v = append(to.v, float32(x))
	}
}

// thin gives up every second stretch.
func (s *Strips) thin() {
	s.every = 2 * max(s.every, 1)
	kept := s.list[:0]
	for _, x := range s.list {
		if x.first/stripSamples%s.every == 0 {
			kept = append(kept, x)
		}
	}
	clear(s.list[len(kept):])
	s.list = kept
}

// of is the stretch that holds a position; nil where none was kept.
func (s *Strips) of(at int64) *strip {
	if s == nil || at < 0 {
		return nil
	}
	start, every := at-at%stripSamples, max(s.every, 1)
	lo, hi := 0, len(s.list)
	for lo < hi {
		if mid := (lo + hi) / 2; s.list[mid].first < start {
			lo = mid + 1
		} else {
			hi = mid
		}
	}
	if start/stripSamples%every != 0 || lo == len(s.list) || s.list[lo].first != start {
		return nil
	}
	return &s.list[lo]
}

// mean is that of all samples kept.
func (s *Strips) mean() float64 {
	sum, n := 0.0, 0.0
	for _, x := range s.list {
		for _, v := range x.v {
			if v := float64(v); v-v == 0 {
				sum, n = sum+v, n+1
			}
		}
	}
	return sum / max(n, 1)
}
