package watch

// paced tells whether the current limit sets the current: it shows nothing then.
func (w *Watch) paced(k Tick) bool {
	return k.Limited || k.Limit > 0 && float64(k.Amperes) > 0.97*float64(k.Limit)
}

// moved tells whether the volts are below where they had been: a tenth of a per
// cent makes two per cent of current.
func (w *Watch) moved(volts float64) bool {
	noise := min(3*w.noiseV.sd(), 0.002*w.peak) // a dip of the supply looks like noise, too
	return volts < w.peak-max(0.001*w.peak, 1.5*w.noiseV.step+noise)
}
