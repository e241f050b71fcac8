package measure

// Plot is a picture as data: axes and layers, no pixels. The chart package
// draws it for page, report and file alike. Layers, spans and marks are all in
// data units, before the offset of the axis is taken away.
type Plot struct {
	ID      string // "record", "residuals", "allan"
	Title   string
	Caption string
	Alt     string // what the picture shows, in words
	X, Y    Axis
	Layers  []Layer
	Spans   []Span // marked stretches of the y or x axis (a band of tolerance)
	Marks   []Mark // marked places
}

// Axis names one axis. Unit is the base unit of the data; the chart chooses a
// scale people read (min, kHz). Offset is subtracted from the data first and
// named in OffsetLabel ("from closing value").
type Axis struct {
	Label       string
	Unit        string
	Log         bool
	Offset      float64
	OffsetLabel string
}

// The sides of a comparison; a picture of one thing uses SideNone.
const (
	SideNone = ""
	SideA    = "a"
	SideB    = "b"
)

// The kinds of layer.
const (
	LayerPoints = "points" // every reading, drawn
	LayerLine   = "line"
	LayerBand   = "band"  // between Lo and Hi
	LayerBars   = "bars"  // interval Lo to Hi at each X, with point Y
	LayerAside  = "aside" // readings set aside, drawn hollow and crossed
	LayerHist   = "steps" // staircase
	LayerTones  = "tones" // a grid of values, the darker the larger
)

// Layer is one set of data in a plot. X and Y (or Lo and Hi) have equal length.
// NaN breaks a line.
type Layer struct {
	Kind   string
	Side   string // SideNone, SideA, SideB
	Label  string // written beside the curve
	X, Y   []float64
	Lo, Hi []float64
	Tones  *Tones // of LayerTones
}

// Tones is a grid of values over a rectangle of both axes, drawn as tones from
// none at Lo to full at Hi. Values stand row by row, the first row at Y0.
type Tones struct {
	X0, X1, Y0, Y1 float64
	Columns, Rows  int
	Values         []float32
	Lo, Hi         float64
}

// Span is a marked stretch between From and To on one axis ("x" or "y").
type Span struct {
	Axis     string
	From, To float64
	Label    string
	Side     string
}

// Mark is a marked place: a vertical line at X down to the axis, with a label.
// It begins with a point at Y where HasY, else at the line layer of its side,
// else at the top of the picture.
type Mark struct {
	X, Y  float64
	HasY  bool
	Label string
	Side  string
}
