package terminal

import "unicode"

// cell is one place of the picture.
type cell struct {
	letter  rune
	inverse bool
	bold    bool
	tinted  bool
	tint    RGB // of the letter, where tinted
}

// grid is a picture of cells. What is set outside it is left out.
type grid struct {
	width, height int
	cells         []cell
}

func newGrid(width, height int) *grid {
	g := &grid{width: width, height: height, cells: make([]cell, width*height)}
	for i := range g.cells {
		g.cells[i].letter = ' '
	}
	return g
}

func (g *grid) set(x, y int, c cell) {
	if x >= 0 && x < g.width && y >= 0 && y < g.height {
		g.cells[y*g.width+x] = c
	}
}

// plain makes a text safe for a terminal: what moves its cursor becomes "?".
func plain(text string) []rune {
	letters := []rune(text)
	for i, letter := range letters {
		if !unicode.IsPrint(letter) {
			letters[i] = '?'
		}
	}
	return letters
}

// text sets a text from a place on, cut at the edge with an ellipsis.
func (g *grid) text(x, y int, bold bool, text string) {
	letters := plain(text)
	if room := g.width - x; len(letters) > room && room > 0 {
		letters = append(letters[:room-1], '…')
	}
	for i, letter := range letters {
		g.set(x+i, y, cell{letter: letter, bold: bold})
	}
}

// sides sets one text at the left and one that ends at the right edge; the left
// one is cut where both do not fit.
func (g *grid) sides(y, left int, bold bool, leftText, rightText string) {
	right := plain(rightText)
	start := g.width - 1 - len(right)
	letters := plain(leftText)
	if room := start - 1 - left; len(letters) > room && len(right) > 0 {
		letters = append(letters[:max(0, min(room-1, len(letters)))], '…')
	}
	g.text(left, y, bold, string(letters))
	if start > left {
		g.text(start, y, bold, string(right))
	}
}

// invert turns a whole line inverse.
func (g *grid) invert(y int) {
	for x := range g.width {
		if i := y*g.width + x; i < len(g.cells) {
			g.cells[i].inverse = true
		}
	}
}
