package profiles

import "anodized/hal/unit"

// ReadCalibration reads a calibration. The error is [Mistakes], all of them.
func ReadCalibration(file string, data []byte) (Calibration, error) {
	r := &report{file: file}
	var c Calibration
	if n := r.parse(data); n != nil {
		r.calibration(n, &c)
	}
	return c, r.err()
}

func (r *report) calibration(n *node, c *Calibration) {
	g := r.fields(n, "a calibration", calibrationFields(r, c))
	for _, pair := range [][2]string{{"from volts", "to volts"}, {"to volts", "from volts"}, {"softness sd", "softness"}, {"efficiency sd", "efficiency"}, {"rms dE00", "readings used"}} {
		if g.has(pair[0]) && !g.has(pair[1]) && !g.meant[pair[1]] {
			r.say(g.seen[pair[0]], "%s: it says nothing without the key %q; give both, or neither", pair[0], pair[1])
		}
	}
	if g.all("from volts", "to volts") && c.FromVolts >= c.ToVolts {
		r.say(g.seen["to volts"], "to volts: %s is not above the %s that the ladder begins at", unit.Format(c.ToVolts), unit.Format(c.FromVolts))
	}
}

// The range of nm per volt holds what is published for each metal of the starters
// (1.4 to 2.78 for titanium, Sul et al., Med. Eng. Phys. 23 (2001) 329; 3.6 for
// niobium powder anodes) with room to spare.
func calibrationFields(r *report, c *Calibration) []field {
	return []field{
		need("id", "ladder-2025-03", identifier(&c.ID)),
		need("metal", DefaultMetal, named(r, &c.Metal, "metal", MetalIDs)),
		may("finish", text(&c.Finish, 100)),
		may("bath", named(r, &c.Bath, "bath", BathIDs)),
		need("film", "TiO2-Jolivet-amorphous", among(&c.Film, "optical table", OpticalIDs)),
		need("substrate", "Ti-Johnson", among(&c.Substrate, "optical table", OpticalIDs)),
		may("index scale", number(&c.IndexScale, "", 0.5, 1.5)),
		need("nm per volt", "1.97 nm/V", number(&c.NMPerVolt, "nm/V", 0.5, 5)),
		need("offset", "1.5 nm", quantity(&c.Offset, -10, 20)),
		need("nm per volt sd", "0.1 nm/V", number(&c.NMPerVoltSD, "nm/V", 0, 2)),
		need("offset sd", "1 nm", quantity(&c.OffsetSD, 0, 20)),
		may("correlation", number(&c.Correlation, "", -1, 1)),
		need("end current density", "0.5 mA/cm2", quantity(&c.EndCurrentDensity, leastEnd, mostDensity)),
		may("softness", number(&c.Softness, "", leastSoftness, mostSoftness)),
		may("softness sd", number(&c.SoftnessSD, "", 0, mostSoftness)),
		may("efficiency", number(&c.Efficiency, "", leastEfficiency, mostEfficiency)),
		may("efficiency sd", number(&c.EfficiencySD, "", 0, mostEfficiency)),
		may("ramp", quantity(&c.Ramp, 0.01, 20)),
		may("temperature", quantity(&c.Temperature, 0, MostBathTemperature)),
		may("date", day(&c.Date)),
		may("from volts", quantity(&c.FromVolts, 0, 500)),
		may("to volts", quantity(&c.ToVolts, 0, 500)),
		may("rms dE00", number(&c.RMSDE00, "", 0, 100)),
		may("readings used", whole(&c.Readings, 1, 10000)),
		may("book", truth(&c.Book)),
		may("simulated", truth(&c.Simulated)),
		need("provenance", "ladder of eleven coupons, 2025-03-04", text(&c.Provenance, 500)),
	}
}

// Of titanium u is 15 to 46 for the softest to the stiffest law that is thought of
// (at 0.5 mA/cm2, computed); of niobium and tantalum twice that of titanium's usual.
const (
	leastSoftness = 5
	mostSoftness  = 120
)

// An efficiency above 1 is a charge that makes more film than the metal's own constants
// say: these, and the optical nanometres, are as far off.
const (
	leastEfficiency = 0.05
	mostEfficiency  = 2
)
