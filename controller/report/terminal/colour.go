package terminal

import (
	"fmt"
	"strings"
)

// ColourMode is how many colours a terminal has.
type ColourMode uint8

// The colour modes.
const (
	Mono ColourMode = iota
	Colour256
	TrueColour
)

// ModeOf tells the colour mode from the environment. NO_COLOR, where it is set
// and not empty, wins.
func ModeOf(getenv func(string) string) ColourMode {
	switch {
	case getenv("NO_COLOR") != "", getenv("TERM") == "dumb":
		return Mono
	case getenv("COLORTERM") == "truecolor", getenv("COLORTERM") == "24bit":
		return TrueColour
	}
	return Colour256
}

// print turns a grid into lines with the escape sequences of ECMA-48.
func (g *grid) print(mode ColourMode) string {
	var b strings.Builder
	for y := range g.height {
		now := ""
		line := g.cells[y*g.width : (y+1)*g.width]
		for _, c := range line[:used(line)] {
			if style := c.style(mode); style != now {
				b.WriteString("\x1b[0" + style + "m")
				now = style
			}
			b.WriteRune(c.letter)
		}
		if now != "" {
			b.WriteString("\x1b[0m")
		}
		if y < g.height-1 {
			b.WriteByte('\n')
		}
	}
	return b.String()
}

// used is the length of a line without the blanks at its end.
func used(line []cell) int {
	end := len(line)
	for end > 0 && line[end-1].letter == ' ' && !line[end-1].inverse {
		end--
	}
	return end
}

func (c cell) style(mode ColourMode) string {
	style := ""
	if c.bold {
		style += ";1"
	}
	if c.inverse {
		style += ";7"
	}
	if c.tinted && mode == TrueColour {
		style += fmt.Sprintf(";38;2;%d;%d;%d", c.tint.R, c.tint.G, c.tint.B)
	}
	if c.tinted && mode == Colour256 {
		style += fmt.Sprintf(";38;5;%d", c.tint.palette())
	}
	return style
}

// The palette of 256 has a cube of six steps and a ramp of 24 greys.
var cubeSteps = [6]int{0, 95, 135, 175, 215, 255}

// palette is the nearest colour of the palette of 256.
func (c RGB) palette() int {
	r, g, b := nearestStep(c.R), nearestStep(c.G), nearestStep(c.B)
	cube := distance(c, cubeSteps[r], cubeSteps[g], cubeSteps[b])
	mean := (int(c.R) + int(c.G) + int(c.B)) / 3
	grey := max(0, min(23, (mean-3)/10))
	if level := 8 + 10*grey; distance(c, level, level, level) < cube {
		return 232 + grey
	}
	return 16 + 36*r + 6*g + b
}

func nearestStep(v uint8) int {
	best := 0
	for i, step := range cubeSteps {
		if abs(step-int(v)) < abs(cubeSteps[best]-int(v)) {
			best = i
		}
	}
	return best
}

func distance(c RGB, r, g, b int) int {
	dr, dg, db := int(c.R)-r, int(c.G)-g, int(c.B)-b
	return dr*dr + dg*dg + db*db
}

func abs(v int) int { return max(v, -v) }
