package threshold

import (
	"math"
	"slices"
	"sort"
)

// axisSearch looks for the speeds of a table that leave it the most room.
//
// It passes on, from site to site and row to row, the sets of steps that tables
// can have there, as the search for the best values does along given rows: with
// each row more, every site takes the steps that any site before it leads to.
type axisSearch struct {
	s     *Sensor
	steps steps
	goal  goal
	sites []site
	ways  [][]way // ways[j] lead to site j, those from nearer sites first
	first int     // how many rows stand up to the low end of cranking
	// kept tells, by 1 or 0, whether every speed from cranking on is to stay inside
	// its window.
	kept float64
}

// site is a speed where a row may stand. The first one stands for all the rows
// up to the low end of cranking, which hold one threshold.
type site struct {
	window   Window
	required bool
	none     bool // noise reaches the weakest tooth
	aim      float64
	own      wanted // by the windows that the row alone decides
	inside   sides  // of the same windows
}

// way is the stretch from one site to a later one.
type way struct {
	from  int
	links [2]link
	held  wanted // by the windows between, where a row is held up to the next

	inside     link
	heldInside sides
}

// goal says what is wanted of every speed. The largest worst score comes first,
// of all speeds alike. It often stands at cranking, where the rows are given,
// or where some window is too narrow for the targets; so the largest worst
// score above cranking comes second, in relation to the best that a window
// allows where that is under 1. Where no noise bounds the threshold from below,
// it is to follow the weakest tooth as closely from below as from above.
type goal struct {
	stepV    float64
	aboveRPM float64
	follow   bool
	most     scores // that the windows allow
}

// wanted are the sides that all speeds want alike, and those wanted second;
// scores are asked of the two.
type (
	wanted [2]sides
	scores [2]float64
)

func (w wanted) and(o wanted) wanted { return wanted{w[0].and(o[0]), w[1].and(o[1])} }

func (w wanted) at(a scores) sides { return w[0].at(a[0]).and(w[1].at(a[1])) }

var allOpen = wanted{open, open}

func (s *Sensor) newGoal(windows []Window, stepV float64) goal {
	g := goal{stepV: stepV, aboveRPM: s.Options.CrankingRPM, most: scores{math.Inf(1), math.Inf(1)}}
	for _, w := range windows {
		g.most[0] = min(g.most[0], w.bestScore())
	}
	g.follow = math.IsInf(g.most[0], 1)
	for _, w := range windows {
		for i, s := range g.of(w) {
			g.most[i] = min(g.most[i], s.score())
		}
	}
	if math.IsInf(g.most[1], 1) {
		g.most[1] = 1 // nothing is wanted from below above cranking
	}
	return g
}

func (g goal) of(w Window) wanted {
	s := w.sides(g.stepV)
	if g.follow {
		s.low = s.high
	}
	if w.RPM <= g.aboveRPM {
		return wanted{s, open}
	}
	return wanted{s, s.at(min(1, w.bestScore()))}
}

// ofAll is what all of the windows want of one threshold.
func (g goal) ofAll(windows []Window) wanted {
	all := allOpen
	for _, w := range windows {
		all = all.and(g.of(w))
	}
	return all
}

// inside is what keeps a speed from cranking on inside its window.
func (g goal) inside(w Window) sides {
	if w.RPM < g.aboveRPM {
		return open
	}
	return w.inside(g.stepV)
}

func (g goal) allInside(windows []Window) sides {
	all := open
	for _, w := range windows {
		all = all.and(g.inside(w))
	}
	return all
}

// reach finds the largest scores that can be had, the first one first; ok is
// false where none can.
func (g goal) reach(can func(scores) bool) (best scores, ok bool) {
	for i := range best {
		one := func(score float64) bool {
			ask := best
			ask[i] = score
			return can(ask.less())
		}
		lo := 0.0
		if g.most[i] > 1 && one(1) { // meeting the targets is not left to axisSlack
			lo = 1
		}
		best[i] = largest(one, lo, g.most[i], axisSlack)
	}
	best = best.less()
	return best, can(best)
}

// mostSites is how many speeds are looked at; of more, those in geometric steps.
const mostSites = 64

// newAxisSearch prepares the search for tables that have the first rows, all up
// to the low end of cranking, and the required ones above.
func (s *Sensor) newAxisSearch(first, required []float64) *axisSearch {
	lowRPM := first[len(first)-1]
	speeds := s.siteSpeeds(lowRPM, required)
	windows := s.newJudge(slices.Concat(first, speeds)).windows
	f := s.newFrame(slices.Concat(first, required))
	a := &axisSearch{s: s, steps: f.steps, goal: s.newGoal(windows, f.steps.v), first: len(first)}
	a.add(lowRPM, true)
	for _, rpm := range speeds {
		a.add(rpm, slices.Contains(required, rpm))
	}
	a.connect(windows)
	return a
}

// siteSpeeds are the required speeds and, above the first rows, those on the
// axis step.
func (s *Sensor) siteSpeeds(lowRPM float64, required []float64) []float64 {
	step, speeds := s.Options.Axis.StepRPM, slices.Clone(required)
	highRPM := required[len(required)-1]
	first, last := math.Floor(lowRPM/step+stepSlack)+1, math.Ceil(highRPM/step-stepSlack)-1
	for i := range mostSites {
		number := first + float64(i)
		if last-first >= mostSites {
			number = math.Round(math.Max(first, 1) * math.Pow(last/math.Max(first, 1), float64(i)/(mostSites-1)))
		}
		if number <= last {
			speeds = append(speeds, number*step)
		}
	}
	slices.Sort(speeds)
	return slices.Compact(speeds)
}

func (a *axisSearch) add(rpm float64, required bool) {
	w := a.s.Window(max(rpm, a.s.Options.CrankingLowRPM))
	aimV, ok := a.s.aim(w)
	w.RPM = rpm
	if ok || required {
		a.sites = append(a.sites, site{window: w, required: required, none: !ok, aim: aimV / a.steps.v})
	}
}

// connect gives the windows to the sites and to the ways between them.
func (a *axisSearch) connect(windows []Window) {
	after := func(rpm float64) int {
		return sort.Search(len(windows), func(i int) bool { return windows[i].RPM > rpm })
	}
	begin, end := make([]int, len(a.sites)), make([]int, len(a.sites))
	for j, site := range a.sites {
		rpm := site.window.RPM
		begin[j], end[j] = after(rpm*(1-hair)), after(rpm+hair*math.Max(rpm, 1))
		if a.s.Options.Input.BetweenRows == Step {
			begin[j], end[j] = after(math.Nextafter(rpm, 0)), after(rpm)
		}
	}
	begin[0], end[len(end)-1] = 0, len(windows)
	a.ways = make([][]way, len(a.sites))
	for j := range a.sites {
		own := windows[begin[j]:end[j]]
		a.sites[j].own, a.sites[j].inside = a.goal.ofAll(own), a.goal.allInside(own)
		for i := j - 1; i >= 0; i-- {
			a.ways[j] = append(a.ways[j], a.way(i, j, windows[begin[i]:begin[j]], windows[end[i]:begin[j]]))
			if a.sites[i].required {
				break
			}
		}
	}
}

// way is the one from site i to j: from holds the windows up to j, between
// those strictly between them.
func (a *axisSearch) way(i, j int, from, between []Window) way {
	w := way{from: i, held: allOpen, heldInside: open}
	if a.s.Options.Input.BetweenRows == Step {
		w.held, w.heldInside = a.goal.ofAll(from), a.goal.allInside(from)
		return w
	}
	lowRPM, highRPM := a.sites[i].window.RPM, a.sites[j].window.RPM
	for _, window := range between {
		share := (window.RPM - lowRPM) / (highRPM - lowRPM)
		for k, s := range a.goal.of(window) {
			w.links[k].add(share, s)
		}
		w.inside.add(share, a.goal.inside(window))
	}
	return w
}

// layer is the steps that tables of some number of rows can end in, by site.
type layer [][]run

// layers gives one layer a row, the first one for the rows up to the low end of
// cranking.
func (a *axisSearch) layers(ask scores, rows int) []layer {
	start := make(layer, len(a.sites))
	start[0] = joinRun(nil, a.limits(0, ask))
	all := []layer{start}
	for len(all) < rows-a.first+1 {
		all = append(all, a.next(all[len(all)-1], ask))
	}
	return all
}

// limits are the steps that a site's own windows leave open.
func (a *axisSearch) limits(i int, ask scores) run {
	limits := run{a.steps.min, a.steps.max}
	if a.sites[i].none {
		return limits
	}
	return limits.holding(a.sites[i].own.at(ask).and(a.sites[i].inside.at(a.kept)))
}

func (a *axisSearch) next(before layer, ask scores) layer {
	l := make(layer, len(a.sites))
	for j := range a.sites {
		limits := a.limits(j, ask)
		for k := range a.ways[j] {
			w := &a.ways[j][k]
			if len(before[w.from]) > 0 && !limits.empty() {
				l[j] = append(l[j], a.lead(w, j, before[w.from], limits, ask)...)
			}
		}
		l[j] = union(l[j])
	}
	return l
}

// lead gives the steps of site j that the runs at the beginning of a way lead
// to.
func (a *axisSearch) lead(w *way, j int, runs []run, limits run, ask scores) []run {
	if a.sites[w.from].none || a.sites[j].none {
		return []run{limits}
	}
	if runs = within(runs, a.heldAt(w, ask)); len(runs) == 0 {
		return nil
	}
	p := a.passage(w, ask)
	p.next = sides{float64(limits.from), float64(limits.to)}
	return p.image(runs)
}

func (a *axisSearch) passage(w *way, ask scores) passage {
	return passage{[3]asked{{w.links[0], ask[0]}, {w.links[1], ask[1]}, {w.inside, a.kept}}, open}
}

// heldAt is what a way's windows leave open to a row that is held along it.
func (a *axisSearch) heldAt(w *way, ask scores) sides {
	return w.held.at(ask).and(w.heldInside.at(a.kept))
}

// axis goes back from the last site through layers to the first rows. Of the
// sites that lead on, it takes the ones nearest to geometric steps. nil where
// rounding hides the way back.
func (a *axisSearch) axis(all []layer, ask scores) []float64 {
	j, row := len(a.sites)-1, len(all)-1
	value := float64(nearest(all[row][j], a.sites[j].aim))
	speeds := []float64{a.sites[j].window.RPM}
	for ; row > 1; row-- {
		wantedRPM := a.geometric(row, a.sites[j].window.RPM)
		best, least := -1, math.Inf(1)
		for k := range a.ways[j] {
			w := &a.ways[j][k]
			off := math.Abs(math.Log(a.sites[w.from].window.RPM / wantedRPM))
			if off < least && len(a.back(w, j, all[row-1][w.from], value, ask)) > 0 {
				best, least = k, off
			}
		}
		if best < 0 {
			return nil
		}
		w := &a.ways[j][best]
		value = float64(nearest(a.back(w, j, all[row-1][w.from], value, ask), a.sites[w.from].aim))
		j = w.from
		speeds = append(speeds, a.sites[j].window.RPM)
	}
	slices.Reverse(speeds)
	return speeds
}

// geometric is the speed of the row before one, in geometric steps from the
// first required row above cranking, which is the second layer's.
func (a *axisSearch) geometric(row int, rpm float64) float64 {
	lowRPM := a.s.Options.CrankingRPM
	return lowRPM * math.Pow(rpm/lowRPM, math.Max(0, float64(row-2))/float64(row-1))
}

// back gives the steps of a way's beginning that lead to a value of its end.
func (a *axisSearch) back(w *way, j int, runs []run, value float64, ask scores) []run {
	if a.sites[w.from].none || a.sites[j].none {
		return runs
	}
	p := a.passage(w, ask)
	return within(runs, p.back(value).and(a.heldAt(w, ask)))
}

// less takes from scores what rounding does.
func (a scores) less() scores { return scores{a[0] * (1 - targetSlack/2), a[1] * (1 - targetSlack/2)} }

// axisSlack is how closely, relatively, the scores of axes are told apart.
const axisSlack = 1e-4

// reach finds the largest scores that can be had inside the windows from
// cranking on; where nothing can stay there, any.
func (a *axisSearch) reach(can func(scores) bool) (best scores, ok bool) {
	a.kept = 1
	if !can(scores{}) {
		a.kept = 0
	}
	return a.goal.reach(can)
}

// axisOf returns the axis with as many rows as asked for, the required ones
// among them, whose best table has the largest scores; ok is false where there
// is none.
func (a *axisSearch) axisOf(rows int) (speeds []float64, worst float64, ok bool) {
	ask, ok := a.reach(func(ask scores) bool { return a.fewest(ask, rows, rows) > 0 })
	if !ok {
		return nil, 0, false
	}
	speeds = a.axis(a.layers(ask, rows), ask)
	return speeds, ask[0], speeds != nil
}

// fewest is the least number of rows, in a range, that reach the scores; 0
// where none does.
func (a *axisSearch) fewest(ask scores, from, to int) int {
	last := len(a.sites) - 1
	for i, l := range a.layers(ask, to) {
		if rows := a.first + i; rows >= from && len(l[last]) > 0 {
			return rows
		}
	}
	return 0
}

// RowChoice tells how many rows a table has and why.
type RowChoice struct {
	Rows int
	// Reaches tells that the rows reach both targets at every speed; else they
	// are as many as help.
	Reaches bool
	// MoreRows is the number of rows from which on more stop helping, Gain how
	// much more, relatively, they keep at the worst speed; 0 where no number
	// gains more than a hundredth.
	MoreRows int
	Gain     float64
}

const (
	// mostAutoRows is the largest number of rows that is chosen by itself.
	mostAutoRows = 16
	// helps is the ratio of scores from which on more rows help.
	helps = 1.01
)

// fewestRows chooses as many rows as reach the targets; where none do, as many
// as help.
func (a *axisSearch) fewestRows() (speeds []float64, choice RowChoice, ok bool) {
	most := min(mostAutoRows, a.first+len(a.sites)-1)
	some := func(ask scores) bool { return a.fewest(ask, a.first+1, most) > 0 }
	best, ok := a.reach(some)
	if !ok {
		return nil, choice, false
	}
	nearly := scores{best[0] / helps, best[1] / helps}
	choice.Reaches = !a.goal.follow && best[0] >= 1-targetSlack
	choice.Rows = a.fewest(nearly, a.first+1, most)
	if choice.Reaches {
		choice.Rows = a.fewest(scores{1, 0}.less(), a.first+1, most)
	}
	speeds, worst, ok := a.axisOf(choice.Rows)
	if more := a.fewest(scores{nearly[0], 0}, a.first+1, most); ok && more > choice.Rows {
		_, then, _ := a.axisOf(more)
		choice.MoreRows, choice.Gain = more, then/worst-1
	}
	return speeds, choice, ok
}

// bestAxis chooses the speeds beside the required ones, and, with rows 0, how
// many; nil where nothing is to be chosen.
func (s *Sensor) bestAxis(required []float64, rows int) ([]float64, *RowChoice) {
	n := 0
	for n < len(required) && required[n] <= s.Options.CrankingLowRPM {
		n++
	}
	if n == 0 || n == len(required) {
		return nil, nil
	}
	search := s.newAxisSearch(required[:n:n], required[n:])
	if rows == 0 {
		speeds, choice, ok := search.fewestRows()
		if !ok {
			return nil, nil
		}
		return slices.Concat(required[:n], speeds), &choice
	}
	if rows = min(rows, n+len(search.sites)-1); rows <= len(required) {
		return required, nil
	}
	speeds, _, ok := search.axisOf(rows)
	if !ok {
		return nil, nil
	}
	return slices.Concat(required[:n], speeds), nil
}
