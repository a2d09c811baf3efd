package leastsq

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"
)

const (
	// trimmedStride thins the scan of θ for a start that only has to lie in the
	// right valley.
	trimmedStride = 3
	// elementalMost is the number of subsets tried at each θ.
	elementalMost = 60
	// concentrations is the most refits of the best half.
	concentrations = 10
)

// startTrimmed moves to a fit of least trimmed squares, which looks only at the
// better half of the observations: gross outliers, wherever they are, stay out.
// At each θ the linear part is taken from small subsets that it fits exactly;
// the best is then refitted to the half nearest to it until that half stays
// (Rousseeuw and Van Driessen, Data Min. Knowl. Discov. 12 (2006) 29-45). It is
// false where no subset determines a fit.
func (f *reweighting) startTrimmed() bool {
	keep := min((f.used+f.model.parameters()+1)/2, f.used)
	half := halfFit{f, keep, make([]float64, len(f.y))}
	if !half.startElemental() {
		return false
	}
	least := math.Inf(1)
	for range concentrations {
		half.keepNearest()
		u := f.search()
		sum := f.evaluate(u)
		if !(sum < least*(1-1e-12)) {
			break
		}
		f.u, least = u, sum
		f.takeResiduals()
	}
	return finite(least)
}

// halfFit judges a fit by the sum of its keep least squares.
type halfFit struct {
	*reweighting
	keep    int
	squares []float64
}

// startElemental takes the residuals of the best fit to a subset.
func (h *halfFit) startElemental() (found bool) {
	least := math.Inf(1)
	subsets := elementalSubsets(h.usedIndices(), h.model.Columns)
	for i := 0; i <= scanSteps; i += trimmedStride {
		u := h.axis.scanned(i)
		for _, subset := range subsets {
			clear(h.rootWeight)
			for _, k := range subset {
				h.rootWeight[k] = 1
			}
			if math.IsInf(h.evaluate(u), 1) {
				continue
			}
			if sum := h.trimmedSum(); sum < least {
				least, found = sum, true
				h.takeResiduals()
			}
		}
		if !h.model.searched() {
			break
		}
	}
	return found
}

func (h *halfFit) usedIndices() []int {
	var used []int
	for i, w := range h.given {
		if w > 0 {
			used = append(used, i)
		}
	}
	return used
}

// trimmedSum of the fit at hand.
func (h *halfFit) trimmedSum() float64 {
	squares := h.squares[:0]
	for i, w := range h.given {
		if w > 0 {
			resid := w * (h.y[i] - h.fitted(i))
			squares = append(squares, resid*resid)
		}
	}
	slices.Sort(squares)
	sum := 0.0
	for _, v := range squares[:h.keep] {
		sum += v
	}
	return sum
}

// keepNearest gives a weight only to the observations with the least residuals.
func (h *halfFit) keepNearest() {
	order := h.usedIndices()
	slices.SortStableFunc(order, func(a, b int) int {
		return cmp.Compare(h.given[a]*math.Abs(h.resid[a]), h.given[b]*math.Abs(h.resid[b]))
	})
	clear(h.rootWeight)
	for _, i := range order[:h.keep] {
		h.rootWeight[i] = h.given[i]
	}
}

// elementalSubsets lists the subsets of a size, or a fixed draw of them where
// there are too many.
func elementalSubsets(of []int, size int) [][]int {
	if binomial(len(of), size) <= elementalMost {
		return allSubsets(of, size)
	}
	random := rand.New(rand.NewPCG(uint64(len(of)), uint64(size)))
	subsets := make([][]int, elementalMost)
	for i := range subsets {
		for _, k := range random.Perm(len(of))[:size] {
			subsets[i] = append(subsets[i], of[k])
		}
	}
	return subsets
}

func allSubsets(of []int, size int) [][]int {
	if size == 0 {
		return [][]int{nil}
	}
	var subsets [][]int
	for i, first := range of {
		for _, rest := range allSubsets(of[i+1:], size-1) {
			subsets = append(subsets, append([]int{first}, rest...))
		}
	}
	return subsets
}

// binomial counts the subsets, as a float because it only has to be compared.
func binomial(n, k int) float64 {
	count := 1.0
	for i := range k {
		count *= float64(n-i) / float64(i+1)
	}
	return count
}
