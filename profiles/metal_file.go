package profiles

import "fmt"

// ReadMetal reads a metal. The error is [Mistakes], all of them.
func ReadMetal(file string, data []byte) (Metal, error) {
	r := &report{file: file}
	var m Metal
	if n := r.parse(data); n != nil {
		r.fields(n, "a metal", metalFields(r, &m))
	}
	return m, r.err()
}

func metalFields(r *report, m *Metal) []field {
	return []field{
		need("id", "titanium-grade-5", identifier(&m.ID)),
		need("name", "Ti-6Al-4V", text(&m.Name, 100)),
		need("film", "TiO2-Jolivet-amorphous", among(&m.Film, "optical table", OpticalIDs)),
		need("substrate", "Ti-Johnson", among(&m.Substrate, "optical table", OpticalIDs)),
		need("density", "4.43 g/cm3", number(&m.Density, "g/cm3", 0.5, 25)),
		need("growth", "{i0: 6e-14 A/cm2, B: 4.5e-6 cm/V}", func(r *report, n *node) { r.growth(n, &m.Growth) }),
		need("native film", "1.5 nm", quantity(&m.NativeFilm, 0, 20)),
		may("indicative", truth(&m.Indicative)),
		need("book calibration", "titanium-grade-5-book", named(r, &m.Book, "calibration", CalibrationIDs)),
		may("note", text(&m.Note, 4000)),
	}
}

// The ranges of the growth constants hold every valve metal of the literature.
func (r *report) growth(n *node, g *Growth) {
	r.fields(n, "growth", []field{
		need("i0", "6e-14 A/cm2", number(&g.I0, "A/cm2", 1e-40, 1e-3)),
		need("B", "4.5e-6 cm/V", number(&g.B, "cm/V", 1e-7, 1e-4)),
		need("molar mass", "79.866 g/mol", number(&g.MolarMass, "g/mol", 10, 1000)),
		need("electrons", "4", number(&g.Electrons, "", 1, 20)),
		need("oxide density", "3.90 g/cm3", number(&g.OxideGCM3, "g/cm3", 0.5, 25)),
		need("efficiency", "1", number(&g.Efficiency, "", 0.05, 1)),
	})
}

// ReadBath reads a bath. The error is [Mistakes], all of them.
func ReadBath(file string, data []byte) (Bath, error) {
	r := &report{file: file}
	var b Bath
	if n := r.parse(data); n != nil {
		r.bath(n, &b)
	}
	return b, r.err()
}

func bathFields(b *Bath) []field {
	return []field{
		need("id", "bicarbonate", identifier(&b.ID)),
		need("name", "sodium bicarbonate, 2 %", text(&b.Name, 100)),
		need("solute", "sodium bicarbonate", text(&b.Solute, 100)),
		need("mass percent", "2", number(&b.MassPercent, "", 0.01, 60)),
		need("conductivity", "15.6 mS/cm", quantity(&b.Conductivity, 0.01, 1000)),
		need("series resistance", "2.7 ohm", quantity(&b.Series, 0, 1000)),
		need("volume", "5 L", quantity(&b.Litres, 0.05, 10000)),
		need("temperature", "20 °C", quantity(&b.Temperature, 0, MostBathTemperature)),
		need("least temperature", "15 °C", quantity(&b.LeastTemp, 0, MostBathTemperature)),
		need("most temperature", "30 °C", quantity(&b.MostTemp, 0, MostBathTemperature)),
		may("renewed", day(&b.Renewed)),
		may("cautions", each(50, "a list of sentences", add(&b.Cautions, func(r *report, n *node, s *string) { text(s, 500)(r, n) }))),
		may("note", text(&b.Note, 4000)),
	}
}

func (r *report) bath(n *node, b *Bath) {
	g := r.fields(n, "a bath", bathFields(b))
	if g.all("temperature", "least temperature") && b.Temperature < b.LeastTemp {
		r.say(g.seen["temperature"], "temperature: %s is below the least temperature of %s", b.Temperature, b.LeastTemp)
	}
	if g.all("temperature", "most temperature") && b.Temperature > b.MostTemp {
		r.say(g.seen["temperature"], "temperature: %s is above the most temperature of %s", b.Temperature, b.MostTemp)
	}
	if g.all("least temperature", "most temperature") && b.LeastTemp == b.MostTemp {
		r.say(g.seen["most temperature"], "most temperature: %s is the least temperature too, and no load could start", b.MostTemp)
	}
}

// identifier reads an id: letters, digits, points and hyphens.
func identifier(to *string) reader {
	return valued(func(s string) error {
		if !plainID(s) {
			return fmt.Errorf("%q is not an id; letters, digits, points and hyphens are allowed, 64 at most, a letter first", brief(s))
		}
		*to = s
		return nil
	})
}

func plainID(s string) bool {
	for i, c := range s {
		letter := (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z')
		if !letter && (i == 0 || ((c < '0' || c > '9') && c != '-' && c != '.')) {
			return false
		}
	}
	return s != "" && len(s) <= 64
}
