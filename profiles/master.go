package profiles

import (
	"io"

	"anodized/hal/unit"
)

// Master is the part that others must look like: a colour that was measured, and the
// limit samples that the shop, or its customer, still takes.
type Master struct {
	Name      string      `json:"name"`
	Metal     string      `json:"metal"`
	Finish    string      `json:"finish,omitempty"`
	Lab       [3]float64  `json:"Lab"` // D65, 2 degree observer
	Light     *[3]float64 `json:"light,omitempty"`
	Dark      *[3]float64 `json:"dark,omitempty"`
	Tolerance float64     `json:"tolerance_de00,omitempty"` // CIEDE2000, where no limit sample says more; 0: the shop's usual
	Volts     unit.Volts  `json:"volts,omitempty"`          // that made it, which tell its order; 0 is not known
	Run       string      `json:"run,omitempty"`            // that it came from
	Conditions
	Note string `json:"note,omitempty"`
}

// ReadMaster reads a master. The error is [Mistakes], all of them.
func ReadMaster(file string, data []byte) (Master, error) {
	r := &report{file: file}
	var m Master
	if n := r.parse(data); n != nil {
		r.master(n, &m)
	}
	return m, r.err()
}

// OpenMaster reads a master from a path, or from standard input where arg is -.
func OpenMaster(arg string, stdin io.Reader) (Master, error) {
	content, err := ReadFile(arg, stdin)
	if err != nil {
		return Master{}, err
	}
	return ReadMaster(arg, content)
}

func masterFields(r *report, m *Master) []field {
	return []field{
		need("name", "seat clamp, pale yellow", text(&m.Name, 100)),
		need("metal", DefaultMetal, named(r, &m.Metal, "metal", MetalIDs)),
		may("finish", text(&m.Finish, 100)),
		need("Lab", "[83, -9, 28]", func(r *report, n *node) { setLab(r, n, &m.Lab) }),
		may("light limit", lab(&m.Light)),
		may("dark limit", lab(&m.Dark)),
		may("tolerance", number(&m.Tolerance, "dE00", 0.05, 10)),
		may("volts", quantity(&m.Volts, 0.1, mostReadVolts)),
		may("run", text(&m.Run, 40)),
		may("instrument", text(&m.Instrument, 100)),
		may("geometry", text(&m.Geometry, 40)),
		may("specular", choice(&m.Specular, "included", "excluded")),
		may("illuminant", choice(&m.Illuminant, "D65")),
		may("observer", choice(&m.Observer, "2")),
		may("date", day(&m.Date)),
		may("note", text(&m.Note, 2000)),
	}
}

func setLab(r *report, n *node, to *[3]float64) {
	var found *[3]float64
	if lab(&found)(r, n); found != nil {
		*to = *found
	}
}

func (r *report) master(n *node, m *Master) {
	g := r.fields(n, "a master", masterFields(r, m))
	if g.all("light limit", "dark limit") && m.Light[0] == m.Dark[0] && *m.Light == *m.Dark {
		r.say(g.seen["dark limit"], "dark limit: it is the light limit; two samples are two colours")
	}
	for _, limit := range []struct {
		key string
		lab *[3]float64
	}{{"light limit", m.Light}, {"dark limit", m.Dark}} {
		if g.all("Lab", limit.key) && *limit.lab == m.Lab {
			r.say(g.seen[limit.key], "%s: it is the master itself; nothing would be good enough", limit.key)
		}
	}
}
