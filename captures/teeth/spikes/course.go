package spikes

// smoothCourse is the wave smoothened so that a polynomial of fifth order stays as it is:
// from the means over three stretches about each sample.
type smoothCourse struct {
	reach  int // samples on either side of the longest
	sides  [3]int
	weight [3]float64 // of their sums
}

// newSmoothCourse is one whose stretches are so long, twice and three times that. A
// mean over n samples is off by n²−1 times a 24th of the bend, and by a square in n² of
// the bend's bend: so at n² = 1, which is one sample, the parabola through three of them
// is not.
func newSmoothCourse(length float64) *smoothCourse {
	c := &smoothCourse{}
	var square [3]float64
	for i := range c.sides {
		c.sides[i] = (i + 1) * max(1, int(length/2))
		n := float64(2*c.sides[i] + 1)
		square[i], c.weight[i] = n*n, 1/n
	}
	c.reach = c.sides[2]
	for i := range c.weight {
		for j := range square {
			if j != i {
				c.weight[i] *= (1 - square[j]) / (square[i] - square[j])
			}
		}
	}
	return c
}

// leaves is how far samples go above and below it, by the running sums, in which they
// begin at an index.
func (c *smoothCourse) leaves(v, sums []float64, at int) Extent {
	n := len(v)
	after0, before0 := sums[at+c.sides[0]+1:][:n], sums[at-c.sides[0]:][:n]
	after1, before1 := sums[at+c.sides[1]+1:][:n], sums[at-c.sides[1]:][:n]
	after2, before2 := sums[at+c.sides[2]+1:][:n], sums[at-c.sides[2]:][:n]
	up, down := 0.0, 0.0
	for i, x := range v {
		left := x - c.weight[0]*(after0[i]-before0[i]) - c.weight[1]*(after1[i]-before1[i]) - c.weight[2]*(after2[i]-before2[i])
		up, down = max(up, left), min(down, left)
	}
	return Extent{float32(up), float32(-down), true}
}
