package profiles

// ReadCalibration reads a calibration. The error is [Mistakes], all of them.
func ReadCalibration(file string, data []byte) (Calibration, error) {
	r := &report{file: file}
	var c Calibration
	if n := r.parse(data); n != nil {
		r.fields(n, "a calibration", calibrationFields(r, &c))
	}
	return c, r.err()
}

// The range of nm per volt holds what is published for each metal of the starters
// (1.4 to 2.78 for titanium, Sul et al., Med. Eng. Phys. 23 (2001) 329; 3.6 for
// niobium powder anodes) with room to spare.
func calibrationFields(r *report, c *Calibration) []field {
	return []field{
		need("id", "ladder-2025-03", identifier(&c.ID)),
		need("metal", DefaultMetal, named(r, &c.Metal, "metal", MetalIDs)),
		may("bath", named(r, &c.Bath, "bath", BathIDs)),
		need("film", "TiO2-Jolivet-amorphous", among(&c.Film, "optical table", OpticalIDs)),
		need("substrate", "Ti-Johnson", among(&c.Substrate, "optical table", OpticalIDs)),
		need("nm per volt", "1.97 nm/V", number(&c.NMPerVolt, "nm/V", 0.5, 5)),
		need("offset", "1.5 nm", quantity(&c.Offset, -10, 20)),
		need("nm per volt sd", "0.1 nm/V", number(&c.NMPerVoltSD, "nm/V", 0, 2)),
		need("offset sd", "1 nm", quantity(&c.OffsetSD, 0, 20)),
		need("end current density", "0.5 mA/cm2", quantity(&c.EndCurrentDensity, leastEnd, mostDensity)),
		may("temperature", quantity(&c.Temperature, 0, 60)),
		may("book", truth(&c.Book)),
		may("simulated", truth(&c.Simulated)),
		need("provenance", "ladder of eleven coupons, 2025-03-04", text(&c.Provenance, 500)),
	}
}
