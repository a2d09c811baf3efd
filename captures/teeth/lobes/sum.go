package lobes

// Sum is that of the lobes of teeth that passed at about one speed, with the heights that
// were told of them one by one: by what had passed before each. All of them together
// tell the height better.
type Sum struct {
	wave    Lobe
	n       float64
	heights float64 // times the length of a turn, as the wave
	slopes  float64 // variances of single slopes about the top
	smear   float64 // variances of places, cells squared
}

// Add takes one, and the height told of it.
func (s *Sum) Add(m *Mean, l *Lobe, turn, heightV float64) {
	s.n++
	s.heights += heightV * turn
	s.slopes += m.slopes
	s.smear += m.smear
	for i, v := range l {
		s.wave[i] += v * turn
	}
}

// Merge takes those of another.
func (s *Sum) Merge(o *Sum) {
	s.n += o.n
	s.heights += o.heights
	s.slopes += o.slopes
	s.smear += o.smear
	for i, v := range o.wave {
		s.wave[i] += v
	}
}

// Ratio is the height of their mean over the mean of their heights; 1 of too few.
func (s *Sum) Ratio() float64 {
	if s.n < enough || !(s.heights > 0) {
		return 1
	}
	mean := s.wave
	for i := range mean {
		mean[i] /= s.n
	}
	return mean.crown().top(&mean, s.slopes/(s.n*s.n), s.smear/s.n) / (s.heights / s.n)
}
