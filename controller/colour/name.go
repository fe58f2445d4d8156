package colour

// region is a part of the colour space that one name covers: hues from one angle up
// to another, at least so much chroma and lightness.
type region struct {
	from, to  float64 // hue in degrees
	chroma    float64
	lightness float64
	name      string
}

// greyBelow is the chroma below which a surface is called silver or grey.
const greyBelow = 9

// regions are our own choice, after the order in which the trade names the colours
// of titanium (common practice, no source). Hues go round once; of a hue the first
// row that fits counts, so that each hue ends with a row that takes the rest.
var regions = []region{
	{0, 40, 25, 45, "rose"},
	{0, 40, 0, 45, "pale rose"},
	{0, 25, 0, 0, "red-brown"},
	{25, 40, 0, 0, "bronze"},
	{40, 70, 0, 65, "peach"},
	{40, 70, 0, 0, "bronze"},
	{70, 98, 45, 65, "gold"},
	{70, 98, 28, 60, "straw"},
	{70, 98, 0, 60, "pale straw"},
	{70, 98, 0, 0, "bronze"},
	{98, 109, 35, 55, "yellow"},
	{109, 125, 30, 55, "yellow-green"},
	{98, 125, 0, 55, "pale yellow"},
	{98, 125, 0, 0, "olive"},
	{125, 165, 20, 0, "green"},
	{125, 165, 0, 0, "pale green"},
	{165, 205, 20, 0, "teal"},
	{165, 205, 0, 0, "pale teal"},
	{205, 255, 32, 45, "cyan-blue"},
	{205, 265, 18, 58, "light blue"},
	{205, 265, 18, 0, "blue"},
	{205, 265, 0, 0, "pale blue"},
	{265, 300, 32, 42, "blue"},
	{265, 300, 18, 58, "light blue"},
	{265, 300, 18, 42, "blue"},
	{265, 285, 18, 0, "dark blue"},
	{285, 300, 18, 0, "indigo"},
	{265, 300, 0, 0, "pale blue"},
	{300, 322, 18, 40, "violet"},
	{322, 350, 18, 62, "pink"},
	{300, 350, 18, 0, "purple"},
	{300, 350, 0, 0, "pale violet"},
	{350, 360, 25, 45, "rose"},
	{350, 360, 0, 45, "pale rose"},
	{350, 360, 0, 0, "purple"},
}

// Name returns a plain name for a colour. It is a help to talk, never a
// specification: two films of one name may differ plainly.
func (c LCh) Name() string {
	if c.C < greyBelow {
		return c.grey()
	}
	for _, r := range regions {
		if c.H >= r.from && c.H < r.to && c.C >= r.chroma && c.L >= r.lightness {
			return r.name
		}
	}
	return "dark"
}

func (c LCh) grey() string {
	switch {
	case c.L >= 70:
		return "silver"
	case c.L >= 35:
		return "grey"
	}
	return "dark grey"
}
