package choose

import (
	"fmt"
	"strings"

	"anodized/controller/colour"
)

// Word is a colour that was asked for by a word.
type Word struct {
	Name string
	Hex  string // of the screen colour that it stands for, "" where it is a name of films
	Says string // what the word was taken for
}

// screenWords are names of colours on screens that are no names of films here: CSS
// Color Module Level 4 (W3C), section 6.1, values from memory.
var screenWords = map[string]string{
	"aqua": "#00ffff", "beige": "#f5f5dc", "black": "#000000", "brown": "#a52a2a", "chocolate": "#d2691e", "coral": "#ff7f50",
	"crimson": "#dc143c", "cyan": "#00ffff", "fuchsia": "#ff00ff", "gray": "#808080", "ivory": "#fffff0", "khaki": "#f0e68c",
	"lavender": "#e6e6fa", "lime": "#00ff00", "magenta": "#ff00ff", "maroon": "#800000", "navy": "#000080", "orange": "#ffa500",
	"orchid": "#da70d6", "plum": "#dda0dd", "red": "#ff0000", "salmon": "#fa8072", "tan": "#d2b48c", "tomato": "#ff6347",
	"turquoise": "#40e0d0", "white": "#ffffff",
}

// ChooseWord answers a colour by its name: that of films here, of films in general, or
// of colours on screens, in this order. The error lists what is known.
func (e *Eye) ChooseWord(text string) (Choice, Word, error) {
	name := strings.ToLower(strings.Join(strings.Fields(text), " "))
	w := Word{Name: name}
	if choice, found := e.ofName(name); found {
		w.Says = fmt.Sprintf("films that are called %s here, the middle of each stretch of volts", name)
		return choice, w, nil
	}
	if lch, found := colour.Typical(name); found {
		w.Says = fmt.Sprintf("no film of this metal is called %s; the middle of what is called so", name)
		return e.Choose(lch.Lab()), w, nil
	}
	hex, found := screenWords[name]
	if !found {
		return Choice{}, w, fmt.Errorf("no colour is called %q; the films here are called %s; for another colour write CIELAB or #rrggbb",
			name, strings.Join(e.Names(), ", "))
	}
	screen, err := colour.ParseHex(hex)
	if err != nil {
		return Choice{}, w, fmt.Errorf("colour %q: %w", name, err)
	}
	w.Hex, w.Says = hex, fmt.Sprintf("the screen colour %s", hex)
	return e.Choose(e.surface.FromScreen(screen)), w, nil
}
