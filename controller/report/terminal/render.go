package terminal

// The least size with a plot, and how many lines the picture needs without one.
const (
	plotWidth   = 80
	plotHeight  = 18
	smallHeight = 7
)

// Render draws a view into lines of at most this width, height of them at most,
// parted by line feeds. Narrower than 80 or lower than 18 it leaves the plot out.
func Render(v View, width, height int, mode ColourMode) string {
	width, height = max(1, width), max(1, height)
	if width < plotWidth || height < plotHeight {
		g := newGrid(width, min(height, smallHeight))
		v.small(g, mode)
		return g.print(mode)
	}
	g := newGrid(width, height)
	v.full(g, mode)
	return g.print(mode)
}

// full is the picture with its plot. Below the head and above the foot all lines
// belong to the plot.
func (v View) full(g *grid, mode ColourMode) {
	foot := g.height - 6
	v.head(g, 0)
	v.state(g, 1)
	v.numbers(g, 3)
	v.film(g, 4, mode)
	v.plot(g, 7, foot-1, mode)
	v.recent(g, foot)
	v.ask(g, g.height-4)
	g.text(1, g.height-2, false, v.Bench)
	v.hint(g, g.height-1)
}

// small keeps state, numbers, colours, what needs a person, and how to stop.
func (v View) small(g *grid, mode ColourMode) {
	v.head(g, 0)
	v.state(g, 1)
	g.text(1, 2, true, value(v.Volts, 1)+" V  "+value(v.Amperes, 3)+" A  "+value(v.Density, 2)+" mA/cm2")
	v.swatches(g, 3, mode)
	v.ask(g, 4)
	v.hint(g, g.height-1)
}

func (v View) head(g *grid, y int) {
	left := v.Load
	if v.Simulated {
		left = "SIMULATED  " + left
	}
	g.sides(y, 1, false, left, v.Clock)
	for x := range len("SIMULATED") {
		if v.Simulated && 1+x < g.width {
			g.cells[y*g.width+1+x].bold = true
		}
	}
}

// state is inverse while energised, plain when off, framed by ? when unknown.
func (v View) state(g *grid, y int) {
	left := v.stateWord()
	if v.Why != "" {
		left += "    " + v.Why
	}
	switch v.Output {
	case Unknown:
		g.sides(y, 1, true, "? "+v.stateWord()+"    output not known, treat as on", "?")
	case On:
		g.sides(y, 1, true, left, v.left())
		g.invert(y)
	default:
		g.sides(y, 1, true, left, v.left())
	}
}

func (v View) numbers(g *grid, y int) {
	g.sides(y, 3, true, v.voltsWords(), v.amperesWords())
}

func (v View) film(g *grid, y int, mode ColourMode) {
	g.sides(y, 3, false, "film   "+v.filmWords(), v.ageWords())
	v.swatches(g, y+1, mode)
}

// swatches abut the wanted colour to the one of now: a block each, side by side.
func (v View) swatches(g *grid, y int, mode ColourMode) {
	left := min(3, g.width/20)
	g.text(left, y, false, "now")
	v.Now.block(g, left+7, y, mode)
	v.Wanted.block(g, left+11, y, mode)
	g.sides(y, left+16, false, "wanted   "+v.wantedWords(), v.differenceWords())
}

// block is four cells of a colour, or of its initial where there are no colours.
func (s Swatch) block(g *grid, x, y int, mode ColourMode) {
	for i := range 4 {
		c := cell{letter: '█', tinted: true, tint: s.Colour}
		if mode == Mono || s.Name == "" {
			c = cell{letter: s.initial()}
		}
		g.set(x+i, y, c)
	}
}

// recent are the last two lines of what happened.
func (v View) recent(g *grid, y int) {
	lines := v.Lines[max(0, len(v.Lines)-2):]
	for i, line := range lines {
		g.text(1, y+i, false, line.words())
	}
}

// ask is what needs a person, in two lines: a trip before a question.
func (v View) ask(g *grid, y int) {
	text := ""
	switch {
	case v.Trip != "":
		text = "TRIP  " + v.Trip
	case v.Question != "":
		text = "?  " + v.Question
	}
	for i, line := range wrap(text, g.width-2, 2) {
		g.text(1, y+i, true, line)
	}
}

func (v View) hint(g *grid, y int) {
	switch {
	case v.Ended:
	case g.width < plotWidth:
		g.text(1, y, false, "Ctrl-C stops, again: off blind.")
	default:
		g.text(1, y, false, "Ctrl-C stops. A second Ctrl-C: off at once, without a reply.")
	}
}
