package report

// Chart is a picture as data: what is drawn, in the axes' units, and the one
// thing it says. How large it is and how it looks is for whoever draws it.
type Chart struct {
	// Name tells the pictures of a section apart: "amplitude".
	Name    string
	Title   string
	Caption string // one statement
	X, Y    Axis

	// Drawn in this order, each over what came before.
	Bands []Band
	Rules []Rule
	Lines []Line
	Dots  []Dots

	// Numbers are the numbers behind the picture. A read-out looks them up in
	// the first table by its first column, which is X.
	Numbers []Table
	// Zoom says that a stretch of X is worth a closer look.
	Zoom bool
}

// Axis is one direction of a chart.
type Axis struct {
	Label string // with the unit
	// From and To are shown whatever the data; both 0 for the data alone.
	From, To float64
	// Ratio gives equal ratios equal lengths; what is not above 0 has no place
	// on such an axis.
	Ratio bool
	// Standstill keeps a place for 0 beside a Ratio axis.
	Standstill bool
	// Hard leaves out what lies outside From and To.
	Hard bool
	// Step is the distance of the labels; 0 for a round one.
	Step float64
}

// Point is a place in a chart. A Y of NaN interrupts a line.
type Point struct{ X, Y float64 }

// Span is the stretch of Y that a band or a reading has at one X.
type Span struct{ X, Low, High float64 }

// Band fills the room between two curves; where Low is not under High there is
// none.
type Band struct {
	Label string // empty keeps it out of the key
	Fill  Fill
	Spans []Span
}

// Fill is how a band is filled.
type Fill string

// Fills.
const (
	Hatched Fill = "hatched"
	Crossed Fill = "crossed"
	Tinted  Fill = "tinted"
	Inked   Fill = "inked"
)

// Line joins its points.
type Line struct {
	Label  string
	Stroke Stroke
	Points []Point
}

// Stroke is how a line is drawn.
type Stroke string

// Strokes, each told from the others without colour.
const (
	Heavy   Stroke = "heavy"
	Firm    Stroke = "firm"
	Fine    Stroke = "fine"
	Dashed  Stroke = "dashed"
	Dotted  Stroke = "dotted"
	DashDot Stroke = "dashdot"
	Long    Stroke = "long"
	Short   Stroke = "short"
	Beyond  Stroke = "beyond" // past what was measured
)

// Rule is a straight line across the whole chart.
type Rule struct {
	Label  string // stands at the rule
	At     float64
	Level  bool // at this Y; else at this X
	Stroke Stroke
}

// Dots are single places.
type Dots struct {
	Label string
	Mark  Mark
	At    []Dot
}

// Dot is one of them. Low and High are the ends of its bar; both 0 for none.
type Dot struct {
	X, Y      float64
	Low, High float64
	Text      string // stands above it
}

// Mark is the shape of dots.
type Mark string

// Marks.
const (
	Disc   Mark = "disc"
	Ring   Mark = "ring"
	Square Mark = "square"
	Cross  Mark = "cross"
	Up     Mark = "up"   // a triangle, pointing up
	Down   Mark = "down" // and down
	Bare   Mark = "bare" // nothing but its text
)
